"""A server killed in the middle of an import: all of it is there afterwards, or nothing."""

from __future__ import annotations

import http.client
import io
import json
import sqlite3
import threading
import time
import zipfile
from contextlib import closing, suppress
from pathlib import Path

import pytest
from front import make_keys, served

from yardfall.app import Settings, create_app
from yardfall.store.imports import forget_abandoned

JOBS = 120
PART = b'--x\r\nContent-Disposition: form-data; name="file"; filename="a.zip"\r\n\r\n'
KIND = {"Content-Type": "multipart/form-data; boundary=x"}


def bundle(count: int) -> bytes:
    """An export of so many jobs, each a few kB."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr("yardfall-export.json", '{"format": "yardfall-export", "version": 1}')
        line = {
            "archived": False,
            "saved_at": "2026-01-02T03:04:05+00:00",
            "saved_by": "Ann",
            "name": "Elm St 4",
            "sums": "1",
            "verdict": None,
            "request": {"notes": "x" * 3000},
            "answer": None,
            "problems": [],
            "form": None,
        }
        lines = [json.dumps(line | {"job": f"{number:032x}"}) for number in range(count)]
        made.writestr("jobs.jsonl", "\n".join(lines) + "\n")
        for name in ("rasters.jsonl", "site_plans.jsonl", "grade_checks.jsonl"):
            made.writestr(name, "")
    return out.getvalue()


def kept(server, key: str) -> int:
    return json.loads(server.call("GET", "/jobs", key=key)[1])["page"]["total"]


def wait_until_half_in(data: Path, least: int) -> None:
    """Return when so many jobs lie in the database that are nobody's yet."""
    until = time.monotonic() + 60
    with closing(sqlite3.connect(data / "yardfall.sqlite", timeout=10)) as looking:
        while time.monotonic() < until:
            held = "SELECT count(*) FROM jobs WHERE owner LIKE 'import-%'"
            if looking.execute(held).fetchone()[0] >= least:
                return
    pytest.fail("the import was over before it could be killed")


@pytest.mark.parametrize("least", [1, pytest.param(JOBS // 2, marks=pytest.mark.long)])
def test_none_of_it_is_there_by_halves(least: int, tmp_path: Path) -> None:
    (key,) = make_keys(tmp_path, "Ann")
    sent = PART + bundle(JOBS) + b"\r\n--x--\r\n"
    answers = []
    with served(tmp_path) as server:

        def bring() -> None:
            with suppress(OSError, http.client.HTTPException):
                answers.append(server.call("POST", "/imports", sent, key, **KIND)[0])

        thread = threading.Thread(target=bring)
        thread.start()
        wait_until_half_in(server.data, least)
        server.process.kill()
        thread.join()
    assert not answers, "killed too late: tested nothing"
    with served(tmp_path) as server:
        assert kept(server, key) == 0
        assert server.call("POST", "/imports", sent, key, **KIND)[0] == 201
        assert kept(server, key) == JOBS


def test_what_a_killed_one_left_is_forgotten(app, monkeypatch) -> None:
    """The process ends in the last step, before anything was handed over."""
    monkeypatch.setattr("yardfall.store.imports.require_room", lambda *_: 1 / 0)
    monkeypatch.setattr("yardfall.store.imports._forget", lambda *_: None)
    client = app.test_client()
    sent = {"file": (io.BytesIO(bundle(3)), "a.zip")}
    assert client.post("/api/v1/imports", data=sent).status_code == 500
    monkeypatch.undo()
    assert client.get("/api/v1/jobs").json["page"]["total"] == 0
    engine, folder = app.extensions["engine"], app.extensions["data_dir"]
    assert forget_abandoned(engine, folder) == 0, "for an hour it may be under way elsewhere"
    assert forget_abandoned(engine, folder, still_s=-1) == 1
    assert forget_abandoned(engine, folder, still_s=-1) == 0


def test_over_the_share_nothing_is_left(tmp_path: Path) -> None:
    """What is kept and what comes in count together, though they are brought together last."""
    from yardfall.web.http.watch.limits import Limits

    app = create_app(Settings(tmp_path / "data", limits=Limits(kept_mib=1)))
    _, secret = app.extensions["keys"].make("Ann")
    headers = {"Authorization": f"Bearer {secret}"}

    def bring() -> int:
        sent = {"file": (io.BytesIO(bundle(200)), "a.zip")}
        return app.test_client().post("/api/v1/imports", data=sent, headers=headers).status_code

    assert [bring(), bring()] == [201, 413]
    listed = app.test_client().get("/api/v1/jobs", headers=headers)
    assert listed.json["page"]["total"] == 200
    assert forget_abandoned(app.extensions["engine"], tmp_path / "data", still_s=-1) == 0
    app.extensions["engine"].dispose()
