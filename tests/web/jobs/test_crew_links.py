"""Links for a crew: made, used, listed and withdrawn; each opens one job and adds checks to it."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from urllib.parse import parse_qs, urlsplit

import pytest

from yardfall.store.keys import KeyStore
from yardfall.store.records import crew_links
from yardfall.web.http.watch.limits import Limits

JOBS = "/api/v1/jobs"
DUG = {"as_dug": [{"at": 52, "line_to_bottom": 29.5}, {"at": 39, "line_to_bottom": 27.5}]}


@pytest.fixture
def keys(app) -> KeyStore:
    return app.extensions["keys"]


def sender(app, secret: str):
    """A client that sends a secret with every call."""
    client = app.test_client()
    client.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {secret}"
    return client


@pytest.fixture(params=["with keys", "without keys"])
def owner(request, app, client, keys):
    """Who keeps the job: a key, or the one user of a machine without keys."""
    return client if request.param == "without keys" else sender(app, keys.make("Ann")[1])


def kept(client, body: dict, name: str = "Elm St 4") -> str:
    return client.post(JOBS, json={"name": name, "request": body}).json["id"]


def linked(owner, job: str, name: str = "Dave's crew") -> dict:
    answer = owner.post(f"{JOBS}/{job}/crew-links", json={"name": name})
    assert answer.status_code == 201, answer.get_data(as_text=True)
    return answer.json


def test_a_link_reads_its_job_and_adds_checks(app, owner, conforms, yard_request) -> None:
    job = kept(owner, yard_request)
    answer = owner.post(f"{JOBS}/{job}/crew-links", json={"name": "Dave's crew"})
    conforms("POST /jobs/{id}/crew-links", answer)
    link = answer.json
    opened = urlsplit(link["address"])
    assert (opened.path, opened.query) == ("/crew", ""), "the key is behind the # alone"
    assert parse_qs(opened.fragment) == {"job": [job], "crew": [link["key"]]}
    crew = sender(app, link["key"])
    assert crew.get(f"{JOBS}/{job}").json == owner.get(f"{JOBS}/{job}").json
    assert crew.get(f"{JOBS}/{job}").headers["Cache-Control"] == "no-store"
    sheet = crew.get(f"{JOBS}/{job}/dig-sheet.pdf")
    assert sheet.data == owner.get(f"{JOBS}/{job}/dig-sheet.pdf").data
    assert crew.get(f"{JOBS}/{job}/revisions/1").status_code == 200
    for dug in (DUG, {"as_dug": []}, DUG | {"revision": 1}):
        told = crew.post(f"{JOBS}/{job}/grade-check", json=dug)
        conforms("POST /jobs/{id}/grade-check", told)
        plain = {name: value for name, value in dug.items() if name != "revision"}
        same = owner.post("/api/v1/grade-check", json=plain | {"plan": yard_request})
        assert told.json == same.json
    assert owner.get(f"{JOBS}/{job}/grade-checks").json["page"]["total"] == 0, "nothing was kept"
    added = crew.post(f"{JOBS}/{job}/grade-checks", json=DUG)
    assert (added.status_code, added.json["checked_by"]) == (201, "Dave's crew")
    assert owner.get(f"{JOBS}/{job}/grade-checks/1").json == added.json
    assert crew.get(f"{JOBS}/{job}/grade-checks").json["page"]["total"] == 1


def test_links_are_listed_with_their_last_use_and_withdrawn(
    app, owner, conforms, yard_request, monkeypatch
) -> None:
    job = kept(owner, yard_request)
    first, second = linked(owner, job), linked(owner, job, "Night shift")
    listed = owner.get(f"{JOBS}/{job}/crew-links")
    conforms("GET /jobs/{id}/crew-links", listed)
    assert [link["name"] for link in listed.json["crew_links"]] == ["Dave's crew", "Night shift"]
    assert not re.search("crew_[A-Za-z0-9_-]{9}", listed.get_data(as_text=True)), "no key is told"
    assert [link["used_at"] for link in listed.json["crew_links"]] == [None, None]
    crew, other = sender(app, first["key"]), sender(app, second["key"])

    def used() -> list[str | None]:
        return [one["used_at"] for one in owner.get(f"{JOBS}/{job}/crew-links").json["crew_links"]]

    crew.get(f"{JOBS}/{job}")
    (at, never) = used()
    assert never is None
    assert datetime.now(UTC) - datetime.fromisoformat(at) < timedelta(seconds=20)
    crew.get(f"{JOBS}/{job}")
    assert used()[0] == at, "kept to the minute, not at every call"
    later = datetime.now(UTC) + timedelta(minutes=2)
    monkeypatch.setattr(crew_links, "now", lambda: later)
    crew.get(f"{JOBS}/{job}")
    assert used()[0] == later.isoformat()

    gone = owner.delete(f"{JOBS}/{job}/crew-links/{first['id']}")
    conforms("DELETE /jobs/{id}/crew-links/{link}", gone)
    assert gone.status_code == 204
    refused = crew.get(f"{JOBS}/{job}")
    assert (refused.status_code, refused.mimetype) == (401, "application/problem+json")
    assert "withdrawn" in refused.json["detail"]
    assert other.get(f"{JOBS}/{job}").status_code == 200
    assert owner.delete(f"{JOBS}/{job}/crew-links/{first['id']}").status_code == 404
    assert owner.delete(f"{JOBS}/{job}", headers={"If-Match": "*"}).status_code == 204
    assert other.get(f"{JOBS}/{job}").status_code == 401, "a link goes with its job"
    assert owner.get(f"{JOBS}/{job}/crew-links").status_code == 404


def test_only_a_digest_is_kept(client, yard_request, tmp_path) -> None:
    link = linked(client, kept(client, yard_request))
    files = b"".join(p.read_bytes() for p in (tmp_path / "data").iterdir() if p.is_file())
    assert link["id"].encode() in files
    assert link["key"].encode() not in files


def test_a_link_dies_with_the_last_key_that_could_withdraw_it(
    app, client, keys, yard_request
) -> None:
    before = kept(client, yard_request)
    behind = sender(app, linked(client, before)["key"])
    assert behind.get(f"{JOBS}/{before}").status_code == 200
    key, secret = keys.make("Ann")
    assert behind.get(f"{JOBS}/{before}").status_code == 401, "that job is no key's yet"
    ann = sender(app, secret)
    job = kept(ann, yard_request)
    crew = sender(app, linked(ann, job)["key"])
    second, _ = keys.make("Ann again", shares=key.id, adopts=True)
    assert behind.get(f"{JOBS}/{before}").status_code == 200, "a link goes along when adopted"
    keys.revoke(key.id)
    assert crew.get(f"{JOBS}/{job}").status_code == 200, "the other key can withdraw it"
    keys.revoke(second.id)
    assert crew.get(f"{JOBS}/{job}").status_code == 401


def test_a_reader_lists_links_and_makes_none(app, keys, yard_request) -> None:
    key, secret = keys.make("Ann")
    job = kept(sender(app, secret), yard_request)
    link = linked(sender(app, secret), job)
    reader = sender(app, keys.make("Eve", "read", shares=key.id)[1])
    assert reader.get(f"{JOBS}/{job}/crew-links").status_code == 200
    assert reader.post(f"{JOBS}/{job}/grade-check", json=DUG).status_code == 200
    assert reader.post(f"{JOBS}/{job}/grade-checks", json=DUG).status_code == 403
    assert reader.post(f"{JOBS}/{job}/crew-links", json={"name": "x"}).status_code == 403
    assert reader.delete(f"{JOBS}/{job}/crew-links/{link['id']}").status_code == 403


def test_a_job_takes_so_many_links(client, yard_request, monkeypatch) -> None:
    monkeypatch.setattr(crew_links, "MOST_LINKS", 2)
    job = kept(client, yard_request)
    linked(client, job)
    linked(client, job)
    answer = client.post(f"{JOBS}/{job}/crew-links", json={"name": "third"})
    assert answer.status_code == 422
    assert "Withdraw one" in answer.json["detail"] + str(answer.json.get("errors"))


def test_a_link_has_a_rate_of_its_own(app, client, keys, yard_request, monkeypatch) -> None:
    now = 1000.0
    monkeypatch.setattr("yardfall.web.http.watch.limits.time.monotonic", lambda: now)
    job = kept(client, yard_request)
    crew = sender(app, linked(client, job)["key"])
    found = [crew.get(f"{JOBS}/{job}").status_code for _ in range(Limits().burst + 1)]
    assert found == [200] * Limits().burst + [429]
