"""A request that carries an Idempotency-Key is carried out once, however often it is sent."""

from __future__ import annotations

import io
import threading
from datetime import UTC, datetime, timedelta

import pytest

from yardfall.core.errors import StillRunningError
from yardfall.store.records import repeats
from yardfall.store.records.repeats import RepeatStore
from yardfall.web.jobs import views

KEY = {"Idempotency-Key": "2f1c0b9e-5d0a-4e0e-9a53-0d6a4b1f7c22"}


@pytest.fixture
def keep(client, yard_request):
    """Keep a job under a name, with headers."""

    def call(name: str = "Elm", headers: dict[str, str] | None = KEY):
        return client.post(
            "/api/v1/jobs", json={"name": name, "request": yard_request}, headers=headers
        )

    return call


def listed(client, what: str = "jobs") -> int:
    return client.get(f"/api/v1/{what}").json["page"]["total"]


def test_a_job_is_made_once_and_told_alike(client, keep, conforms) -> None:
    first = keep()
    again = keep()
    assert (first.status_code, again.status_code) == (201, 201)
    assert again.json == first.json
    for name in ("Location", "ETag"):
        assert again.headers[name] == first.headers[name]
    conforms("POST /jobs", again)
    assert listed(client) == 1
    assert keep(headers=None).json["id"] != first.json["id"]
    assert listed(client) == 2


def test_it_is_told_as_it_was_when_the_job_has_changed_since(client, keep, yard_request) -> None:
    """So that a save by its ETag overwrites nobody's work."""
    first = keep()
    body = {"name": "Oak", "request": yard_request}
    saved = client.put(
        first.headers["Location"], json=body, headers={"If-Match": first.json["etag"]}
    )
    assert saved.status_code == 200
    assert (
        client.post(f"{first.headers['Location']}/archive", json={"archived": True}).status_code
        == 200
    )
    assert keep().json == first.json


def test_another_request_under_the_key_is_refused(client, keep, refused, yard_request) -> None:
    keep()
    for path, body in (
        ("/jobs", {"name": "Oak", "request": yard_request}),
        ("/jobs", {"name": "Elm", "request": yard_request, "draft": True}),
    ):
        told = refused(path, 422, json=body, headers=KEY)
        assert told["type"] == "/problems/key-used-before"
        assert "key of its own" in told["detail"]
    assert listed(client) == 1


def test_what_was_refused_may_be_mended_under_the_same_key(client, keep, refused) -> None:
    refused("/jobs", 422, json={"name": "Elm", "request": {"units": "us"}}, headers=KEY)
    assert keep().status_code == 201
    assert listed(client) == 1


def test_a_key_is_a_key_with_its_quotation_marks_and_without(client, keep, refused) -> None:
    first = keep(headers={"Idempotency-Key": '"abc"'})
    assert keep(headers={"Idempotency-Key": "abc"}).json == first.json
    for odd in ("", " ", "a b", '"', '""', "a" * 201, "\u00e9"):
        sent = {"Idempotency-Key": odd.encode().decode("latin1")}
        assert keep(headers=sent).status_code == 400, odd


def test_what_was_deleted_is_made_anew(client, keep) -> None:
    first = keep()
    client.delete(first.headers["Location"], headers={"If-Match": first.json["etag"]})
    again = keep()
    assert again.status_code == 201
    assert again.json["id"] != first.json["id"]
    assert keep().json == again.json


def test_a_raster_is_taken_in_once_however_it_is_wrapped(client, tiff, conforms) -> None:
    """A client draws a new boundary for each try."""
    answers = []
    for mark in ("one-boundary", "another-boundary"):
        body = (
            f'--{mark}\r\nContent-Disposition: form-data; name="file"; filename="y.tif"\r\n'
            "Content-Type: image/tiff\r\n\r\n"
        ).encode()
        body += tiff() + f"\r\n--{mark}--\r\n".encode()
        kind = f"multipart/form-data; boundary={mark}"
        answers.append(client.post("/api/v1/rasters", data=body, content_type=kind, headers=KEY))
    assert [one.status_code for one in answers] == [201, 201]
    assert answers[0].json == answers[1].json
    conforms("POST /rasters", answers[1])
    assert listed(client, "rasters") == 1
    other = {"file": (io.BytesIO(tiff()), "other-name.tif")}
    assert client.post("/api/v1/rasters", data=other, headers=KEY).status_code == 422


def test_a_check_is_kept_once(client, keep, conforms) -> None:
    job = keep().headers["Location"]
    body = {"as_dug": [{"at": 52, "line_to_bottom": 29.5}]}
    first, again = (
        client.post(f"{job}/grade-checks", json=body, headers={"Idempotency-Key": "check-1"})
        for _ in range(2)
    )
    assert (first.status_code, again.status_code) == (201, 201)
    assert again.json == first.json
    assert again.headers["Location"] == first.headers["Location"] == f"{job}/grade-checks/1"
    conforms("POST /jobs/{id}/grade-checks", again)
    assert client.get(f"{job}/grade-checks").json["page"]["total"] == 1


def test_keys_of_two_callers_are_apart(app, keep) -> None:
    secrets = [app.extensions["keys"].make(name)[1] for name in ("Ann", "Bob")]
    ids = [
        keep(headers=KEY | {"Authorization": f"Bearer {secret}"}).json["id"] for secret in secrets
    ]
    assert len(set(ids)) == 2


def test_the_same_while_it_runs_is_told_to_wait(client, keep, monkeypatch) -> None:
    begun, go_on = threading.Event(), threading.Event()
    plain = views.content_of

    def slowly(*given):
        begun.set()
        assert go_on.wait(30)
        return plain(*given)

    monkeypatch.setattr(views, "content_of", slowly)
    answers = []
    thread = threading.Thread(target=lambda: answers.append(keep()))
    thread.start()
    assert begun.wait(30)
    meanwhile = keep()
    go_on.set()
    thread.join()
    assert (meanwhile.status_code, meanwhile.json["type"]) == (409, "/problems/still-running")
    assert int(meanwhile.headers["Retry-After"]) > 0
    assert keep().json == answers[0].json
    assert listed(client) == 1


def test_keys_are_known_for_a_day_and_no_more_than_so_many(app, monkeypatch) -> None:
    known = RepeatStore(app.extensions["engine"], "ann")
    other = RepeatStore(app.extensions["engine"], "bob")
    moment = datetime(2026, 5, 4, tzinfo=UTC)
    monkeypatch.setattr(repeats, "now", lambda: moment)
    monkeypatch.setattr(repeats, "MOST", 3)
    for number in range(5):
        moment += timedelta(seconds=1)
        assert known.begin(f"key {number}", "same") is None
        known.end(f"key {number}", f"{number}")
    assert known.count() == 3
    assert known.begin("key 4", "same") == "4"
    assert other.begin("cut off", "same") is None
    with pytest.raises(StillRunningError):
        other.begin("cut off", "same")
    moment += timedelta(minutes=11)
    assert other.begin("cut off", "same") is None, "the service was killed meanwhile"
    moment += timedelta(days=1)
    assert known.begin("key 4", "same") is None
    assert known.count() == 1
