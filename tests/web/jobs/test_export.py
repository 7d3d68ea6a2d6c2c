"""Everything a caller keeps, out of one service and into another."""

from __future__ import annotations

import io
import json
import struct
import zipfile

import pytest
from PIL import Image

from yardfall.app import Settings, create_app


@pytest.fixture
def other(tmp_path):
    """A client of another, empty service."""
    return create_app(Settings(tmp_path / "other")).test_client()


@pytest.fixture
def bundle(client, examples, tiff, upload, conforms) -> bytes:
    """An export of two jobs, one on a raster and with two revisions, one archived."""
    body = examples["raster"]
    body["ground"]["raster"] = upload(tiff(), name="yard é.tif").json["id"]
    out = io.BytesIO()
    Image.new("RGB", (60, 40)).save(out, "PNG")
    sent = {"file": (io.BytesIO(out.getvalue()), "plan.png")}
    plan = client.post("/api/v1/site-plans", data=sent).json["id"]
    placed = {"units": "us", "scale": {"points": [[5, 5], [55, 5]], "distance": 30}}
    answer = client.put(f"/api/v1/site-plans/{plan}/placement", json=placed)
    assert answer.status_code == 200, answer.get_data(as_text=True)
    kept = {"name": "On a raster", "request": body, "form": {"typed": "10 1/2"}}
    job = client.post("/api/v1/jobs", json=kept).json
    kept["name"] = "On a raster, again"
    client.put(f"/api/v1/jobs/{job['id']}", json=kept, headers={"If-Match": '"1"'})
    for depth in (14, 14.5):
        dug = {"as_dug": [{"at": 0, "depth": depth}], "revision": 1}
        assert client.post(f"/api/v1/jobs/{job['id']}/grade-checks", json=dug).status_code == 201
    draft = client.post("/api/v1/jobs", json={"name": "b", "request": {}, "draft": True}).json
    client.post(f"/api/v1/jobs/{draft['id']}/archive", json={"archived": True})
    with client.get("/api/v1/export") as answer:
        assert (answer.status_code, answer.mimetype) == (200, "application/zip")
        return answer.data


def take_in(client, content: bytes):
    return client.post("/api/v1/imports", data={"file": (io.BytesIO(content), "a.zip")})


def all_of(client) -> list[dict]:
    """Every job with every revision, without what differs between services."""
    listed = client.get("/api/v1/jobs?state=all").json["jobs"]
    found = []
    for job in sorted(listed, key=lambda job: job["name"]):
        path = f"/api/v1/jobs/{job['id']}/revisions"
        numbers = range(1, job["revision"] + 1)
        revisions = [client.get(f"{path}/{number}").json for number in numbers]
        for revision in revisions:
            revision["request"].get("ground", {}).pop("raster", None)
        record = f"/api/v1/jobs/{job['id']}/grade-checks"
        total = client.get(record).json["page"]["total"]
        checks = [client.get(f"{record}/{number + 1}").json for number in range(total)]
        found.append({"archived": job["archived"], "revisions": revisions, "checks": checks})
    return found


def test_out_and_in(client, conforms, bundle, other) -> None:
    answer = take_in(other, bundle)
    assert answer.status_code == 201, answer.get_data(as_text=True)
    conforms("POST /imports", answer)
    moved = {"jobs": 2, "revisions": 3, "rasters": 1, "site_plans": 1, "grade_checks": 2}
    assert answer.json == moved
    assert all_of(other) == all_of(client)
    assert [len(job["checks"]) for job in all_of(other)] == [2, 0]
    (raster,) = other.get("/api/v1/rasters").json["rasters"]
    assert raster["name"] == "yard é.tif"
    (plan,) = other.get("/api/v1/site-plans").json["site_plans"]
    (before,) = client.get("/api/v1/site-plans").json["site_plans"]
    assert plan["placement"] == before["placement"]
    assert plan["placement"] is not None
    listed = other.get("/api/v1/jobs?search=raster").json["jobs"]
    job = other.get(f"/api/v1/jobs/{listed[0]['id']}").json
    assert job["request"]["ground"]["raster"] == raster["id"], "the raster's new id"
    assert other.post("/api/v1/plan", json=job["request"]).status_code == 200
    assert take_in(other, bundle).json["jobs"] == 2, "beside what is there"


def test_without_rasters(client, bundle) -> None:
    with client.get("/api/v1/export?files=without") as answer:
        names = zipfile.ZipFile(io.BytesIO(answer.data)).namelist()
    assert [name for name in names if name.endswith((".tif", ".picture"))] == []


def rewritten(content: bytes, **changed: bytes | None) -> bytes:
    """The bundle with parts changed, left out (None) or added."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(out, "w") as new:
        new.compression = zipfile.ZIP_DEFLATED
        for name in old.namelist():
            part = changed.get(name.split(".")[0].split("/")[0].replace("-", "_"), old.read(name))
            if part is not None:
                new.writestr(name, part)
    return out.getvalue()


def line(**changed) -> bytes:
    """A line of jobs.jsonl with some values changed."""
    sound = {"job": "a", "archived": False, "saved_at": "2026-01-02T03:04:05+00:00"}
    sound |= {"saved_by": "Ann", "name": "a", "sums": "1", "verdict": None, "request": {}}
    sound |= {"answer": None, "problems": [], "form": None}
    return json.dumps(sound | changed).encode() + b"\n"


def check_line(**changed) -> bytes:
    """A line of grade_checks.jsonl with some values changed."""
    sound = {"job": "a", "revision": 1, "checked_at": "2026-01-02T03:04:05+00:00"}
    sound |= {"checked_by": "Ann", "sums": "1", "verdict": "pass", "request": {}}
    sound |= {"answer": {"sentence": "Pass."}}
    return json.dumps(sound | changed).encode() + b"\n"


HEAD = {"format": "yardfall-export", "version": 1}


def small_bundle() -> bytes:
    """What an export of one job is."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as new:
        new.writestr("yardfall-export.json", json.dumps(HEAD))
        new.writestr("jobs.jsonl", line())
        new.writestr("rasters.jsonl", b"")
        new.writestr("site_plans.jsonl", b"")
        new.writestr("grade_checks.jsonl", check_line())
    return out.getvalue()


def changed_line(**changed):
    """A breaking of a bundle by one value of a line."""
    return lambda content: rewritten(content, jobs=line(**changed))


def test_a_small_bundle_is_taken(other) -> None:
    assert take_in(other, small_bundle()).json == {
        "jobs": 1,
        "revisions": 1,
        "rasters": 0,
        "site_plans": 0,
        "grade_checks": 1,
    }


def test_an_export_of_before_the_record_was_kept_is_taken(other) -> None:
    old = rewritten(small_bundle(), grade_checks=None)
    assert take_in(other, old).json["grade_checks"] == 0


def checks_with(**changed):
    """A breaking of a bundle by one value of a check."""
    return lambda content: rewritten(content, grade_checks=check_line(**changed))


DEEP = b'{"job":' + b"[" * 9000 + b"]" * 9000 + b"}\n"
BROKEN = {
    "no zip": lambda content: b"PK\3\4 no zip",
    "nothing": lambda content: b"",
    "cut short": lambda content: content[: len(content) // 2],
    "another zip": lambda content: rewritten(content, yardfall_export=b"{}"),
    "no json": lambda content: rewritten(content, jobs=b"not json\n"),
    "a list": lambda content: rewritten(content, jobs=b"[]\n"),
    "no line end": lambda content: rewritten(content, jobs=line()[:-1]),
    "a number that is none": lambda content: rewritten(
        content, jobs=line(request={"a": float("nan")})
    ),
    "deep": lambda content: rewritten(
        content, jobs=b'{"job":' + b"[" * 9000 + b"]" * 9000 + b"}\n"
    ),
    "no request": lambda content: rewritten(content, jobs=line(request=[])),
    "no verdict": lambda content: rewritten(content, jobs=line(verdict="maybe")),
    "no time": lambda content: rewritten(content, jobs=line(saved_at="yesterday")),
    "time without zone": lambda content: rewritten(content, jobs=line(saved_at="2026-01-02")),
    "odd problems": lambda content: rewritten(content, jobs=line(problems=[{"a": 1}])),
    "an odd raster": lambda content: rewritten(
        content, rasters=b'{"id": "../../x", "name": "a"}\n'
    ),
    "a raster left out": lambda content: rewritten(
        content, rasters=b'{"id": "' + b"0" * 32 + b'"}\n'
    ),
    "a site plan left out": lambda content: rewritten(
        content, site_plans=b'{"id": "%s"}\n' % (b"0" * 32)
    ),
    "a check of no job": checks_with(job="b"),
    "a check of no revision": checks_with(revision=2),
    "a check of half a revision": checks_with(revision=True),
    "a check without verdict": checks_with(verdict="yes"),
    "a check without sentence": checks_with(answer={}),
    "a check without time": checks_with(checked_at="2026-01-02"),
    "a check of nothing": checks_with(request=None),
    "a job in two parts": lambda content: rewritten(content, jobs=line() + line(job="b") + line()),
    "no raster at the end": lambda content: rewritten(content, jobs=line() + b"{}\n"),
}


@pytest.mark.parametrize("breaking", BROKEN.values(), ids=BROKEN)
def test_what_is_no_export_changes_nothing(breaking, other, tmp_path) -> None:
    answer = take_in(other, breaking(small_bundle()))
    assert (answer.status_code, answer.mimetype) == (422, "application/problem+json")
    assert other.get("/api/v1/jobs?state=all").json["page"]["total"] == 0
    assert other.get("/api/v1/rasters").json["page"]["total"] == 0
    assert list((tmp_path / "other" / "rasters").iterdir()) == []


def test_a_file_that_unpacks_to_more_than_it_may(other, monkeypatch) -> None:
    monkeypatch.setattr("yardfall.use_cases.transfer.MOST_BYTES", 1 << 20)
    bomb = rewritten(small_bundle(), jobs=b" " * (2 << 20))
    assert take_in(other, bomb).status_code == 413


def test_a_directory_of_millions_is_not_read(other) -> None:
    end = struct.pack("<4s4H2LH", b"PK\5\6", 0, 0, 65_535, 65_535, 2**31, 0, 0)
    assert take_in(other, b"PK\3\4" + end).status_code == 413
