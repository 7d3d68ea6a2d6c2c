"""A disk that is really full: a small file system of the test's own, filled to the last block."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import paper
import pytest
from small_disk import fill, mounted

from yardfall.app import Settings, create_app

SIZE_MIB = 8
LARGE = {"name": "Elm St 4", "draft": True, "request": {"notes": "x" * 200_000}}


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of SIZE_MIB in memory."""
    with mounted(tmp_path / "disk", SIZE_MIB) as place:
        yield place


def test_a_full_disk_keeps_nothing_by_halves_and_recovers(disk: Path, tiff) -> None:
    app = create_app(Settings(disk / "data"))
    client = app.test_client()
    job = client.post("/api/v1/jobs", json=LARGE).json
    path = f"/api/v1/jobs/{job['id']}"
    z = np.random.default_rng(1).normal(100, 1, (300, 300)).astype(np.float32)

    def attempts():
        return {
            "raster": client.post("/api/v1/rasters", data={"file": (io.BytesIO(tiff(z)), "a.tif")}),
            "site plan": client.post(
                "/api/v1/site-plans", data={"file": (io.BytesIO(paper.picture()), "a.png")}
            ),
            "save": client.put(path, json=LARGE, headers={"If-Match": '"1"'}),
            "job": client.post("/api/v1/jobs", json=LARGE),
        }

    ballast = fill(disk)
    before = sorted(p for p in disk.rglob("*") if p.suffix not in (".sqlite-wal", ".sqlite-shm"))
    for what, answer in attempts().items():
        assert answer.status_code in (503, 507), (what, answer.get_data(as_text=True))
        assert answer.mimetype == "application/problem+json"
        assert "Nothing was changed" in answer.json["detail"], what
    after = sorted(p for p in disk.rglob("*") if p.suffix not in (".sqlite-wal", ".sqlite-shm"))
    assert after == before, "something was left behind"
    assert client.get(path).json == job
    for kind in ("rasters", "site-plans"):
        assert client.get(f"/api/v1/{kind}").json["page"]["total"] == 0
    health = client.get("/api/v1/health")
    assert (health.status_code, health.json["depends_on"]["disk"]) == (503, "failing")

    ballast.unlink()
    assert {what: answer.status_code for what, answer in attempts().items()} == {
        "raster": 201,
        "site plan": 201,
        "save": 200,
        "job": 201,
    }
    assert client.get(path).json["revision"] == 2
    app.extensions["engine"].dispose()
