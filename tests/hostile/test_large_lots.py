"""The largest raster that one search takes, and ground so rough that its map is all corners."""

from __future__ import annotations

import io
import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from flask import Flask
from rasterio.io import MemoryFile
from rasterio.transform import from_origin
from scipy.ndimage import gaussian_filter

from yardfall.app import Settings, create_app
from yardfall.geo import search_grid
from yardfall.geo.raster import inspect_raster
from yardfall.store.owners import LOCAL
from yardfall.use_cases import uploads
from yardfall.use_cases.reach import chance as reach_chance
from yardfall.use_cases.reach import reach
from yardfall.web.http.watch.limits import Limits

WEST, NORTH, CELL_M = 5e5, 47e5, 0.5
LARGEST_SIDE = 1414
"""The whole raster is searched: 1414² cells are 1,999,396."""


@pytest.fixture
def asking() -> Callable[..., dict[str, Any]]:
    """A body about a kept square raster of so many cells a side: hills, or rough as gravel."""

    def make(app: Flask, side: int, roughness_m: float = 0.0) -> dict[str, Any]:
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
            kept = uploads.add_raster(io.BytesIO(memory.read()), "a", store, inspect_raster).id
        low, far = 1.0, side * CELL_M - 1
        square = [[low, low], [far, low], [far, far], [low, far], [low, low]]
        ring = [[WEST + x, NORTH - y] for x, y in square]
        return {
            "units": "si",
            "crs": "EPSG:26915",
            "ground": {"kind": "raster", "raster": kept, "vertical_unit": "m"},
            "start": {"point": [WEST + far / 2, NORTH - far / 2], "cover": 200},
            "pipe": {"code": "pvc-sdr35-4"},
            "outlet": {"kind": "daylight"},
            "within": {"type": "Polygon", "coordinates": [ring]},
        }

    return make


@pytest.fixture
def searched(app, client, asking):
    """The answer about such a raster, the pipe as deep as it likes, no routes."""

    def ask(side: int, roughness_m: float, **more):
        body = asking(app, side, roughness_m)
        body |= {"limits": {"max_depth": 30_000}, "routes": 0}
        return client.post("/api/v1/reach", json=body | more)

    return ask


@pytest.mark.long
def test_the_largest_lot_is_answered_well_within_its_time(asking, cost, tmp_path) -> None:
    """In default settings: 10 s and 600 MiB; twice as large, once 45 s and 1.3 GiB. Time is the
    processor's: whatever else runs here must not end the sum."""
    app = create_app(Settings(tmp_path / "slow", limits=Limits(sum_s=600)))
    body, client = asking(app, LARGEST_SIDE), app.test_client()
    with cost() as spent:
        answer = client.post("/api/v1/reach", json=body)
    assert answer.status_code == 200, answer.json
    assert answer.json["routes"]
    assert answer.json["chance"]["features"]
    assert spent.cpu_s < Limits().sum_s
    assert spent.grown_mib < 700
    assert len(answer.data) < 25e6


def test_a_larger_lot_is_refused_before_it_is_searched(app, client, asking, cost) -> None:
    body = asking(app, LARGEST_SIDE + 1)
    with cost() as spent:
        answer = client.post("/api/v1/reach", json=body)
    assert answer.status_code == 413
    said = answer.json["detail"]
    assert f"{(LARGEST_SIDE + 1) ** 2:,} cells" in said
    assert "at most 2,000,000" in said
    assert "smaller lot line or radius" in said
    assert "cells are 1.1 times as wide" in said
    assert spent.cpu_s < 1
    assert spent.grown_mib < 50


@pytest.mark.parametrize("sides", [(1415, 1415), (20_000, 101), (40_000, 40_000), (1, 2_000_001)])
def test_cells_as_wide_as_the_refusal_says_would_do(sides) -> None:
    """The lot itself, without the rows and columns read beside it, laid out in the wider cells."""
    times = search_grid.coarser(*sides)
    fit = [math.ceil((side - 3) / times) + 4 for side in sides]
    assert times > 1
    assert math.prod(fit) <= search_grid.MAX_LOT_CELLS
    assert (
        math.prod(sides) / (times - 0.1) ** 2 > 0.9 * search_grid.MAX_LOT_CELLS or min(sides) < 10
    )


def test_as_many_places_as_a_large_lot_takes(searched, monkeypatch) -> None:
    """A line to each is looked for over the whole lot: 100 places on the largest took 25 s."""
    monkeypatch.setattr(reach, "MOST_PLACE_CELLS", 5 * 60 * 60)
    far = 60 * CELL_M
    places = [[WEST + 2 + k, NORTH - far + 3] for k in range(5)]
    targets = {"type": "MultiPoint", "coordinates": places[:2]}
    assert searched(60, 0.0, draws=0, ask=places[2:], targets=targets).status_code == 200
    answer = searched(60, 0.0, draws=0, ask=places[1:], targets=targets)
    assert answer.status_code == 413
    said = answer.json["detail"]
    assert "at most 5 places" in said
    assert "these are 6" in said
    assert "in several requests" in said


def test_draws_in_work_at_once_are_bounded_by_their_cells(searched, monkeypatch) -> None:
    at_once = []
    each = reach_chance.threads.each
    monkeypatch.setattr(reach_chance.deadline, "cores", lambda: 64)
    monkeypatch.setattr(reach_chance, "DRAWN_AT_ONCE", 3 * 60 * 60)
    monkeypatch.setattr(
        reach_chance.threads,
        "each",
        lambda do, items, most: at_once.append(most) or each(do, items, most),
    )
    assert searched(60, 0.0).status_code == 200
    assert 1 <= at_once[-1] <= 3  # the searches in the draws; the draws themselves come before


def test_a_map_of_too_many_corners_is_refused_before_it_is_drawn(searched, monkeypatch) -> None:
    monkeypatch.setattr(search_grid, "MOST_CORNERS", 2_000)
    answer = searched(120, 1.0, bands=[50, 100, 200, 400, 800], draws=0)
    assert answer.status_code == 413
    assert "more than 2,000 corners" in answer.json["detail"]
    assert searched(60, 0.0, draws=0).status_code == 200


def test_corners_are_those_of_the_outlines() -> None:
    plain = np.zeros((6, 7), dtype=np.uint8)
    plain[2:4, 2:5] = 1
    assert search_grid._corners(plain) == 4
    plain[4, 2] = 1  # an L
    assert search_grid._corners(plain) == 6
    assert search_grid._corners(np.ones((3, 3), dtype=np.uint8)) == 4
    board = np.indices((4, 4)).sum(axis=0).astype(np.uint8) % 2 + 1
    assert search_grid._corners(board) == 25, "each point of a chequered board"
