"""Tape marks: water never runs back, the fall is kept, half a step wherever that can be."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from yardfall.core.stakeout.tape_marks import tape_marks
from yardfall.core.units import INCH_M, SI, US

STEP_M = INCH_M / 4


@settings(max_examples=2000, deadline=None)
@given(
    seed=st.integers(0, 10**9),
    n=st.integers(2, 30),
    grade=st.sampled_from([0.0, 0.002, 0.01, 0.0125, 0.05]),
    uneven=st.booleans(),
)
def test_marks_on_random_lines(seed: int, n: int, grade: float, uneven: bool) -> None:
    rng = np.random.default_rng(seed)
    at_m = np.concatenate([[0.0], np.cumsum(rng.uniform(0.3, 5.0, n - 1))])
    start_m = rng.uniform(0.1, 0.5)
    bottom_m = -start_m - grade * at_m
    zero_m = rng.normal(0, 0.1, n) if uneven else np.zeros(n)
    needed_m = grade * at_m[-1]
    marks = tape_marks(at_m, zero_m - bottom_m, bottom_m, STEP_M, needed_m)
    marked_m = zero_m - marks.steps * STEP_M
    slack_m = 1e-5 * STEP_M
    assert np.all(np.diff(marked_m) <= slack_m), "runs back"
    assert marked_m[0] - marked_m[-1] >= needed_m - slack_m, "loses the needed fall"
    worst_m = np.max(np.abs(marked_m - bottom_m))
    assert marks.worst_m == pytest.approx(worst_m)
    nearest = np.round((zero_m - bottom_m) / STEP_M)
    near_m = zero_m - nearest * STEP_M
    if np.all(np.diff(near_m) <= 0) and near_m[0] - near_m[-1] >= needed_m:
        assert worst_m <= STEP_M / 2 + slack_m, "half a step was possible"


@settings(max_examples=1000, deadline=None)
@given(seed=st.integers(0, 10**9), n=st.integers(2, 40), falls=st.integers(1, 60))
def test_from_a_line_with_the_fall_in_whole_steps_half_a_step_always_serves(
    seed: int, n: int, falls: int
) -> None:
    rng = np.random.default_rng(seed)
    at_m = np.concatenate([[0.0], np.cumsum(rng.uniform(0.3, 5.0, n - 1))])
    bottom_m = -rng.uniform(0.1, 0.5) - falls * STEP_M * at_m / at_m[-1]
    marks = tape_marks(at_m, -bottom_m, bottom_m, STEP_M, falls * STEP_M)
    assert marks.worst_m <= STEP_M / 2 * (1 + 1e-5)


@settings(max_examples=1000, deadline=None)
@given(halves=st.lists(st.integers(0, 12), min_size=2, max_size=7), data=st.data())
def test_ties_are_settled_so_that_half_a_step_serves_if_it_can(halves, data) -> None:
    """Measures on half steps, each taken up or down in every combination (worked by trying all)."""
    zero = np.array(data.draw(st.lists(st.integers(0, 3), min_size=len(halves), max_size=9)))
    zero = zero[: len(halves)]
    bottom = -np.cumsum(halves) / 2
    needed = data.draw(st.sampled_from([0.0, 0.9, float(bottom[0] - bottom[-1])]))
    at_m = np.arange(len(halves), dtype=float)
    found = tape_marks(at_m, zero - bottom, bottom, 1.0, needed)
    choices = [{np.floor(m), np.ceil(m)} for m in zero - bottom]
    level = [zero - np.array(taken) for taken in itertools.product(*choices)]
    needed = min(needed, bottom[0] - bottom[-1])
    serves = [z for z in level if np.all(np.diff(z) <= 0) and z[0] - z[-1] >= needed]
    assert (found.worst_m <= 0.5 + 1e-5) == bool(serves)


def test_half_a_step_cannot_always_keep_the_fall() -> None:
    """21.65 and 29.35 in round to 21 3/4 and 29 1/4, which loses 0.2 in of a needed 7.7 in.

    No marks within half a step keep it, so the last one goes a step deeper.
    """
    bottom_m = np.array([-21.65, -29.35]) * INCH_M
    marks = tape_marks(np.array([0.0, 15.0]), -bottom_m, bottom_m, STEP_M, 7.7 * INCH_M)
    assert (marks.steps / 4).tolist() == [21.75, 29.5]
    assert marks.worst_m == pytest.approx(0.15 * INCH_M)


@pytest.mark.parametrize(
    ("steps", "text"),
    [(0, "0"), (2, "1/2"), (94, "23 1/2"), (52, "13"), (-3, "-3/4"), (-5, "-1 1/4")],
)
def test_inches_as_a_tape_shows_them(steps: int, text: str) -> None:
    assert US.tape_text(steps) == text


def test_millimetres_in_fives() -> None:
    assert SI.tape_text(119) == "595"


@pytest.mark.parametrize(
    ("system", "at", "label"),
    [
        (US, 13, "0+13"),
        (US, 113.5, "1+13.5"),
        (US, 99.999, "1+00"),
        (SI, 13, "0+013"),
        (SI, 1250.25, "1+250.25"),
    ],
)
def test_station_labels(system, at: float, label: str) -> None:
    assert system.station_label(at * system.length_m) == label
