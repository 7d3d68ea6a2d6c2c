"""The largest raster that one search takes, and ground so rough that its map is all corners."""

from __future__ import annotations

import io
import os

import numpy as np
import pytest
from rasterio.io import MemoryFile
from rasterio.transform import from_origin
from scipy.ndimage import gaussian_filter

from yardfall import workflow, yard_chance
from yardfall.geo import lot
from yardfall.geo.raster import inspect_raster
from yardfall.store.owners import LOCAL

WEST, NORTH, CELL_M = 5e5, 47e5, 0.5


@pytest.fixture
def searched(app, client):
    """The answer about a square raster of so many cells a side: hills, or rough as gravel."""

    def ask(side: int, roughness_m: float, **more):
        down, across = np.mgrid[0:side, 0:side]
        noise = np.random.default_rng(1).standard_normal((side, side))
        hills = gaussian_filter(noise, 6) * 8
        z = (300 - 0.004 * (down + across) + hills + roughness_m * noise).astype(np.float32)
        profile = {"driver": "GTiff", "width": side, "height": side, "count": 1, "dtype": "float32"}
        profile |= {"crs": "EPSG:26915", "transform": from_origin(WEST, NORTH, CELL_M, CELL_M)}
        with MemoryFile() as memory:
            with memory.open(**profile) as out:
                out.write(z, 1)
            store = app.extensions["rasters"].of(LOCAL)
            kept = workflow.add_raster(io.BytesIO(memory.read()), "a", store, inspect_raster).id
        low, far = 1.0, side * CELL_M - 1
        square = [[low, low], [far, low], [far, far], [low, far], [low, low]]
        ring = [[WEST + x, NORTH - y] for x, y in square]
        body = {
            "units": "si",
            "crs": "EPSG:26915",
            "ground": {"kind": "raster", "raster": kept, "vertical_unit": "m"},
            "start": {"point": [WEST + far / 2, NORTH - far / 2], "cover": 200},
            "pipe": {"code": "pvc-sdr35-4"},
            "limits": {"max_depth": 30_000},
            "outlet": {"kind": "daylight"},
            "within": {"type": "Polygon", "coordinates": [ring]},
            "routes": 0,
        }
        return client.post("/api/v1/reach", json=body | more)

    return ask


@pytest.mark.long
def test_four_million_cells(searched, cost) -> None:
    """Once 1.8 GB: the draws of all threads at once, and whole transforms kept."""
    with cost() as spent:
        answer = searched(1990, 0.0)
    assert answer.status_code in (200, 413), answer.json
    assert spent.cpu_s < 80
    assert spent.grown_mib < 1600, "160 of it to make the raster"
    assert len(answer.data) < 25e6


def test_draws_in_work_at_once_are_bounded_by_their_cells(searched, monkeypatch) -> None:
    threads = []
    pool = yard_chance.ThreadPoolExecutor
    monkeypatch.setattr(os, "cpu_count", lambda: 64)
    monkeypatch.setattr(yard_chance, "DRAWN_AT_ONCE", 3 * 60 * 60)
    monkeypatch.setattr(
        yard_chance, "ThreadPoolExecutor", lambda most: threads.append(most) or pool(most)
    )
    assert searched(60, 0.0).status_code == 200
    assert len(threads) == 1
    assert 1 <= threads[0] <= 3


def test_a_map_of_too_many_corners_is_refused_before_it_is_drawn(searched, monkeypatch) -> None:
    monkeypatch.setattr(lot, "MOST_CORNERS", 2_000)
    answer = searched(120, 1.0, bands=[50, 100, 200, 400, 800], draws=0)
    assert answer.status_code == 413
    assert "more than 2,000 corners" in answer.json["detail"]
    assert searched(60, 0.0, draws=0).status_code == 200


def test_corners_are_those_of_the_outlines() -> None:
    plain = np.zeros((6, 7), dtype=np.uint8)
    plain[2:4, 2:5] = 1
    assert lot._corners(plain) == 4
    plain[4, 2] = 1  # an L
    assert lot._corners(plain) == 6
    assert lot._corners(np.ones((3, 3), dtype=np.uint8)) == 4
    board = np.indices((4, 4)).sum(axis=0).astype(np.uint8) % 2 + 1
    assert lot._corners(board) == 25, "each point of a chequered board"
