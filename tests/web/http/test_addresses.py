"""What answers tell of addresses: where a thing was made, the pages beside, what a problem is."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path

import pytest
from closed import committed

from yardfall.sentences import TEXTS
from yardfall.web.http.problem_kinds import ALL, code_of

CONTRACT = committed()


def links(answer) -> dict[str, str]:
    return {
        relation: address
        for value in answer.headers.getlist("Link")
        for address, relation in re.findall(r'<([^>]+)>; rel="(\w+)"', value)
    }


def test_pages_lead_to_one_another(client, tiff) -> None:
    for number in range(5):
        client.post("/api/v1/rasters", data={"file": (io.BytesIO(tiff()), f"{number}.tif")})
    first = client.get("/api/v1/rasters?page_size=2")
    assert links(first) == {"next": "/api/v1/rasters?page_size=2&page=2"}
    seen, answer = [], first
    while True:
        seen += [one["name"] for one in answer.json["rasters"]]
        beside = links(answer)
        if "next" not in beside:
            break
        answer = client.get(beside["next"])
    assert sorted(seen) == [f"{number}.tif" for number in range(5)]
    assert links(answer) == {"prev": "/api/v1/rasters?page_size=2&page=2"}
    beyond = client.get("/api/v1/rasters?page_size=2&page=40")
    assert links(beyond) == {"prev": "/api/v1/rasters?page_size=2&page=3"}


def test_what_was_searched_for_goes_along_and_forges_no_header(client, yard_request) -> None:
    for _ in range(2):
        client.post("/api/v1/jobs", json={"name": 'a>; "b', "request": yard_request})
    answer = client.get("/api/v1/jobs", query_string={"search": '>; "b', "page_size": 1})
    assert links(answer) == {"next": "/api/v1/jobs?search=%3E%3B+%22b&page_size=1&page=2"}
    assert client.get(links(answer)["next"]).json["page"]["total"] == 2


def test_what_was_made_can_be_read_where_its_location_says(client, tiff, yard_request) -> None:
    jobs = client.post("/api/v1/jobs", json={"name": "Elm", "request": yard_request})
    at = jobs.headers["Location"]
    raster = client.post("/api/v1/rasters", data={"file": (io.BytesIO(tiff()), "a.tif")})
    bundle = {"file": (io.BytesIO(client.get("/api/v1/export").data), "a.zip")}
    made = [
        jobs,
        raster,
        client.post(f"{at}/copies", json={}),
        client.post(f"{at}/grade-checks", json={"as_dug": [{"at": 52, "line_to_bottom": 29.5}]}),
        client.post(f"{at}/crew-links", json={"name": "Crew"}),
        client.post("/api/v1/imports", data=bundle),
    ]
    for answer in made:
        assert answer.status_code == 201, answer.text
        read = client.get(answer.headers["Location"])
        assert read.status_code == 200, answer.headers["Location"]
        assert read.json.get("id") == answer.json.get("id")


def test_below_a_prefix_addresses_keep_it(client, yard_request) -> None:
    body = {"name": "Elm", "request": yard_request}
    prefixed = {"SCRIPT_NAME": "/drains"}
    answer = client.post("/api/v1/jobs", json=body, environ_overrides=prefixed)
    assert answer.headers["Location"] == f"/drains/api/v1/jobs/{answer.json['id']}"
    refused = client.get("/api/v1/jobs/none", environ_overrides=prefixed)
    assert refused.json["type"] == "/drains/problems/not-there"


REFUSED = [
    ("GET", "/jobs/0123", {}, 404, "not-there"),
    ("DELETE", "/pipes", {}, 405, "wrong-method"),
    ("POST", "/plan", {"data": b"{", "content_type": "application/json"}, 400, "not-readable"),
    ("POST", "/plan", {"data": b"{}", "content_type": "text/plain"}, 415, "wrong-content-type"),
    ("POST", "/plan", {"json": {}}, 422, "cannot-be-computed"),
    ("POST", "/rasters", {"data": {"file": (io.BytesIO(b"no"), "a.tif")}}, 422, "file-refused"),
]


@pytest.mark.parametrize(("method", "path", "sent", "status", "kind"), REFUSED)
def test_a_problem_leads_to_what_to_do(client, method, path, sent, status, kind) -> None:
    answer = client.open(f"/api/v1{path}", method=method, **sent)
    assert (answer.status_code, answer.json["type"]) == (status, f"/problems/{kind}")
    page = client.get(answer.json["type"])
    assert (page.status_code, page.mimetype) == (200, "text/html")
    assert TEXTS[f"problems.{kind}"].split(".")[0] in page.text.replace("&#39;", "'")


def test_every_kind_has_a_page_for_everybody(app, client) -> None:
    app.extensions["keys"].make("Ann")
    listed = client.get("/problems").text
    for kind in ALL:
        assert f'href="problems/{kind}"' in listed
        assert client.get(f"/problems/{kind}").status_code == 200
    assert client.get("/problems/none").status_code == 404
    assert set(ALL) == {name.partition(".")[2] for name in TEXTS if name.startswith("problems.")}


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"depht": 1}, "unknown_field"),
        ({"outlet": ...}, "missing"),
        ({"units": None}, "null"),
        ({"units": "metric"}, "not_among"),
        ({"explain": "yes"}, "wrong_type"),
        ({"route": {"length": -1}}, "out_of_range"),
        ({"route": {}}, "wrong_form"),
        ({"stations": {"at": [1.0] * 5000}}, "wrong_length"),
        ({"pipe": {"code": "none"}}, "not_among"),
        ({"route": {"length": 500}}, "cannot_be_computed"),
    ],
)
def test_a_fault_has_a_code(change, code, yard_request, refused) -> None:
    body = {name: value for name, value in (yard_request | change).items() if value is not ...}
    assert {error["code"] for error in refused("/plan", 422, json=body)["errors"]} == {code}


def test_a_draft_says_its_faults_with_their_codes(client, conforms, yard_request) -> None:
    body = {"name": "Elm", "request": yard_request | {"units": "metric"}, "draft": True}
    answer = client.post("/api/v1/jobs", json=body)
    conforms("POST /jobs", answer)
    assert [one["code"] for one in answer.json["problems"]] == ["not_among"]


def test_what_no_schema_says_has_a_code_too() -> None:
    assert code_of("The ground ends before the route does.") == "cannot_be_computed"
    assert code_of("Not a valid string.") == "wrong_type"


def test_the_contract_names_every_code() -> None:
    folder = Path(__file__).resolve().parents[3] / "service" / "yardfall"
    made = set(
        re.findall(r'^    \("(\w+)", r"', (folder / "web/http/problem_kinds.py").read_text(), re.M)
    )
    named = set(CONTRACT["components"]["schemas"]["ErrorCode"]["enum"])
    assert made | {"cannot_be_computed", "more"} == named
    assert json.dumps(CONTRACT).count("#/components/schemas/ErrorCode") == 1
