"""What the tests of the papers share: requests of several kinds, and each paper of a request."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from flask.testing import FlaskClient
from plot import box, feature, on_plan, plot_file
from rasterio.io import MemoryFile
from rasterio.transform import from_origin
from werkzeug.test import TestResponse

sys.path.insert(0, str(Path(__file__).parent))  # so that the tests can import what is in it

Take = Callable[..., TestResponse]


@pytest.fixture
def take(client: FlaskClient) -> Take:
    """One paper of a request, which is to say and show some more; it must be made."""

    def call(name: str, request: dict, **more: object) -> TestResponse:
        body = request | {"paper": request.get("paper", {}) | more}
        answer = client.post(f"/api/v1/papers/{name}", json=body)
        assert answer.status_code == 200, answer.get_data(as_text=True)
        return answer

    return call


@pytest.fixture
def planned(client: FlaskClient) -> Callable[[dict], dict[str, Any]]:
    """The answer to a request, to hold its papers against."""

    def call(request: dict) -> dict[str, Any]:
        answer = client.post("/api/v1/plan", json=request)
        assert answer.status_code == 200, answer.get_data(as_text=True)
        return answer.json

    return call


@pytest.fixture
def drawn_request(client: FlaskClient) -> dict:
    """A bent line over a raster, ft and in, with a crossing, an inflow and a branch on spots."""
    down, across = np.mgrid[0:80, 0:100]
    z = (300 - 0.02 * (down + across)).astype(np.float32)
    with MemoryFile() as memory:
        with memory.open(
            driver="GTiff",
            width=100,
            height=80,
            count=1,
            dtype="float32",
            crs="EPSG:26915",
            transform=from_origin(511995.2, 4705040.7, 0.5, 0.5),
        ) as out:
            out.write(z, 1)
        content = bytes(memory.read())
    sent = client.post("/api/v1/rasters", data={"file": (io.BytesIO(content), "yard.tif")})
    ground = {"kind": "raster", "raster": sent.json["id"], "vertical_unit": "m"}
    crs = "EPSG:26915"
    join = [512017.0, 4705022.0]
    return {
        "units": "us",
        "route": {
            "line": {
                "type": "LineString",
                "coordinates": [[512006.5, 4705031.0], join, [512031.5, 4705011.0]],
            },
            "crs": crs,
        },
        "ground": ground,
        "pipe": {"code": "pvc-sdr35-4"},
        "start": {"cover": 10},
        "grade": {"min_percent": 1},
        "outlet": {"kind": "daylight", "depth": {"min": 0, "max": 60}},
        "limits": {"max_depth": 90, "outlet_taper": 20},
        "stations": {"every": 10},
        "accuracy": {"sigma": 0.1},
        "crossings": [{"at": 30, "what": "gas line", "top_depth": 60, "size": 1, "clearance": 6}],
        "inflows": [{"kind": "pump", "name": "sump", "at": 5, "rate": 10}],
        "branches": [
            {
                "name": "East wing",
                "joins_at": 45.36,
                "route": {
                    "line": {
                        "type": "LineString",
                        "coordinates": [[512026.0, 4705034.0], [512017.0, 4705022.0]],
                    },
                    "crs": crs,
                },
                "ground": ground,
                "pipe": {"code": "pvc-sdr35-4"},
                "start": {"cover": 8},
            }
        ],
    }


@pytest.fixture
def plot(client: FlaskClient) -> str:
    """The id of a kept site plan of 900 by 600 pixels, with a blue square about (450, 150)."""
    sent = client.post("/api/v1/site-plans", data={"file": (plot_file(), "plot.png")})
    assert sent.status_code == 201
    return sent.json["id"]


@pytest.fixture
def plot_request(plot: str) -> dict:
    """A straight line of 53.85 ft drawn on the plot, and an area about its blue square."""
    line = [on_plan(200, 500), on_plan(700, 300)]
    points = [{"at": 0, "elevation": 100}, {"at": 60, "elevation": 98}]
    return {
        "units": "us",
        "route": {"line": {"type": "LineString", "coordinates": line}, "crs": "local"},
        "ground": {"kind": "elevations", "points": points},
        "pipe": {"code": "pvc-sdr35-4"},
        "start": {"cover": 10},
        "outlet": {"kind": "daylight"},
        "limits": {"max_depth": 60},
        "stations": {"every": 10},
        "paper": {
            "within": feature("Polygon", box(20, 20, 880, 580)),
            "avoid": feature("Polygon", box(390, 90, 510, 210), name="Oak", clearance=2),
            "beneath": {
                "site_plan": plot,
                "scale": {"points": [[0, 0], [300, 400]], "distance": 50},
                "turn": 25,
            },
        },
    }
