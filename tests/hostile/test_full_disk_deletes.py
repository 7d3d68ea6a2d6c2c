"""On a disk without one free block things can still be deleted, and that makes room."""

from __future__ import annotations

import io
import shutil
from pathlib import Path

import numpy as np
import pytest
from rasterio.io import MemoryFile
from rasterio.transform import from_origin
from small_disk import fill, mounted

from yardfall.app import Settings, create_app

LARGE = {"name": "Elm St 4", "draft": True, "request": {"notes": "x" * 200_000}}


@pytest.fixture
def disk(tmp_path: Path):
    with mounted(tmp_path / "disk", 24) as place:
        yield place


def raster() -> bytes:
    z = np.random.default_rng(1).normal(100, 1, (300, 300)).astype(np.float32)
    profile = {"driver": "GTiff", "width": 300, "height": 300, "count": 1, "dtype": "float32"}
    profile |= {"crs": "EPSG:26915", "transform": from_origin(5e5, 47e5, 0.5, 0.5)}
    with MemoryFile() as memory:
        with memory.open(**profile) as out:
            out.write(z, 1)
        return bytes(memory.read())


def test_jobs_and_files_can_be_deleted(disk: Path) -> None:
    app = create_app(Settings(disk / "data"))
    client = app.test_client()
    jobs = [client.post("/api/v1/jobs", json=LARGE).json["id"] for _ in range(6)]
    sent = {"file": (io.BytesIO(raster()), "a.tif")}
    kept = client.post("/api/v1/rasters", data=sent).json["id"]
    with app.extensions["engine"].connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    ballast = fill(disk)
    assert client.post("/api/v1/jobs", json=LARGE).status_code == 507, "the disk is full"
    for job in jobs:
        answer = client.delete(f"/api/v1/jobs/{job}", headers={"If-Match": "*"})
        assert answer.status_code == 204, answer.get_data(as_text=True)
        assert client.get(f"/api/v1/jobs/{job}").status_code == 404
    before = shutil.disk_usage(disk).free
    assert client.delete(f"/api/v1/rasters/{kept}").status_code == 204
    assert shutil.disk_usage(disk).free > before
    ballast.unlink()
    assert client.post("/api/v1/jobs", json=LARGE).status_code == 201
    app.extensions["engine"].dispose()


def test_the_room_is_kept_back_again(disk: Path) -> None:
    app = create_app(Settings(disk / "data"))
    client = app.test_client()
    reserve = disk / "data" / "reserve"
    size = reserve.stat().st_size
    job = client.post("/api/v1/jobs", json=LARGE).json["id"]
    ballast = fill(disk)
    assert client.delete(f"/api/v1/jobs/{job}", headers={"If-Match": "*"}).status_code == 204
    ballast.unlink()
    app.extensions["engine"].dispose()
    create_app(Settings(disk / "data")).extensions["engine"].dispose()
    assert reserve.stat().st_size == size
