"""Plug pulled, disk full, database gone: nothing acknowledged is lost, and it recovers."""

from __future__ import annotations

import errno
import io
import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
import sqlalchemy as sa

from yardfall.app import Settings, create_app
from yardfall.core.errors import StorageFullError, UnavailableError
from yardfall.store import database
from yardfall.store.records.jobs import JobStore
from yardfall.store.records.revision import Content
from yardfall.store.uploads.rasters import RasterStore

BENCH = Path(__file__).resolve().parents[1] / "bench"
DRAFT = {"name": "Elm St 4", "request": {}, "draft": True}
CONTENT = Content("a", {"text": "x" * 50_000}, None, "1")


@pytest.fixture
def app(settings):
    app = create_app(settings)
    yield app
    app.extensions["engine"].dispose()


@pytest.fixture
def client(app):
    return app.test_client()


def test_killed_in_the_middle_nothing_acknowledged_is_lost(database_url) -> None:
    """A short run of the bench script."""
    command = [sys.executable, str(BENCH / "kill.py"), "--rounds", "6"]
    command += ["--database-url", database_url] if database_url else []
    done = subprocess.run(command, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stdout + done.stderr
    assert " 0 lost or half-kept" in done.stdout
    assert ", 0 saves" not in done.stdout, "killed before anything was saved: tested nothing"


def test_a_database_that_goes_and_comes_back(postgres, tmp_path) -> None:
    app = create_app(Settings(tmp_path / "data", database_url=postgres.make_database("gone")))
    client = app.test_client()
    job = client.post("/api/v1/jobs", json=DRAFT).json
    postgres.stop()
    try:
        for answer in (
            client.get(f"/api/v1/jobs/{job['id']}"),
            client.post("/api/v1/jobs", json=DRAFT),
            client.get("/api/v1/rasters"),
        ):
            assert (answer.status_code, answer.mimetype) == (503, "application/problem+json")
            assert answer.headers["Retry-After"] == "5"
            assert "5432" not in answer.get_data(as_text=True)
        health = client.get("/api/v1/health")
        assert health.status_code == 503
        assert health.json["depends_on"] == {
            "database": "failing",
            "tables": "ok",
            "files": "ok",
            "disk": "ok",
            "sums": "ok",
        }
        assert "does not answer" in health.json["broken"][0]
    finally:
        postgres.start()
    assert client.get(f"/api/v1/jobs/{job['id']}").json == job
    assert client.post("/api/v1/jobs", json=DRAFT).status_code == 201
    assert client.get("/api/v1/health").status_code == 200
    app.extensions["engine"].dispose()


def test_a_sqlite_database_held_by_another(tmp_path, monkeypatch) -> None:
    monkeypatch.setattr(database, "BUSY_MS", 50)
    app = create_app(Settings(tmp_path / "data"))
    client = app.test_client()
    other = sqlite3.connect(tmp_path / "data" / "yardfall.sqlite", isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    answer = client.post("/api/v1/jobs", json=DRAFT)
    assert (answer.status_code, answer.headers["Retry-After"]) == (503, "5")
    assert "Too many are saving" in answer.json["detail"]
    assert client.get("/api/v1/jobs").status_code == 200, "reading goes on"
    other.execute("ROLLBACK")
    other.close()
    assert client.post("/api/v1/jobs", json=DRAFT).status_code == 201
    app.extensions["engine"].dispose()


def test_a_database_whose_disk_is_full(settings, opened) -> None:
    """SQLite's own limit on pages, or the error by which PostgreSQL tells it."""
    engine = opened()
    store = JobStore(engine, "ann")
    job = store.create(CONTENT)
    if settings.database_url is None:
        engine.dispose()

        @sa.event.listens_for(engine, "connect")
        def _bound(connection, _record) -> None:
            (pages,) = connection.execute("PRAGMA page_count").fetchone()
            connection.execute(f"PRAGMA max_page_count={pages + full}")

        full = 2
        with pytest.raises(StorageFullError, match="disk is full"):
            store.save(job.id, ["1"], CONTENT)
        full = 10_000
        engine.dispose()
    else:
        full_disk = "DO $$ BEGIN RAISE EXCEPTION 'no room' USING ERRCODE = '53100'; END $$"
        with pytest.raises(StorageFullError, match="disk is full"), database.writing(engine) as c:
            c.execute(sa.text(full_disk))
    assert store.get(job.id).tag == "1"
    assert store.save(job.id, ["1"], CONTENT).tag == "2"


@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EDQUOT])
def test_an_upload_onto_a_full_disk_leaves_nothing(client, settings, monkeypatch, code) -> None:
    def fail(_file: int) -> None:
        raise OSError(code, "No space left on device", "/secret/path")

    def send():
        return client.post("/api/v1/rasters", data={"file": (io.BytesIO(b"II*\0"), "a.tif")})

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", fail)
        answer = send()
    assert (answer.status_code, answer.mimetype) == (507, "application/problem+json")
    assert "secret" not in answer.get_data(as_text=True)
    assert list((settings.data_dir / "rasters").iterdir()) == []
    assert send().status_code == 422


def test_a_fault_of_a_statement_is_a_bug_and_not_an_outage(engine) -> None:
    with pytest.raises(sa.exc.IntegrityError), database.writing(engine) as connection:
        connection.execute(sa.text("INSERT INTO job_files VALUES ('a', 'b')"))


def test_a_damaged_sqlite_file_is_told(tmp_path) -> None:
    (tmp_path / "yardfall.sqlite").write_bytes(b"not a database" * 1000)
    with pytest.raises(UnavailableError):
        database.open_database(tmp_path)


def test_what_a_killed_upload_left_is_swept(engine, settings) -> None:
    store = RasterStore(engine, settings.data_dir, "ann")
    with store.incoming(io.BytesIO(b"cells")) as part:
        kept = store.keep(part, "yard", {})
    kept.relief_path().write_bytes(b"picture")
    folder = kept.path.parent
    for name in ("tmpabc.part", "0" * 32 + ".tif", "0" * 32 + ".png"):
        (folder / name).write_bytes(b"half")
    assert store.sweep() == [], "somebody may still be writing them"
    for path in folder.iterdir():
        os.utime(path, (0, 0))
    assert len(store.sweep()) == 3
    assert {path.name for path in folder.iterdir()} == {f"{kept.id}.tif", f"{kept.id}.png"}
