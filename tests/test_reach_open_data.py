"""Reach on a real raster: outlets and misses on the map against the plan of each one's route.

`dem.tif` is in PyPI's `lidar` 0.8.4 (MIT licence): a 1 m raster of Minnesota, EPSG:26915.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from yardfall.app import open_rasters
from yardfall.core.grading.band import find_pinch
from yardfall.core.reach.request import ReachRequest
from yardfall.core.uncertainty.accuracy import Accuracy
from yardfall.use_cases import uploads
from yardfall.use_cases.reach.reach import find_reach
from yardfall.web.parse.parse_plan import read_plan

STARTS = [(429330.2, 5150800.4), (429455.0, 5150640.7), (429560.3, 5150560.2)]
SAMPLED = 5


@pytest.fixture(scope="module")
def store(open_data, tmp_path_factory):
    kept = open_rasters(tmp_path_factory.mktemp("data"))
    with (open_data / "dem.tif").open("rb") as file:
        return uploads.add_raster(file, "dem", kept), kept


STATED = {"kind": "daylight", "depth": {"min": 0, "max": 116.84}}
USUAL = {"kind": "daylight"}
RIM = 10
"""Cells of a metre: as far as the longest usual ditch, 9 m."""


def request_from(start, raster_id: str, outlet: dict) -> ReachRequest:
    line = {"type": "LineString", "coordinates": [list(start), [start[0] + 1, start[1]]]}
    body = {
        "units": "si",
        "route": {"line": line, "crs": "EPSG:26915"},
        "ground": {"kind": "raster", "raster": raster_id, "vertical_unit": "m"},
        "pipe": {"code": "corrugated-single-4"},
        "start": {"cover": 300},
        "limits": {"min_cover": 200, "max_depth": 1500, "outlet_taper": 3},
        "outlet": outlet,
    }
    plan = replace(read_plan(body).request, accuracy=Accuracy(sigma_m=0.0), explain=False)
    return ReachRequest(plan, start, radius_m=50.0, routes=0, draws=0)


@pytest.mark.parametrize("outlet", [STATED, USUAL], ids=["stated", "usual"])
@pytest.mark.parametrize("start", STARTS)
def test_the_plan_of_each_sampled_cells_route_agrees_with_the_map(store, start, outlet) -> None:
    """Every outlet sampled has a route whose own plan says yes, and which with any changes of
    grade, as the map counts, has no less to spare than the map promised but for a tenth and 2 cm.
    Every miss sampled has a route whose plan says no. Where nobody stated how deep a daylight end
    may lie, the ditch that the ground allows there is the same for map and plan, and so is the
    verdict; the spare is not compared, since here it is the depth of the ditch."""
    record, kept = store
    request = request_from(start, record.id, outlet)
    found = find_reach(request, kept).searched
    spare = np.where(found.may_end, found.spare_m, np.nan)
    rng = np.random.default_rng(7)
    rim = np.ones(spare.shape, dtype=bool)  # the search sees no ditch past its last cells
    rim[RIM:-RIM, RIM:-RIM] = False
    outlets, misses = np.argwhere(spare >= 0.02), np.argwhere((spare <= -0.2) & ~rim)
    assert len(outlets) > 50
    for cells, expected in ((outlets, True), (misses, False)):
        for row, column in rng.permutation(cells)[:SAMPLED]:
            place = found.lot.to_map(found.lot.grid.xy(np.array([row]), np.array([column])))[0]
            its = find_reach(replace(request, to=(float(place[0]), float(place[1]))), kept)
            (route,) = its.routes
            planned = route.tree.plan
            assert planned.decision.yes is expected, (start, row, column)
            assert planned.verdict == ("yes" if expected else "no")
            if expected and outlet is STATED:
                free = planned.decision.band.from_start(float(planned.decision.invert_m[0]))
                promised_m = 0.9 * spare[row, column] - 0.02
                assert find_pinch(free).margin_m >= promised_m
