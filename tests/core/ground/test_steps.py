"""Slopes stepped down, and how the errors of the steps add up."""

from __future__ import annotations

import numpy as np
import pytest

from yardfall.core.ground.even_slope import Hump, even_slope, raised, spread_of_ends
from yardfall.core.ground.steps import Step, from_steps, spread_of_steps
from yardfall.core.uncertainty.accuracy import Accuracy, end_errors, step_errors
from yardfall.core.uncertainty.instruments import INSTRUMENTS

MM = 0.001


def test_each_step_starts_where_the_last_one_ended() -> None:
    """As in a hand level's or a board's notes: 2 m board, drops 90, 60, -15 and 120 mm (summed by
    hand: 90, 150, 135, 255)."""
    ground = from_steps([Step(2.0, d * MM) for d in (90, 60, -15, 120)])
    assert ground.at_m == pytest.approx([0, 2, 4, 6, 8])
    assert -ground.elevation_m / MM == pytest.approx([0, 90, 150, 135, 255])


def test_spread_against_moving_each_drop() -> None:
    steps = [Step(1.5, 0.1), Step(2.0, -0.05), Step(0.7, 0.2)]
    base = from_steps(steps).elevation_m
    moved = [
        from_steps([Step(s.length_m, s.drop_m + (i == k)) for i, s in enumerate(steps)]).elevation_m
        - base
        for k in range(len(steps))
    ]
    assert spread_of_steps(len(steps)) == pytest.approx(np.array(moved).T, abs=1e-12)


def test_random_errors_grow_with_the_root_of_the_steps() -> None:
    """Error of a series of n like measurements, E·√n (Ghilani, Adjustment Computations, ch. 6, from
    memory): 15 steps of 3 mm are 11.6 mm over 30 m; 0.5 mm/m the same way are 15 mm more unless
    the level is turned (common practice, no source)."""
    ground = from_steps([Step(2.0, 0.05)] * 15)
    board = Accuracy(INSTRUMENTS["board_level"])
    turned = step_errors(board, ground, turned=True)
    assert turned.whole_fall_m / MM == pytest.approx(3 * 15**0.5)
    kept = step_errors(board, ground, turned=False)
    assert kept.whole_fall_m / MM == pytest.approx(np.hypot(3 * 15**0.5, 15))
    assert kept.typical_m == pytest.approx(3 * MM)
    half = np.hypot.reduce(kept.spread[5] * kept.sigma_m)  # after 5 steps, 10 m
    assert half / MM == pytest.approx(np.hypot(3 * 5**0.5, 5))
    stated = step_errors(Accuracy(sigma_m=0.002), ground, turned=False)
    assert stated.whole_fall_m / MM == pytest.approx(2 * 15**0.5)


def test_ends_of_an_even_slope() -> None:
    ground = even_slope(20.0, 0.5, Hump(5.0, 0.04))
    assert ground.elevation_m == pytest.approx([0, -0.125 + 0.04, -0.5])
    model = end_errors(Accuracy(sigma_m=0.01), ground)
    assert model.whole_fall_m == pytest.approx(0.01 * 2**0.5)
    moved = even_slope(20.0, 0.6, Hump(5.0, 0.04)).elevation_m - ground.elevation_m
    assert spread_of_ends(ground)[:, 2] * -0.1 == pytest.approx(moved)


def test_raised_adds_corners_and_keeps_the_rest() -> None:
    ground = even_slope(10.0, 1.0)
    changed = raised(ground, (4.0, 5.0, 6.0), (0.0, 0.2, 0.0))
    assert changed.at_m == pytest.approx([0, 4, 5, 6, 10])
    assert changed.elevation_m == pytest.approx([0, -0.4, -0.3, -0.6, -1.0])
    again = raised(changed, (5.0,), (0.1,))
    assert again.at_m == pytest.approx(changed.at_m)
    assert again.elevation_at(5.0) == pytest.approx(-0.2)
