"""Reaches that were once refused, or offered a route that its own plan refused."""

from __future__ import annotations

import random
from typing import Any

import numpy as np
import pytest
from rasters import raster

Body = dict[str, Any]

# Sixteen heights 2 m apart: the search's own route had two points on one another.
HEIGHTS = (
    (10.11, 9.96, 10.17, 9.96),
    (9.94, 10.03, 9.98, 10.0),
    (9.98, 9.95, 9.91, 9.92),
    (9.85, 9.81, 9.83, 10.02),
)


@pytest.mark.parametrize("routes", [1, 2, 3])
def test_a_reach_never_refuses_a_route_of_its_own(service: Any, routes: int) -> None:
    spots = [[2.0 * i, 2.0 * j, z] for i, row in enumerate(HEIGHTS) for j, z in enumerate(row)]
    body = {
        "units": "si",
        "crs": "local",
        "ground": {"kind": "spots", "points": spots},
        "start": {"point": [3.0, 3.0], "cover": 50},
        "pipe": {"code": "pvc-sdr35-4"},
        "grade": {"min_percent": 1},
        "limits": {"min_cover": 50, "outlet_taper": 3},
        "outlet": {"kind": "daylight", "depth": {"min": 0, "max": 150}},
        "draws": 0,
        "least_run": 1,
        "routes": routes,
    }
    answered = service.client.post("/api/v1/reach", json=body)
    assert answered.status_code == 200, answered.json["detail"]


def test_a_hole_in_a_lot_is_gone_round(service: Any) -> None:
    """Lots of 40 m by 40 m with holes as trees and a house leave them in a ground from the air."""
    rng = np.random.default_rng(6)
    refused = []
    for case in range(10):
        rows, columns = np.mgrid[0:40, 0:40]
        levels = 100 - 0.04 * columns + 0.01 * rows + rng.normal(0, 0.03, (40, 40))
        for _ in range(6):
            row, column, size = rng.integers(0, 34), rng.integers(8, 34), rng.integers(3, 8)
            levels[row : row + size, column : column + size] = -9999
        body = {
            "units": "si",
            "crs": "EPSG:26915",
            "ground": {
                "kind": "raster",
                "raster": raster(service, levels, 1),
                "vertical_unit": "m",
            },
            "start": {"point": [500004.2, 4999980.3], "cover": 200},
            "pipe": {"code": "pvc-sdr35-4"},
            "limits": {"min_cover": 100},
            "outlet": {"kind": "daylight", "depth": {"min": 0, "max": 250}},
            "radius": 45,
            "draws": 0,
        }
        answered = service.client.post("/api/v1/reach", json=body)
        if answered.status_code != 200:
            refused.append((case, answered.json["detail"]))
    assert not refused, refused


def test_the_map_and_its_routes_plans_agree(service: Any) -> None:
    """Rough ground of spot heights: a route that is offered under a yes is a yes by its plan."""
    rng = random.Random(4)
    unlike = []
    for case in range(30):
        spots = [
            [3.0 * i, 3.0 * j, round(10 - 0.09 * i + rng.gauss(0, 0.05), 3)]
            for i in range(7)
            for j in range(7)
        ]
        body = {
            "units": "si",
            "crs": "local",
            "ground": {"kind": "spots", "points": spots},
            "start": {"point": [1.0, 9.0], "cover": 200},
            "pipe": {"code": "pvc-sdr35-4"},
            "limits": {"min_cover": 100},
            "outlet": {"kind": "daylight", "depth": {"min": 0, "max": 200}},
            "accuracy": {"sigma": 0, "common": 0},
            "draws": 0,
        }
        answered = service.client.post("/api/v1/reach", json=body)
        if answered.status_code != 200:
            unlike.append((case, answered.json["detail"]))
        elif answered.json["summary"]["verdict"] == "yes":
            verdicts = [r["answer"]["verdict"] for r in answered.json["routes"]]
            if set(verdicts) != {"yes"}:
                unlike.append((case, verdicts))
    assert not unlike, unlike


@pytest.mark.parametrize("cell", [1, 3.2, 5, 10])
def test_a_cell_wider_than_the_run_out_hides_no_outlet(service: Any, cell: float) -> None:
    """A plane of 3 %, 200 mm of cover at the start, 150 kept, an outlet to 240 mm: a straight 25 m
    plan has some 44 mm to spare, whatever the cells that tell the ground."""
    count = int(80 / cell)
    levels = 100 - 0.03 * np.broadcast_to((np.arange(count) + 0.5) * cell, (count, count))
    ground = {"kind": "raster", "raster": raster(service, levels, cell), "vertical_unit": "m"}
    common: Body = {
        "units": "si",
        "ground": ground,
        "pipe": {"code": "corrugated-single-4"},
        "limits": {"min_cover": 150},
        "outlet": {"kind": "daylight", "depth": {"min": 0, "max": 240}},
    }
    line = {"type": "LineString", "coordinates": [[500020, 4999960], [500045, 4999960]]}
    planned = service(
        common
        | {
            "route": {"line": line, "crs": "EPSG:26915"},
            "start": {"cover": 200},
            "accuracy": {"sigma": 0, "common": 0},
        }
    )
    assert planned["answer"]["verdict"] == "yes"
    start = {"point": [500020, 4999960], "cover": 200}
    body = common | {"crs": "EPSG:26915", "start": start, "radius": 40, "draws": 0}
    answered = service.client.post("/api/v1/reach", json=body).json
    assert answered["summary"]["verdict"] == "yes", answered["summary"]["sentence"]
