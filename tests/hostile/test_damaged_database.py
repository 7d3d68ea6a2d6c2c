"""A database file damaged while the service runs: /health says so, and calls do not crash."""

from __future__ import annotations

from pathlib import Path

import pytest

from yardfall.app import Settings, create_app
from yardfall.store import health

LARGE = {"name": "Elm St 4", "draft": True, "request": {"notes": "x" * 200_000}}


@pytest.fixture
def app(tmp_path: Path, monkeypatch):
    monkeypatch.setattr(health, "LOOK_AGAIN_S", 0.0)
    monkeypatch.setattr(health, "LOOK_AGAIN", 0)
    app = create_app(Settings(tmp_path / "data"))
    yield app
    app.extensions["engine"].dispose()


@pytest.mark.parametrize("where", ["middle", "head"])
def test_it_shows_in_health(where: str, app, tmp_path: Path) -> None:
    client = app.test_client()
    for _ in range(5):
        assert client.post("/api/v1/jobs", json=LARGE).status_code == 201
    with app.extensions["engine"].connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    assert client.get("/api/v1/health").status_code == 200
    path = tmp_path / "data" / "yardfall.sqlite"
    size = path.stat().st_size
    with path.open("r+b") as file:
        file.seek(0 if where == "head" else size // 8)
        file.write(b"\xa5" * (size // 2))
    told = client.get("/api/v1/health")
    assert told.status_code == 503
    assert told.json["depends_on"]["database"] == "failing"
    assert "damaged" in told.json["broken"][0]
    for answer in (client.get("/api/v1/jobs"), client.post("/api/v1/jobs", json=LARGE)):
        assert answer.status_code in (200, 201, 503)


def test_a_look_is_not_taken_anew_at_every_call(tmp_path: Path, monkeypatch) -> None:
    app = create_app(Settings(tmp_path / "data"))
    looks = []
    monkeypatch.setattr(health, "_is_whole", lambda path: looks.append(path) is None)
    for _ in range(20):
        assert app.test_client().get("/api/v1/health").status_code == 200
    assert len(looks) == 1
    app.extensions["engine"].dispose()
