"""What was told before is not told again: If-None-Match (RFC 9110, 13.1.2)."""

from __future__ import annotations

import pytest

from yardfall import engine_version
from yardfall.web.jobs import views

READ = ("/pipes?units=si", "/openapi.json", "/jobs", "/rasters", "/site-plans", "/sources")


@pytest.fixture
def job(client, yard_request) -> str:
    """The address of a job that is kept."""
    answer = client.post("/api/v1/jobs", json={"name": "Elm", "request": yard_request})
    return answer.headers["Location"]


def ask(client, address: str, tag: str, **headers: str):
    return client.get(address, headers={"If-None-Match": tag, **headers})


def held(client, address: str) -> str:
    """The tag of what stands at an address, after it was shown to be heeded."""
    first = client.get(address)
    assert first.status_code == 200, first.text
    tag = first.headers["ETag"]
    for one in (tag, f'"other", {tag}', tag.removeprefix("W/"), "*"):
        again = ask(client, address, one)
        assert (again.status_code, again.data) == (304, b""), one
        assert again.headers["ETag"] == tag
        assert again.headers["X-Request-Id"]
    assert ask(client, address, '"other"').status_code == 200
    return tag


@pytest.mark.parametrize("path", READ)
def test_a_list_is_told_once(client, path: str) -> None:
    assert held(client, f"/api/v1{path}").startswith("W/")


def test_packed_and_plain_have_one_tag(client) -> None:
    plain = client.get("/api/v1/openapi.json")
    packed = client.get("/api/v1/openapi.json", headers={"Accept-Encoding": "gzip"})
    assert packed.headers["Content-Encoding"] == "gzip"
    assert packed.headers["ETag"] == plain.headers["ETag"]
    assert len(packed.data) < len(plain.data) / 5
    again = ask(
        client, "/api/v1/openapi.json", plain.headers["ETag"], **{"Accept-Encoding": "gzip"}
    )
    assert (again.status_code, again.headers["Vary"]) == (304, "Accept-Encoding")


def test_a_job_is_told_until_it_changes(client, job, yard_request) -> None:
    tag = held(client, job)
    assert tag == '"1"', "what If-Match takes"
    listed = held(client, "/api/v1/jobs")
    body = {"name": "Elm", "request": yard_request}
    assert client.put(job, json=body, headers={"If-Match": tag}).status_code == 200
    assert ask(client, job, tag).json["revision"] == 2
    assert ask(client, "/api/v1/jobs", listed).status_code == 200


def test_a_job_says_that_the_sums_changed_to_whoever_has_it(client, job, monkeypatch) -> None:
    """Its tag is older than they are."""
    tag = held(client, job)
    for module in (views, engine_version):
        monkeypatch.setattr(module, "sums", lambda: "others")
    monkeypatch.setattr("yardfall.web.jobs.job_answer.sums", lambda: "others")
    assert ask(client, job, tag).json["sums_changed"] is True


@pytest.mark.parametrize("name", ["dig-sheet.pdf", "dig-sheet.html", "stations.csv", "profile.svg"])
def test_a_paper_is_drawn_once(client, job, name: str, monkeypatch) -> None:
    tag = held(client, f"{job}/{name}")
    assert held(client, f"{job}/{name}?title=Oak") != tag
    assert ask(client, f"{job}/{name}?page=a4", tag).status_code == 200

    def drawn(*_given, **_more):
        raise AssertionError("it was drawn")

    monkeypatch.setattr("yardfall.web.jobs.paper_views.paper", drawn)
    assert ask(client, f"{job}/{name}", tag).status_code == 304


def test_a_paper_changes_with_what_lies_beneath(client, upload, tiff, examples) -> None:
    raster = upload(tiff()).json["id"]
    body = examples["raster"]
    body["ground"]["raster"] = raster
    made = client.post("/api/v1/jobs", json={"name": "Elm", "request": body})
    address = f"{made.headers['Location']}/stations.csv"
    tag = held(client, address)
    assert client.delete(f"/api/v1/rasters/{raster}").status_code == 204
    assert ask(client, address, tag).status_code == 200


def test_a_relief_is_drawn_once(client, upload, tiff) -> None:
    address = upload(tiff()).json["relief"]
    assert held(client, f"{address}?units=us") != held(client, address)


def test_health_is_asked_anew(client) -> None:
    assert "ETag" not in client.get("/api/v1/health").headers
    assert client.get("/api/v1/health", headers={"If-None-Match": "*"}).status_code == 200
