"""What a reach is still known to get wrong, as tests that fail today: see `open_mismatches.py`."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from rasters import raster

Body = dict[str, Any]


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
