"""The key of a crew's link against every operation of the contract: one job, and nothing else."""

from __future__ import annotations

import base64
import json
import re
from pathlib import Path

import pytest

from yardfall.papers.registry import PAPERS

CONTRACT = json.loads(
    (Path(__file__).resolve().parents[2] / "openapi" / "openapi.json").read_text("utf-8")
)
JOBS = "/api/v1/jobs"
DUG = {"as_dug": [{"at": 52, "line_to_bottom": 29.5}]}
MAY = {
    "GET /jobs/{id}": 200,
    "GET /jobs/{id}/revisions": 200,
    "GET /jobs/{id}/revisions/{number}": 200,
    "GET /jobs/{id}/grade-checks": 200,
    "GET /jobs/{id}/grade-checks/{number}": 200,
    "POST /jobs/{id}/grade-checks": 201,
    "POST /jobs/{id}/grade-check": 200,
    **{f"GET /jobs/{{id}}/{name}": 200 for name in PAPERS},
}
"""What a crew may, written down here apart from the service."""
NEVER = {"GET /jobs/{id}/map.html"}
"""A paper that a taped run cannot have: let in, and refused for that."""


def operations() -> list[tuple[str, str]]:
    """Each call of the contract, its method and path, but those that hold nobody's data."""
    return [
        (method.upper(), path.removeprefix("/api/v1"))
        for path, item in CONTRACT["paths"].items()
        for method, told in item.items()
        if method in ("get", "post", "put", "delete", "patch", "head")
        and told.get("security") != []
    ]


@pytest.fixture(params=["with keys", "without keys"])
def yard(request, app, client, yard_request):
    """Two jobs of one owner, a client with the link to the first, and one with the owner's key."""
    owner = app.test_client()
    if request.param == "with keys":
        _, secret = app.extensions["keys"].make("Ann", "admin")
        owner.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {secret}"
    mine, other = (
        owner.post(JOBS, json={"name": name, "request": yard_request}).json["id"] for name in "ab"
    )
    for job in (mine, other):
        assert owner.post(f"{JOBS}/{job}/grade-checks", json=DUG).status_code == 201
    made = owner.post(f"{JOBS}/{mine}/crew-links", json={"name": "crew"})
    assert made.status_code == 201, made.get_data(as_text=True)
    link = made.json
    crew = app.test_client()
    crew.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {link['key']}"
    return owner, crew, mine, other, link


def send(client, method: str, path: str, job: str, link: str):
    filled = path.replace("{id}", job).replace("{number}", "1").replace("{link}", link)
    filled = filled.replace("{name}", "dig-sheet.pdf")
    assert "{" not in filled, f"say here what stands for the rest of {filled}"
    body = DUG if method in ("POST", "PUT", "PATCH") else None
    headers = {"If-Match": "*"}
    return client.open(f"/api/v1{filled}", method=method, json=body, headers=headers, buffered=True)


def test_every_operation_but_those_of_its_job_is_refused(yard) -> None:
    owner, crew, mine, other, link = yard
    calls = operations()
    assert len(calls) > 40
    assert {f"{m} {p}" for m, p in calls} >= MAY.keys(), "what a crew may is in the contract"
    before = json.dumps(owner.get(f"{JOBS}/{mine}").json["revision"])
    for method, path in calls:
        call = f"{method} {path}"
        answer = send(crew, method, path, mine, link["id"])
        if call in MAY:
            wanted = 422 if call in NEVER else MAY[call]
            assert answer.status_code == wanted, f"{call}: {answer.get_data(as_text=True)[:200]}"
        else:
            assert answer.status_code == 403, f"{call} answers {answer.status_code}"
            assert "reads one job and adds checks" in answer.json["detail"]
        if "{id}" in path:
            for elsewhere in (other, "0" * 32, mine.upper(), mine + "x"):
                answer = send(crew, method, path, elsewhere, link["id"])
                assert answer.status_code == 403, f"{call} of another job: {answer.status_code}"
    assert json.dumps(owner.get(f"{JOBS}/{mine}").json["revision"]) == before
    assert owner.get(f"{JOBS}/{other}/grade-checks").json["page"]["total"] == 1
    assert len(owner.get(f"{JOBS}/{mine}/crew-links").json["crew_links"]) == 1


@pytest.mark.parametrize(
    "path",
    [
        "/",
        "/demo.json",
        "/metrics",
        "/api/v1/nowhere",
        "/api/v1/jobs/{mine}/nowhere",
        "/api/v1/jobs/{mine}/../{other}",
        "/api/v1/jobs/{mine}/%2e%2e/{other}",
        "/api/v1/jobs/{mine}%2F..%2F{other}",
        "/api/v1//jobs/{other}",
        "/api/v1/jobs/{other}?id={mine}",
        "/api/v1/jobs/{other}/dig-sheet.pdf?job={mine}",
        "/api/v1/jobs/{mine}/crew-links/",
    ],
)
def test_no_other_address_opens_by_it(yard, path: str) -> None:
    _, crew, mine, other, _ = yard
    answer = crew.get(path.format(mine=mine, other=other), follow_redirects=True, buffered=True)
    assert answer.status_code == 403


@pytest.mark.parametrize("method", ["PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "LINK", "POST"])
def test_no_other_method_opens_by_it(yard, method: str) -> None:
    _, crew, mine, _, _ = yard
    assert crew.open(f"{JOBS}/{mine}", method=method, json=DUG).status_code == 403


def test_it_is_sent_as_a_bearer_token_alone(yard, app) -> None:
    """Never as a password that a browser keeps and sends by itself, nor in an address."""
    _, _, mine, _, link = yard
    plain = app.test_client()
    basic = "Basic " + base64.b64encode(f"crew:{link['key']}".encode()).decode()
    app.extensions["keys"].make("Bob")
    for sent in (
        {"headers": {"Authorization": basic, "X-Requested-With": "yardfall-page"}},
        {"headers": {"X-Crew": link["key"]}},
        {"query_string": {"crew": link["key"]}},
        {"headers": {"Cookie": f"crew={link['key']}"}},
    ):
        assert plain.get(f"{JOBS}/{mine}", **sent).status_code == 401, sent


def test_a_key_that_looks_like_one_opens_nothing(yard, app) -> None:
    _, _, mine, _, link = yard
    key = link["key"]
    for wrong in (
        key[:-1],
        key + "x",
        key[:-1] + ("a" if key[-1] != "a" else "b"),
        "crew_",
        "crew_%",
    ):
        answer = app.test_client().get(
            f"{JOBS}/{mine}", headers={"Authorization": f"Bearer {wrong}"}
        )
        assert answer.status_code == 401, wrong
        assert re.search("withdrawn", answer.json["detail"])


def test_without_keys_a_link_lets_nobody_in_from_elsewhere(app, client, yard_request) -> None:
    """The machine serves itself alone: a link sent through a tunnel opens nothing of it."""
    job = client.post(JOBS, json={"name": "a", "request": yard_request}).json["id"]
    key = client.post(f"{JOBS}/{job}/crew-links", json={"name": "crew"}).json["key"]
    sent = {"Authorization": f"Bearer {key}"}
    assert client.get(f"{JOBS}/{job}", headers=sent).status_code == 200
    for elsewhere in (
        {"environ_overrides": {"REMOTE_ADDR": "192.0.2.7"}, "headers": sent},
        {"headers": sent | {"Host": "yard.example"}},
        {"headers": sent | {"X-Forwarded-For": "192.0.2.7"}},
    ):
        assert client.get(f"{JOBS}/{job}", **elsewhere).status_code == 403


def test_it_is_in_no_line_of_the_log(yard, caplog) -> None:
    _, crew, mine, _, link = yard
    with caplog.at_level("INFO"):
        crew.get(f"{JOBS}/{mine}")
    told = [getattr(record, "fields", {}) for record in caplog.records]
    assert link["key"] not in str([told, caplog.text])
    assert link["id"] in str(told), "which link it was is told"
