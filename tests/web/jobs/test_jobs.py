"""The calls of jobs: keep, save on top of what was read, compare, put away, forget."""

from __future__ import annotations

import io

import paper
import pytest

from yardfall.engine_version import sums

JOBS = "/api/v1/jobs"


@pytest.fixture
def kept(client, conforms, yard_request):
    """Keep the yard as a job."""

    def keep(name: str = "Elm St 4", **more):
        answer = client.post(JOBS, json={"name": name, "request": yard_request} | more)
        assert answer.status_code == 201, answer.get_data(as_text=True)
        conforms("POST /jobs", answer)
        return answer

    return keep


def test_a_yes_on_conditions_is_listed_as_one(client, conforms, kept, yard_request) -> None:
    """Nobody measured how deep the gas line lies: a yes by the fall, on that condition."""
    gas = {"at": 26, "what": "gas", "top_depth": 40, "size": 2, "clearance": 12, "pass": "over"}
    yard_request["crossings"] = [gas]
    job = kept().json
    assert job["answer"]["whole"]["overall"] == "conditional"
    listed = client.get(JOBS)
    conforms("GET /jobs", listed)
    (revision,) = client.get(f"{JOBS}/{job['id']}/revisions").json["revisions"]
    for told in (job, listed.json["jobs"][0], revision):
        assert (told["verdict"], told["overall"]) == ("yes", "conditional")


def test_a_job_from_first_save_to_deletion(client, conforms, kept, yard_request) -> None:
    answer = kept(form={"typed": "10 1/2"})
    job = answer.json
    assert (answer.headers["ETag"], job["etag"], job["revision"]) == ('"1"', '"1"', 1)
    assert answer.headers["Location"] == f"{JOBS}/{job['id']}"
    assert job["request"] == yard_request
    assert job["answer"] == client.post("/api/v1/plan", json=yard_request).json
    assert (job["verdict"], job["sums"], job["sums_changed"]) == ("yes", sums(), False)
    assert (job["saved_by"], job["problems"], job["form"]) == (
        "this machine",
        [],
        {"typed": "10 1/2"},
    )
    path = f"{JOBS}/{job['id']}"
    assert client.get(path).json == job

    yard_request["outlet"]["depth"] = {"max": 4}
    body = {"name": "Elm St 4", "request": yard_request}
    saved = client.put(path, json=body, headers={"If-Match": answer.headers["ETag"]})
    assert (saved.status_code, saved.headers["ETag"], saved.json["verdict"]) == (200, '"2"', "no")
    conforms("PUT /jobs/{id}", saved)

    revisions = client.get(f"{path}/revisions")
    conforms("GET /jobs/{id}/revisions", revisions)
    assert [(r["revision"], r["verdict"]) for r in revisions.json["revisions"]] == [
        (2, "no"),
        (1, "yes"),
    ]
    first = client.get(f"{path}/revisions/1")
    conforms("GET /jobs/{id}/revisions/{number}", first)
    assert first.json["answer"] == job["answer"]
    assert client.get(f"{path}/revisions/3").status_code == 404

    gone = client.delete(path, headers={"If-Match": '"2"'})
    conforms("DELETE /jobs/{id}", gone)
    assert gone.status_code == 204
    for missing in (path, f"{path}/revisions", f"{path}/revisions/1"):
        answer = client.get(missing)
        assert (answer.status_code, answer.mimetype) == (404, "application/problem+json")


def test_nobodys_work_is_overwritten(client, conforms, kept, yard_request) -> None:
    path = f"{JOBS}/{kept().json['id']}"
    body = {"name": "mine", "request": yard_request}
    assert client.put(path, json=body, headers={"If-Match": '"1"'}).status_code == 200
    for method in ("PUT", "DELETE"):
        sent = {"json": body} if method == "PUT" else {}
        bare = client.open(path, method=method, **sent)
        assert (bare.status_code, bare.mimetype) == (428, "application/problem+json")
        assert "If-Match" in bare.json["detail"]
        conforms(f"{method} /jobs/{{id}}", bare)
        for stale in ('"1"', '"3"', '"2-archived"', '"2x"', '"1", W/"2"'):
            late = client.open(path, method=method, headers={"If-Match": stale}, **sent)
            assert late.status_code == 412, stale
            assert "Someone else" in late.json["detail"]
            conforms(f"{method} /jobs/{{id}}", late)
    assert client.get(path).json["revision"] == 2
    assert client.put(path, json=body, headers={"If-Match": '"1", "2"'}).status_code == 200
    assert client.put(path, json=body, headers={"If-Match": "*"}).json["revision"] == 4


def test_a_weak_tag_matches_nothing(client, conforms, kept, yard_request) -> None:
    """RFC 9110, 13.1.1: If-Match compares strongly, so W/ never matches, not even itself."""
    path = f"{JOBS}/{kept().json['id']}"
    body = {"name": "mine", "request": yard_request}
    late = client.put(path, json=body, headers={"If-Match": 'W/"1"'})
    assert late.status_code == 412
    assert "weak tag" in late.json["detail"]
    conforms("PUT /jobs/{id}", late)
    assert client.put(path, json=body, headers={"If-Match": 'W/"1", "1"'}).status_code == 200


@pytest.mark.parametrize("text", ["1", "xyz", "", '"1', "'1'", '"1" "2"', '*, "1"', 'w/"1"', "W/*"])
def test_an_if_match_that_is_no_tag_is_not_taken_for_a_stale_one(
    text: str, client, conforms, kept, yard_request
) -> None:
    path = f"{JOBS}/{kept().json['id']}"
    body = {"name": "mine", "request": yard_request}
    for method, sent in (("PUT", {"json": body}), ("DELETE", {})):
        answer = client.open(path, method=method, headers={"If-Match": text}, **sent)
        assert (answer.status_code, answer.mimetype) == (400, "application/problem+json")
        assert "quotation marks" in answer.json["detail"]
        conforms(f"{method} /jobs/{{id}}", answer)
    missing = client.delete(f"{JOBS}/{'0' * 32}", headers={"If-Match": 'W/"1"'})
    assert missing.status_code == 404, "what is not there is told before its tag"


def test_a_stale_save_is_told_before_the_sums_are_done(client, kept, monkeypatch) -> None:
    path = f"{JOBS}/{kept().json['id']}"
    monkeypatch.setattr("yardfall.web.jobs.views.content_of", lambda *_: 1 / 0)
    body = {"name": "mine", "request": {}}
    assert client.put(path, json=body, headers={"If-Match": '"7"'}).status_code == 412


def test_what_cannot_be_computed_is_kept_as_a_draft_alone(client, conforms, refused, changed):
    unfit = changed("/route/length", 60)
    error = refused("/jobs", json={"name": "x", "request": unfit})["errors"][0]
    assert error["pointer"] == "/request/ground"
    error = refused("/jobs", json={"name": "x", "request": {"units": "us", "odd": 1}})["errors"]
    assert {"/request/odd", "/request/route"} <= {e["pointer"] for e in error}
    draft = client.post(JOBS, json={"name": "x", "request": unfit, "draft": True})
    conforms("POST /jobs", draft)
    assert (draft.status_code, draft.json["answer"], draft.json["verdict"]) == (201, None, None)
    assert draft.json["problems"][0]["pointer"] == "/request/ground"
    assert draft.json["request"] == unfit


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"request": {}}, "/name"),
        ({"name": "", "request": {}}, "/name"),
        ({"name": "  ", "request": {}}, "/name"),
        ({"name": "a\nb", "request": {}}, "/name"),
        ({"name": "a\u0000", "request": {}}, "/name"),
        ({"name": "a\ud800", "request": {}}, "/name"),
        ({"name": "a" * 201, "request": {}}, "/name"),
        ({"name": "a"}, "/request"),
        ({"name": "a", "request": []}, "/request"),
        ({"name": "a", "request": {}, "draft": "true"}, "/draft"),
        ({"name": "a", "request": {}, "draft": 1}, "/draft"),
        ({"name": "a", "request": {}, "form": 5}, "/form"),
        ({"name": "a", "request": {}, "owner": "bob"}, "/owner"),
    ],
)
def test_bodies_are_read_strictly(body: dict, pointer: str, refused) -> None:
    assert pointer in [error["pointer"] for error in refused("/jobs", json=body)["errors"]]


def test_a_draft_is_json_that_can_be_kept(client, refused) -> None:
    deep = "[" * 60 + "]" * 60
    for odd in (
        '{"a": NaN}',
        '{"a": -Infinity}',
        f'{{"a": {deep}}}',
        '{"a": 1e999}',
        '{"\\udc00": 1}',
    ):
        body = f'{{"name": "x", "draft": true, "request": {odd}}}'
        error = refused("/jobs", data=body, content_type="application/json")["errors"][0]
        assert error["pointer"] == "/request"
    text = '{"name": "x", "draft": true, "request": {"a\\u0000": "\\ud83d\\ude00", "n": 1E+400000}}'
    assert client.post(JOBS, data=text, content_type="application/json").status_code == 422
    text = text.replace(', "n": 1E+400000', "")
    kept = client.post(JOBS, data=text, content_type="application/json")
    assert kept.json["request"] == {"a\0": "\U0001f600"}


def test_lists(client, conforms, kept) -> None:
    for name in ("Elm St 4", "Oak St 1", "ELM ST 9"):
        last = kept(name).json
    listed = client.get(f"{JOBS}?search=elm&page_size=1")
    conforms("GET /jobs", listed)
    assert [job["name"] for job in listed.json["jobs"]] == ["ELM ST 9"]
    assert listed.json["page"] == {"number": 1, "size": 1, "total": 2}
    assert "request" not in listed.json["jobs"][0]
    away = client.post(f"{JOBS}/{last['id']}/archive", json={"archived": True})
    conforms("POST /jobs/{id}/archive", away)
    assert (away.json["archived"], away.headers["ETag"]) == (True, '"1-archived"')
    totals = {s: client.get(f"{JOBS}?state={s}").json["page"]["total"] for s in ("open", "all")}
    assert totals == {"open": 2, "all": 3}
    assert client.get(f"{JOBS}?search=%00%ff%25").json["jobs"] == []
    for query in ("state=none", "page=0", "page_size=0", "search=" + "a" * 201, "odd=1"):
        assert client.get(f"{JOBS}?{query}").status_code == 422, query


def test_a_copy(client, conforms, kept) -> None:
    job = kept().json
    copy = client.post(f"{JOBS}/{job['id']}/copies", json={"name": "Elm St 6"})
    conforms("POST /jobs/{id}/copies", copy)
    assert (copy.status_code, copy.json["name"], copy.json["revision"]) == (201, "Elm St 6", 1)
    assert copy.json["id"] != job["id"]
    assert copy.json["answer"] == job["answer"]
    assert client.post(f"{JOBS}/{job['id']}/copies", json={}).json["name"] == "Elm St 4"


def test_a_job_goes_with_its_files_where_asked(client, examples, tiff, upload) -> None:
    body = examples["raster"]
    body["ground"]["raster"] = raster = upload(tiff()).json["id"]
    ids = [client.post(JOBS, json={"name": "a", "request": body}).json["id"] for _ in range(3)]

    def left_after(key: str, query: str) -> int:
        path = f"{JOBS}/{key}{query}"
        assert client.delete(path, headers={"If-Match": '"1"'}).status_code == 204
        return client.get(f"/api/v1/rasters/{raster}").status_code

    assert left_after(ids[0], "?files=delete") == 200, "another job names it"
    assert left_after(ids[1], "") == 200, "not asked for"
    assert left_after(ids[2], "?files=delete") == 404


@pytest.mark.parametrize("form", [lambda key: {"base": key}, lambda key: {"sites": {key: {}}}])
def test_a_job_goes_with_the_site_plan_that_its_form_names(client, yard_request, form) -> None:
    sent = {"file": (io.BytesIO(paper.picture()), "lot.png")}
    plan = client.post("/api/v1/site-plans", data=sent).json["id"]
    body = {"name": "a", "request": yard_request, "form": form(plan)}
    ids = [client.post(JOBS, json=body).json["id"] for _ in range(2)]
    found = []
    for key in ids:
        path = f"{JOBS}/{key}?files=delete"
        assert client.delete(path, headers={"If-Match": '"1"'}).status_code == 204
        found.append(client.get(f"/api/v1/site-plans/{plan}").status_code)
    assert found == [200, 404], "kept while another job names it"
