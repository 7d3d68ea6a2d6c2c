"""A clock set back by years: what was kept stays in its order, and nothing stops answering."""

from __future__ import annotations

import os
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

from yardfall.app import Settings, create_app
from yardfall.store import imports
from yardfall.store.records import jobs

DRAFT = {"name": "Elm St 4", "request": {}, "draft": True}
EARLY = datetime(2020, 1, 1, tzinfo=UTC)


@pytest.fixture
def app(tmp_path: Path):
    app = create_app(Settings(tmp_path / "data"))
    yield app
    app.extensions["engine"].dispose()


def test_saves_keep_their_order(app, monkeypatch) -> None:
    client = app.test_client()
    job = client.post("/api/v1/jobs", json=DRAFT).json
    path = f"/api/v1/jobs/{job['id']}"
    monkeypatch.setattr(jobs, "now", lambda: EARLY)
    for number in (1, 2, 3):
        sent = DRAFT | {"name": f"Elm St {number}"}
        saved = client.put(path, json=sent, headers={"If-Match": f'"{number}"'})
        assert saved.status_code == 200
        assert saved.json["revision"] == number + 1
    listed = client.get(f"{path}/revisions").json["revisions"]
    assert [one["revision"] for one in listed] == [4, 3, 2, 1]
    times = [one["saved_at"] for one in listed]
    assert times == sorted(times, reverse=True), "no revision is older than the one before it"
    assert client.get(path).json["name"] == "Elm St 3"


def test_files_and_imports_from_the_future_are_left_alone(app, monkeypatch) -> None:
    """What seems to be written later than now is being written by somebody, for all one knows."""
    folder = app.extensions["data_dir"]
    part = folder / "rasters" / "coming.part"
    part.write_bytes(b"x")
    os.utime(part, (time.time() + 1e8,) * 2)
    monkeypatch.setattr(imports.time, "time", lambda: 1.5e9)
    assert app.extensions["rasters"].sweep() == []
    assert part.exists()
    assert imports.forget_abandoned(app.extensions["engine"], folder) == 0


def test_connections_and_keys_go_by_a_clock_that_never_goes_back() -> None:
    """The very modules that judge how long something takes ask for no time of day."""
    root = Path(imports.__file__).parents[1]
    for name in (
        "serving/connections.py",
        "serving/server.py",
        "web/http/watch/limits.py",
        "store/keys.py",
    ):
        assert "time.time()" not in (root / name).read_text("utf-8"), name
