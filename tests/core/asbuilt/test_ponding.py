"""Standing water: worked by hand, and against a bath that is let run out."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from yardfall.core.asbuilt.ponding import depth_at_points, standing_water
from yardfall.core.units import FOOT_M, INCH_M


def test_a_quarter_inch_dip_at_1_percent_holds_a_2_ft_puddle() -> None:
    """By hand: 1/4 in at 0.12 in per ft reaches 2.08 ft back up the pipe."""
    at_m = np.array([0, 20, 20.001, 40]) * FOOT_M
    fall_in = np.array([0, 2.4, 2.15, 4.55])
    (pond,) = standing_water(at_m, -fall_in * INCH_M)
    assert pond.depth_m / INCH_M == pytest.approx(0.25)
    assert pond.length_m / FOOT_M == pytest.approx(0.25 / 0.12, abs=0.002)
    assert pond.deepest_at_m / FOOT_M == pytest.approx(20)
    assert pond.sill_at_m / FOOT_M == pytest.approx(20.001)


def test_an_8_in_rise_leaves_64_ft_wet_at_an_eighth_inch_per_foot() -> None:
    """By hand: 8 in / (1/8 in per ft) = 64 ft."""
    at_m = np.array([0, 100, 100.001]) * FOOT_M
    (pond,) = standing_water(at_m, np.array([0, -12.5, -4.5]) * INCH_M)
    assert pond.length_m / FOOT_M == pytest.approx(64, abs=0.002)
    assert pond.depth_m / INCH_M == pytest.approx(8)


def test_by_hand_two_ponds_and_a_flat_stretch() -> None:
    """Inverts 5 3 4 2 2 1 3 0: 1 deep behind the 4, 2 deep behind the 3; the flat 2 2 is dry of
    the first. Edges by similar triangles: 0.5 into the first stretch, 0.5 into the fourth."""
    at_m = np.arange(8.0)
    first, second = standing_water(at_m, np.array([5.0, 3, 4, 2, 2, 1, 3, 0]))
    assert (first.from_m, first.to_m, first.depth_m) == (0.5, 2.0, 1.0)
    assert (second.from_m, second.to_m, second.depth_m) == (2.5, 6.0, 2.0)
    assert (second.deepest_at_m, second.sill_at_m) == (5.0, 6.0)


@pytest.mark.parametrize("invert", [[3, 2, 1], [1, 1, 1], [2.0], [4, 4, 1, 1]])
def test_nothing_stands_where_nothing_rises(invert: list[float]) -> None:
    assert standing_water(np.arange(len(invert), dtype=float), np.array(invert, float)) == ()


def run_out(invert: np.ndarray) -> np.ndarray:
    """Fill a bath over the line to the brim, open its downstream end, and let it run out.

    Cell by cell and again until nothing moves: the water in a cell sinks to its neighbours' level,
    never below its own floor; the upstream end is a wall.
    """
    level = np.full(len(invert), invert.max() + 1)
    level[-1] = invert[-1]
    while True:
        sunk = np.maximum(invert, np.minimum(level, np.append(level[1:], invert[-1])))
        if (sunk == level).all():
            return level - invert
        level = sunk


@settings(max_examples=200, deadline=None)
@given(st.lists(st.integers(0, 12), min_size=2, max_size=9))
def test_ponds_are_what_a_bath_leaves(levels: list[int]) -> None:
    at_m, invert_m = np.arange(len(levels), dtype=float), np.array(levels, dtype=float)
    fine_m = np.linspace(0, at_m[-1], 60 * (len(levels) - 1) + 1)
    depth_m = run_out(np.interp(fine_m, at_m, invert_m))
    ponds = standing_water(at_m, invert_m)
    assert depth_at_points(invert_m) == pytest.approx(depth_m[::60])

    inside, edge = np.zeros(len(fine_m), dtype=bool), np.zeros(len(fine_m), dtype=bool)
    for pond in ponds:
        here = (fine_m > pond.from_m - 1e-9) & (fine_m < pond.to_m + 1e-9)
        inside |= here
        for end_m in (pond.from_m, pond.to_m):
            edge |= np.abs(fine_m - end_m) < 1e-9
        assert depth_m[here].max() == pytest.approx(pond.depth_m)
        k = int(np.argmin(np.abs(fine_m - pond.deepest_at_m)))
        assert depth_m[k] == pytest.approx(pond.depth_m)
        assert np.interp(pond.sill_at_m, at_m, invert_m) == pytest.approx(
            np.interp(pond.deepest_at_m, at_m, invert_m) + pond.depth_m
        )
    assert (inside == (depth_m > 1e-9))[~edge].all()
