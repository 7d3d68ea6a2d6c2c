"""What is told of lots, against itself and against lines worked by linear programs."""

from __future__ import annotations

import random
from typing import Any

import lots
import numpy as np
import pytest
import shapely
from rasters import raster
from runner import NEAR
from scipy.interpolate import LinearNDInterpolator
from scipy.spatial import Delaunay
from truth import job
from truth.hand_rule import Rule

Body = dict[str, Any]
CELL, SIDE = 2.0, 7
PARTS: Body = {
    "units": "si",
    "pipe": {"code": "pvc-sdr35-4"},
    "accuracy": {"sigma": 0, "common": 0},
    "grade": {"shape": "straight", "min_percent": 1},
    "limits": {"min_cover": 100, "outlet_taper": 3},
    "outlet": {"kind": "daylight", "depth": {"min": 0, "max": 220}},
}


LATER = [pytest.param(seed, marks=pytest.mark.long) for seed in range(2, 5)]


@pytest.mark.parametrize("seed", [0, 1, *LATER])
def test_nothing_told_of_a_lot_contradicts_itself(service: Any, seed: int) -> None:
    """A small share of `tests/bench/lots.py`."""
    rng = random.Random(100 + seed)
    for _ in range(5):
        body = lots.lot(rng, service)
        assert not lots.faults(body, service), body


@pytest.mark.parametrize("number", [185, 606, 854, 1882])
def test_what_once_contradicted_itself(service: Any, number: int) -> None:
    """Lots of the bench: spot heights whose best place by cells is a no by its plan; and a way laid
    from corner to corner that its plan took point by point, with other ground."""
    body = lots.lot(random.Random(f"1/{number}"), service)
    assert not lots.faults(body, service), body


def test_the_rim_of_a_hole_is_told_as_its_plan_tells_it(service: Any) -> None:
    """Even ground with a hole of one cell: the eight about it are no less open than any other, and
    a straight drain to each of the three nearest is a yes by its plan."""
    levels = 100 - 0.04 * np.mgrid[:9, :9][1] * CELL
    levels[4, 5] = -9999
    ground = {"kind": "raster", "raster": raster(service, levels, CELL), "vertical_unit": "m"}
    rim = [(r, c) for r in (3, 4, 5) for c in (4, 5, 6) if (r, c) != (4, 5)]
    ask = [[500000 + (c + 0.5) * CELL, 5000000 - (r + 0.5) * CELL] for r, c in rim]
    body = PARTS | {
        "crs": "EPSG:26915", "ground": ground, "start": {"point": [500001, 4999991], "cover": 150},
        "radius": 30, "draws": 0, "ask": ask,
    }  # fmt: skip
    body["outlet"] = {"kind": "daylight", "depth": {"min": 0, "max": 300}}
    told = service.client.post("/api/v1/reach", json=body).json["asked"]
    for (row, column), one in zip(rim, told, strict=True):
        if column == 4:  # this side of it
            assert one["kind"] == "outlet", (row, column, one)
        assert one["kind"] in ("outlet", "past_unknown"), (row, column, one)
        if one["kind"] == "past_unknown":
            assert "Elevations are missing" in one["text"]
    assert not lots.faults(body, service)


def test_ground_behind_missing_elevations_is_not_told_as_closed_off(service: Any) -> None:
    """A strip of missing cells right across the lot: what lies behind is not known, and so says
    area, place and target. A strip to be avoided beside it closes the way off for certain."""
    levels = 100 - 0.04 * np.mgrid[:9, :12][1] * CELL
    levels[:, 6:8] = -9999
    ground = {"kind": "raster", "raster": raster(service, levels, CELL), "vertical_unit": "m"}
    body = PARTS | {
        "crs": "EPSG:26915", "ground": ground, "start": {"point": [500001, 4999991], "cover": 150},
        "radius": 40, "draws": 0, "ask": [[500019, 4999991]],
        "targets": {"type": "Point", "coordinates": [500021, 4999989]},
    }  # fmt: skip

    def told(more: Body) -> tuple[set[str], set[str], float]:
        answer = service.client.post("/api/v1/reach", json=body | more).json
        areas = {
            a["properties"]["kind"]: a["properties"]["area"] for a in answer["areas"]["features"]
        }
        places = {answer["asked"][0]["kind"], answer["targets"][0]["kind"]}
        return places, set(areas), areas.get("past_unknown", 0.0)

    places, kinds, area = told({})
    assert places == {"past_unknown"}
    assert "closed_off" not in kinds
    assert area == pytest.approx(9 * 4 * CELL**2, rel=2e-3), "all behind it; UTM is 0.04 % short"
    wall = [[500009, 4999970], [500010, 4999970], [500010, 5000010], [500009, 5000010]]
    shut = {"avoid": {"type": "Polygon", "coordinates": [[*wall, wall[0]]]}}
    places, kinds, area = told(shut)
    assert places == {"closed_off"}
    assert "past_unknown" not in kinds


def test_a_lot_too_large_for_lines_says_so(service: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """Its places are told by the search alone, and the answer does not hide it."""
    levels = 100 - 0.04 * np.mgrid[:9, :9][1] * CELL
    ground = {"kind": "raster", "raster": raster(service, levels, CELL), "vertical_unit": "m"}
    body = PARTS | {
        "crs": "EPSG:26915", "ground": ground, "start": {"point": [500001, 4999991], "cover": 150},
        "radius": 30, "draws": 0, "ask": [[500013, 4999991]],
    }  # fmt: skip
    laid = service.client.post("/api/v1/reach", json=body).json
    monkeypatch.setattr("yardfall.use_cases.reach.search.MOST_LAID", 10)
    told = service.client.post("/api/v1/reach", json=body).json
    assert not any("no line was laid" in one["text"] for one in laid["warnings"])
    assert any("no line was laid" in one["text"] for one in told["warnings"])
    areas = [one["properties"] for one in told["areas"]["features"]]
    assert any("no line was laid" in one["text"] for one in areas if one["kind"] == "any_changes")
    assert told["summary"]["outlet_area"] >= laid["summary"]["outlet_area"] > 0
    assert told["asked"][0]["kind"] == laid["asked"][0]["kind"] == "outlet"
    assert not lots.faults(body, service)


def straight_line(levels: np.ndarray, start: np.ndarray, end: np.ndarray) -> Body:
    """The plan of a straight line over cells (column, row), its ground bilinear between them."""
    length = float(np.hypot(*(end - start))) * CELL
    every = np.arange(0, length, 3.0)
    at = np.unique(np.concatenate([np.linspace(0, length, int(np.ceil(length / CELL)) + 1), every]))
    points = []
    for x in at:
        column, row = start + (end - start) * x / length
        c, r = min(int(column), SIDE - 2), min(int(row), SIDE - 2)
        u, v = column - c, row - r
        four = levels[r : r + 2, c : c + 2]
        z = np.array([1 - v, v]) @ four @ np.array([1 - u, u])
        points.append({"at": float(x), "elevation": float(z)})
    ground = {"kind": "elevations", "points": points}
    return PARTS | {"route": {"length": length}, "ground": ground, "start": {"cover": 150}}


@pytest.mark.parametrize("seed", range(4))
def test_every_place_that_a_straight_line_reaches_is_told(
    service: Any, pipes: Body, seed: int
) -> None:
    """All 49 places of a small grid by linear programs: a place is reached with at least what the
    straight line to it has to spare, and with just that where its route is straight."""
    rng = np.random.default_rng(seed)
    across = np.arange(SIDE) * CELL
    levels = 100 - 0.04 * across + 0.04 * rng.standard_normal((SIDE, SIDE))
    levels = levels.astype("float32").astype(float)
    centre = [[500000 + (c + 0.5) * CELL, 5000000 - (r + 0.5) * CELL] for r in range(SIDE)
              for c in range(SIDE)]  # fmt: skip
    start = np.array([0.0, 3.0])
    ground = {"kind": "raster", "raster": raster(service, levels, CELL), "vertical_unit": "m"}
    body = PARTS | {
        "crs": "EPSG:26915", "ground": ground, "start": {"point": centre[21], "cover": 150},
        "radius": 30, "draws": 0, "routes": 0, "ask": centre, "least_run": 3,
    }  # fmt: skip
    answered = service.client.post("/api/v1/reach", json=body).json
    reached = straight = 0
    for place, told in enumerate(answered["asked"]):
        end = np.array([place % SIDE, place // SIDE], float)
        if np.hypot(*(end - start)) * CELL < 3.5:
            continue
        rule = Rule(job.read(straight_line(levels, start, end), pipes))
        spare = rule.spare(rule.first)
        assert spare is not None
        if spare >= 1e-3:
            straight += 1
            assert told["kind"] == "outlet", (place, told, spare)
            assert told["spare"] / 1000 >= spare - 1e-3
        if told["kind"] == "outlet":
            reached += 1
            assert told["spare"] >= 0
        elif told["kind"] in ("short", "any_changes"):
            assert spare < 1e-3 + NEAR
    assert straight >= 3
    assert reached >= straight


def over_triangles(surface: LinearNDInterpolator, start: np.ndarray, end: np.ndarray) -> Body:
    """The plan of a straight line over spot heights, with a point where it crosses each edge."""
    length = float(np.hypot(*(end - start)))
    corners, xy = surface.tri.simplices, surface.tri.points
    edges = shapely.MultiLineString([xy[[c[i], c[(i + 1) % 3]]] for c in corners for i in range(3)])
    line = shapely.LineString([start, end])
    met = shapely.get_coordinates(edges.intersection(line))
    at = np.hypot(*(met - start).T)
    at = np.unique(np.round(np.concatenate([at, np.arange(0, length, 3.0), [length]]), 7))
    z = surface(start + (end - start) * np.minimum(at / length, 1 - 1e-12)[:, None])
    points = [{"at": float(a), "elevation": float(e)} for a, e in zip(at, z, strict=True)]
    ground = {"kind": "elevations", "points": points}
    return PARTS | {"route": {"length": length}, "ground": ground, "start": {"cover": 150}}


@pytest.mark.parametrize("seed", range(3))
def test_what_is_told_of_spot_heights_is_what_their_triangles_say(
    service: Any, pipes: Body, seed: int
) -> None:
    """The map's areas are of cells of half a metre, drawn between spots some 3 m apart: a cell lies
    in an outlet's area just where a line to it is a yes on the triangles: every straight one that
    the linear programs find is there, and every place there has a plan that says so."""
    rng = np.random.default_rng(seed)
    xy = np.vstack([rng.uniform(0, 12, (26, 2)), [[0, 0], [12, 0], [12, 12], [0, 12]]]).round(3)
    z = (10 - 0.035 * xy[:, 0] + 0.06 * rng.standard_normal(len(xy))).round(3)
    surface, start = LinearNDInterpolator(Delaunay(xy), z), np.array([1.3, 6.2])
    ends = np.array([[x, y] for x in np.arange(2.5, 12, 1.0) for y in np.arange(0.5, 12, 1.5)])
    body = PARTS | {
        "crs": "local", "start": {"point": start.tolist(), "cover": 150}, "draws": 0, "routes": 0,
        "ground": {"kind": "spots", "points": np.column_stack([xy, z]).tolist()},
        "ask": ends.tolist(), "least_run": 1,
    }  # fmt: skip
    answered = service.client.post("/api/v1/reach", json=body).json
    areas = shapely.union_all(
        [
            shapely.geometry.shape(area["geometry"])
            for area in answered["areas"]["features"]
            if area["properties"]["kind"] in ("outlet", "conditional")
        ]
    )
    straight = told_there = 0
    for end, told in zip(ends, answered["asked"], strict=True):
        if np.hypot(*(end - start)) < 1.5:
            continue
        rule = Rule(job.read(over_triangles(surface, start, end), pipes))
        spare, drawn = rule.spare(rule.first), areas.contains(shapely.Point(end))
        assert spare is not None
        if spare > 1e-4:
            straight += 1
            assert drawn, (end, spare)
        if drawn:
            told_there += 1
            assert told["kind"] in ("outlet", "conditional"), (end, told, spare)
            assert told["spare"] / 1000 >= spare - 1e-4
    assert told_there >= straight >= 5
