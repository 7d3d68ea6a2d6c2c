"""The as-built record of a kept job, and the papers of one."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from yardfall.engine_version import sums
from yardfall.papers.registry import PAPERS
from yardfall.web.http.watch.limits import Limits

JOBS = "/api/v1/jobs"
READ = [{"at": 52, "line_to_bottom": 29.5}, {"at": 39, "line_to_bottom": 27.5}]


@pytest.fixture
def job(client, yard_request) -> str:
    """The address of the yard, kept."""
    answer = client.post(JOBS, json={"name": "Elm St 4", "request": yard_request})
    return f"{JOBS}/{answer.json['id']}"


@pytest.fixture
def check(client, job):
    """Keep a check of the yard's trench."""

    def keep(**body):
        answer = client.post(f"{job}/grade-checks", json={"as_dug": READ} | body)
        assert answer.status_code == 201, answer.get_data(as_text=True)
        return answer

    return keep


def test_a_check_is_kept_with_its_time_and_its_plan(
    client, conforms, job, check, yard_request
) -> None:
    before = datetime.now(UTC) - timedelta(seconds=1)
    answer = check()
    conforms("POST /jobs/{id}/grade-checks", answer)
    kept = answer.json
    assert before <= datetime.fromisoformat(kept["checked_at"]) <= datetime.now(UTC)
    assert (kept["number"], kept["revision"], kept["sums"]) == (1, 1, sums())
    assert kept["checked_by"] == "this machine"
    told = client.post("/api/v1/grade-check", json={"plan": yard_request, "as_dug": READ})
    assert kept["answer"] == told.json
    assert (kept["verdict"], kept["sentence"]) == (told.json["verdict"], told.json["sentence"])
    assert kept["request"]["as_dug"] == [one | {"on": "trench_bottom"} for one in READ]

    yard_request["grade"]["min_percent"] = 1.0
    body = {"name": "Elm St 4", "request": yard_request}
    saved = client.put(job, json=body, headers={"If-Match": '"1"'})
    assert saved.status_code == 200, "a kept check changes no ETag"
    assert (check().json["revision"], check(revision=1).json["revision"]) == (2, 1)
    assert client.get(f"{job}/grade-checks/1").json == kept, "as it was then"
    listed = client.get(f"{job}/grade-checks?page_size=2")
    conforms("GET /jobs/{id}/grade-checks", listed)
    assert [(c["number"], c["revision"]) for c in listed.json["grade_checks"]] == [(3, 1), (2, 2)]
    assert listed.json["page"] == {"number": 1, "size": 2, "total": 3}
    one = client.get(f"{job}/grade-checks/3")
    conforms("GET /jobs/{id}/grade-checks/{number}", one)
    assert client.get(job).json["size_bytes"] > saved.json["size_bytes"], "it takes room"

    assert client.delete(job, headers={"If-Match": "*"}).status_code == 204
    for path in (f"{job}/grade-checks", f"{job}/grade-checks/1"):
        assert client.get(path).status_code == 404


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"as_dug": []}, "/as_dug"),
        ({"as_dug": READ, "plan": {}}, "/plan"),
        ({"as_dug": READ, "revision": 0}, "/revision"),
        ({"as_dug": [{"at": 60, "depth": 12}]}, "/as_dug/0/at"),
    ],
)
def test_what_cannot_be_checked_is_not_kept(body: dict, pointer: str, client, job) -> None:
    answer = client.post(f"{job}/grade-checks", json=body)
    assert (answer.status_code, answer.mimetype) == (422, "application/problem+json")
    assert pointer in [error["pointer"] for error in answer.json["errors"]]
    assert client.get(f"{job}/grade-checks").json["page"]["total"] == 0


@pytest.mark.parametrize("number", [2, 10**12])
def test_there_is_no_such_check_or_revision(number: int, client, check, job) -> None:
    check()
    assert client.get(f"{job}/grade-checks/{number}").status_code == 404
    body = {"as_dug": READ, "revision": min(number, 2**31 - 1)}
    assert client.post(f"{job}/grade-checks", json=body).status_code == 404


def test_a_draft_has_nothing_to_be_held_against(client, changed) -> None:
    body = {"name": "x", "request": changed("/route/length", 60), "draft": True}
    draft = f"{JOBS}/{client.post(JOBS, json=body).json['id']}"
    answer = client.post(f"{draft}/grade-checks", json={"as_dug": READ})
    assert answer.status_code == 422
    assert "revision 1 cannot be worked out" in answer.json["detail"]
    paper = client.get(f"{draft}/dig-sheet.html")
    assert (paper.status_code, "kept as a draft" in paper.json["detail"]) == (422, True)


def test_the_record_counts_towards_a_keys_share(app, client, yard_request) -> None:
    _, secret = app.extensions["keys"].make("Ann")
    client.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {secret}"
    job = client.post(JOBS, json={"name": "a", "request": yard_request}).json["id"]
    app.extensions["limits"] = Limits(kept_mib=0)
    answer = client.post(f"{JOBS}/{job}/grade-checks", json={"as_dug": READ})
    assert answer.status_code == 413
    assert "MiB are its share" in answer.json["detail"]


@pytest.fixture
def drawn(client, examples, tiff, upload) -> str:
    """The address of a job drawn over a raster, so that it can have every paper."""
    body = examples["raster"]
    body["ground"]["raster"] = upload(tiff()).json["id"]
    return f"{JOBS}/{client.post(JOBS, json={'name': 'Elm St 4', 'request': body}).json['id']}"


@pytest.mark.parametrize("name", PAPERS)
def test_papers_of_a_job_are_those_of_its_plan(name: str, client, conforms, drawn) -> None:
    answer = client.get(f"{drawn}/{name}?page=a4")
    assert answer.status_code == 200, answer.get_data(as_text=True)
    assert answer.headers["Content-Disposition"] == f'attachment; filename="Elm-St-4-{name}"'
    conforms(f"GET /jobs/{{id}}/{name}", answer)
    body = client.get(drawn).json["request"] | {"paper": {"title": "Elm St 4", "page": "a4"}}
    same = client.post(f"/api/v1/papers/{name}", json=body)
    assert answer.mimetype == same.mimetype
    if name in ("dig-sheet.html", "stations.csv", "plan.geojson", "profile.svg"):
        assert answer.data == same.data


def test_a_paper_of_an_earlier_revision_under_a_head_of_its_own(client, job, yard_request) -> None:
    body = {"name": "Elm St 4", "request": yard_request | {"pipe": {"code": "pvc-sdr35-4"}}}
    assert client.put(job, json=body, headers={"If-Match": '"1"'}).status_code == 200

    def sheet(query: str) -> str:
        return client.get(f"{job}/dig-sheet.html?{query}").get_data(as_text=True)

    assert "<h1>Elm St 4</h1>" in sheet("")
    assert "<h1>O&#39;Neil</h1>" in sheet("revision=1&title=O%27Neil")
    assert sheet("") == sheet("revision=2") != sheet("revision=1")
    for query, status in (("revision=3", 404), ("revision=0", 422), ("odd=1", 422)):
        assert client.get(f"{job}/dig-sheet.html?{query}").status_code == status


def test_papers_of_a_job_outlive_its_raster(client, drawn) -> None:
    raster = client.get(drawn).json["request"]["ground"]["raster"]
    before = client.get(f"{drawn}/stations.csv").data
    assert client.delete(f"/api/v1/rasters/{raster}").status_code == 204
    assert client.get(f"{drawn}/stations.csv").data == before
