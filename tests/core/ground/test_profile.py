"""Elevations, slopes and spot heights."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.interpolate import LinearNDInterpolator

from yardfall.core.errors import GroundGap, InputError
from yardfall.core.ground.profile import SlopeRun, from_elevations, from_slopes
from yardfall.core.ground.route import drawn, planar_legs, regular_stations, taped
from yardfall.core.ground.tin import from_spots


def test_elevations_in_any_order() -> None:
    ground = from_elevations(np.array([5.0, 0.0, 10.0]), np.array([1.0, 2.0, 3.0]))
    assert ground.elevation_m.tolist() == [2.0, 1.0, 3.0]
    assert ground.elevation_at(2.5) == 1.5
    assert ground.sources_at(np.array([2.5, 5.0])) == ["interpolated", "given"]


def test_uphill_is_positive() -> None:
    ground = from_slopes([SlopeRun(0, 10, -2), SlopeRun(10, 15, 4)])
    assert ground.elevation_m == pytest.approx([0, -0.2, 0.0])


@pytest.mark.parametrize(
    ("runs", "pointer"),
    [
        ([SlopeRun(0, 10, 1), SlopeRun(11, 15, 1)], "/runs/1/from"),
        ([SlopeRun(5, 5, 1)], "/runs/0/to"),
    ],
)
def test_slopes_that_do_not_join(runs: list[SlopeRun], pointer: str) -> None:
    with pytest.raises(InputError) as caught:
        from_slopes(runs)
    assert caught.value.problems[0].pointer == pointer


def test_ground_must_reach_both_ends() -> None:
    ground = from_elevations(np.array([1.0, 9.0]), np.array([0.0, 0.0]))
    with pytest.raises(GroundGap) as caught:
        ground.require_reach(10.0)
    assert caught.value.gaps_m == ((0.0, 1.0), (9.0, 10.0))


def test_spots_along_a_route_are_the_triangles_cut() -> None:
    """Against scipy.interpolate.LinearNDInterpolator at a hundred times as many points.

    The heights are a made-up scatter; the profile's own points must be enough to carry the
    surface exactly, so straight lines between them equal the dense sampling.
    """
    rng = np.random.default_rng(3)
    xy = rng.uniform(0, 50, (60, 2))
    z = 0.02 * xy[:, 0] + rng.normal(0, 0.2, 60)
    line = np.array([[12.0, 12.0], [30.0, 20.0], [35.0, 36.0]])
    route = drawn(line, planar_legs(line))
    ground = from_spots(route, line, np.column_stack([xy, z]), np.array([0.0, route.length_m]))
    dense_m = np.linspace(0, route.length_m, 5000)
    there = LinearNDInterpolator(xy, z)(route.position(dense_m))
    assert np.max(np.abs(ground.elevation(dense_m) - there)) < 1e-9


def test_spots_on_one_line_span_nothing() -> None:
    line = np.array([[0.0, 0.0], [5.0, 0.0]])
    spots = np.array([[0.0, 0, 1], [1, 1, 1], [2, 2, 1]])
    with pytest.raises(InputError, match="no area"):
        from_spots(drawn(line, planar_legs(line)), line, spots, np.array([0.0, 5.0]))


def test_a_route_that_leaves_the_spots_names_the_gap() -> None:
    line = np.array([[1.0, 1.0], [15.0, 1.0]])
    spots = np.array([[0.0, 0, 1], [10, 0, 1], [0, 10, 1], [10, 10, 1]])
    stations = np.arange(0.0, 15.0)
    with pytest.raises(GroundGap) as caught:
        from_spots(drawn(line, planar_legs(line)), line, spots, stations)
    ((first, last),) = caught.value.gaps_m
    assert first == pytest.approx(10, abs=1)
    assert last == pytest.approx(14)


def test_stations_by_the_tape() -> None:
    assert regular_stations(52.0, 13.0).tolist() == [0, 13, 26, 39, 52]
    assert regular_stations(50.0, 13.0).tolist() == [0, 13, 26, 39]
    assert taped(7.5).length_m == 7.5


def test_a_tape_stretches_the_drawn_line_evenly() -> None:
    line = np.array([[0.0, 0.0], [3.0, 4.0], [3.0, 14.0]])
    route = drawn(line, planar_legs(line), tape_length_m=30.0)
    assert route.vertex_at_m.tolist() == [0.0, 10.0, 30.0]
    assert route.position(np.array([20.0])) == pytest.approx(np.array([[3.0, 9.0]]))


def test_a_doubled_point_is_named() -> None:
    line = np.array([[0.0, 0.0], [0.0, 0.0], [1.0, 1.0]])
    with pytest.raises(InputError) as caught:
        drawn(line, planar_legs(line))
    assert caught.value.problems[0].pointer == "/line/coordinates/1"
