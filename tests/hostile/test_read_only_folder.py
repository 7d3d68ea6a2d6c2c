"""A data folder that cannot be written to: told in a sentence, at the start and later."""

from __future__ import annotations

import socket
import subprocess
import sys
from pathlib import Path

import pytest
from small_disk import make_read_only, make_writable, mounted

from yardfall.app import Settings, create_app

DRAFT = {"name": "Elm St 4", "request": {}, "draft": True}


@pytest.fixture
def disk(tmp_path: Path):
    with mounted(tmp_path / "disk", 24) as place:
        yield place


def serve(folder: Path) -> tuple[int, str]:
    """Exit code and words of a start that must fail."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "yardfall", "serve", "--port", str(port)]
    command += ["--data", str(folder)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60)
    return done.returncode, done.stdout + done.stderr


def test_while_it_runs(disk: Path) -> None:
    app = create_app(Settings(disk / "data"))
    client = app.test_client()
    job = client.post("/api/v1/jobs", json=DRAFT).json["id"]
    app.extensions["engine"].dispose()  # nothing is open that was opened to write
    make_read_only(disk)
    assert client.get("/api/v1/health").json["status"] == "failing"
    assert "Read-only" in " ".join(client.get("/api/v1/health").json["broken"])
    for answer in (
        client.post("/api/v1/jobs", json=DRAFT),
        client.delete(f"/api/v1/jobs/{job}", headers={"If-Match": "*"}),
    ):
        assert (answer.status_code, answer.mimetype) == (503, "application/problem+json")
        assert "Nothing was changed" in answer.json["detail"]
    make_writable(disk)
    working = client.get("/api/v1/health").json["depends_on"]
    assert (working["database"], working["files"]) == ("ok", "ok")
    assert client.delete(f"/api/v1/jobs/{job}", headers={"If-Match": "*"}).status_code == 204
    app.extensions["engine"].dispose()


@pytest.mark.parametrize("made_before", [True, False])
def test_at_the_start(made_before: bool, disk: Path) -> None:
    if made_before:
        create_app(Settings(disk / "data")).extensions["engine"].dispose()
    make_read_only(disk)
    code, told = serve(disk / "data")
    assert code == 2
    assert "Traceback" not in told
    assert str(disk / "data") in told
    assert "written" in told
