"""Where a picture lies on its plan, against shapely's affine maps and numpy's least squares."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import MultiPoint, affinity, get_coordinates

from yardfall.core.errors import InputError
from yardfall.core.ground.placement import MapTie, Placement, check_placement

CASES = Path(__file__).resolve().parents[3] / "fixtures" / "placement" / "cases.json"
WIDTH, HEIGHT = 1700, 1100


def laid_by_shapely(placement: Placement, uv: np.ndarray) -> np.ndarray:
    """The same in steps: to the origin, v flipped, scaled, turned (shapely turns anticlockwise)."""
    u0, v0 = placement.origin
    (u1, v1), (u2, v2) = placement.points
    scale = placement.distance_m / np.hypot(u2 - u1, v2 - v1)
    shape = affinity.translate(MultiPoint(uv), -u0, -v0)
    shape = affinity.scale(shape, scale, -scale, origin=(0, 0))
    return get_coordinates(affinity.rotate(shape, -placement.turn_deg, origin=(0, 0)))


placements = st.builds(
    Placement,
    points=st.tuples(
        st.tuples(st.floats(0, 800), st.floats(0, HEIGHT)),
        st.tuples(st.floats(900, WIDTH), st.floats(0, HEIGHT)),
    ),
    distance_m=st.floats(0.1, 500),
    origin=st.tuples(st.floats(-2000, 2000), st.floats(-2000, 2000)),
    turn_deg=st.floats(-360, 360),
)
UV = np.array([[0, 0], [1700, 0], [1700, 1100], [0, 1100], [333.5, 801.25], [-50, 4000]])


@given(placements)
def test_it_lies_where_shapely_lays_it(placement: Placement) -> None:
    wanted = laid_by_shapely(placement, UV)
    xy = placement.to_plan(UV)
    close = 1e-9 * (1 + np.abs(wanted).max())
    assert xy == pytest.approx(wanted, abs=close)
    assert placement.to_picture(xy) == pytest.approx(UV, abs=1e-6)
    assert placement.corners_m(WIDTH, HEIGHT) == pytest.approx(wanted[:4], abs=close)
    p, q = placement.to_plan(np.array(placement.points))
    assert np.hypot(*(q - p)) == pytest.approx(placement.distance_m)


@given(placements)
def test_its_coefficients_are_those_that_least_squares_finds(placement: Placement) -> None:
    """numpy.linalg.lstsq on six tie points laid by shapely."""
    wanted = laid_by_shapely(placement, UV)
    found, *_ = np.linalg.lstsq(np.column_stack([UV, np.ones(len(UV))]), wanted, rcond=None)
    a, b, c, d, e, f = placement.coefficients
    scale = 1 + np.abs(wanted).max()
    assert [[a, d], [b, e], [c, f]] == pytest.approx(found, abs=1e-9 * scale)


def test_the_cases_that_the_page_is_held_to_as_well() -> None:
    """fixtures/placement/cases.json, which tests/page/unit/placement.test.mjs reads too."""
    cases = json.loads(CASES.read_text("utf-8"))
    assert len(cases) > 5
    for case in cases:
        (p, q), (u0, v0) = case["points"], case["origin"]
        placement = Placement(
            (tuple(p), tuple(q)), case["distance_m"], (u0, v0), case["turn"], case["north"]
        )
        uv = np.array(case["uv"])
        assert laid_by_shapely(placement, uv) == pytest.approx(np.array(case["xy_m"]), abs=1e-9)
        assert placement.to_plan(uv) == pytest.approx(np.array(case["xy_m"]), abs=1e-9)


def test_a_triangle_of_whole_sides() -> None:
    """(0, 0) to (300, 400) is 500 pixels: 25 m makes 0.05 m a pixel, one pixel is 0.2 %."""
    placement = Placement(((0, 0), (300, 400)), 25.0, (0, 400))
    assert placement.metres_per_pixel == pytest.approx(0.05)
    assert placement.click_error_percent == pytest.approx(0.2)
    assert placement.to_plan(np.array([[600.0, 0.0]])) == pytest.approx(np.array([[30, 20]]))


@pytest.mark.parametrize(
    ("north", "turn", "on_plan"), [(0, 0, 0), (350, 20, 10), (10, -20, 350), (-90, 0, 270)]
)
def test_north_turns_with_the_picture(north: float, turn: float, on_plan: float) -> None:
    placement = Placement(((0, 0), (100, 0)), 10, (0, 0), turn, north)
    assert placement.north_on_plan_deg == pytest.approx(on_plan)
    # The picture's own north, a step long, laid on the plan, has that direction.
    step = np.array([[0, 0], [np.sin(np.radians(north)), -np.cos(np.radians(north))]])
    p, q = placement.to_plan(step)
    assert np.degrees(np.arctan2(*(q - p))) % 360 == pytest.approx(on_plan, abs=1e-9)


@pytest.mark.parametrize(
    ("change", "pointer", "says"),
    [
        ({"points": ((0, 0), (1701, 5))}, "/scale/points/1", "1700 by 1100"),
        ({"points": ((-1, 0), (700, 5))}, "/scale/points/0", "not on the picture"),
        ({"points": ((5, 5), (5, 5))}, "/scale/points", "too near"),
        ({"points": ((5, 5), (11, 12))}, "/scale/points", "9.2 pixels"),
        ({"on_map": MapTie("EPSG:26915", (0, 0))}, "/north", "north"),
    ],
)
def test_what_places_nothing_is_refused(change: dict, pointer: str, says: str) -> None:
    given = {"points": ((0, 0), (100, 0)), "distance_m": 10, "origin": (0, 0)} | change
    with pytest.raises(InputError, match=says) as caught:
        check_placement(Placement(**given), WIDTH, HEIGHT)
    assert [p.pointer for p in caught.value.problems] == [pointer]
    check_placement(Placement(((0, 0), (1700, 1100)), 10, (0, 0)), WIDTH, HEIGHT)
