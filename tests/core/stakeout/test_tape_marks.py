"""Marks: every stretch keeps its fall, within a step and the limits, wherever that can be."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from yardfall.core.stakeout.tape_marks import TapeMarks, Wanted, least_drop_m, tape_marks
from yardfall.core.units import INCH_M, SI, US

QUARTER_M = INCH_M / 4


def marked(zero_m, bottom_m, at_m, grade, lowest_m=None, highest_m=None, steps_m=US.tape_steps_m):
    """Marks of a line, and the drops that they were to keep."""
    far = np.full(len(at_m), np.inf)
    drop_m = least_drop_m(at_m, bottom_m, grade, steps_m[0])
    wanted = Wanted(
        at_m,
        bottom_m,
        drop_m,
        -far if lowest_m is None else lowest_m,
        far if highest_m is None else highest_m,
    )
    return tape_marks(zero_m, wanted, steps_m, steps_m[0]), wanted


def least_departure(zero_m, wanted: Wanted, step_m: float, far_m: float) -> float | None:
    """By a mixed-integer program (HiGHS): the least greatest departure of whole marks that keep
    every drop and limit; None where none do within `far_m`."""
    n = len(zero_m)
    eye, slack = np.eye(n), 1e-9
    # variables: m (n, whole), the departure t; level = zero − m·step
    level = -step_m * eye
    rows, low, high = [], [], []
    for i in range(n):
        for sign in (1.0, -1.0):
            rows.append([*(sign * level[i]), -1.0])
            low.append(-np.inf)
            high.append(sign * (wanted.bottom_m[i] - zero_m[i]))
        rows.append([*level[i], 0.0])
        low.append(wanted.lowest_m[i] - zero_m[i] - slack)
        high.append(wanted.highest_m[i] - zero_m[i] + slack)
        if i + 1 < n:
            rows.append([*(level[i] - level[i + 1]), 0.0])
            low.append(wanted.drop_m[i] - zero_m[i] + zero_m[i + 1] - slack)
            high.append(np.inf)
    found = milp(
        [0.0] * n + [1.0],
        constraints=LinearConstraint(np.array(rows), low, high),
        bounds=Bounds([-np.inf] * n + [0.0], [np.inf] * n + [far_m + slack]),
        integrality=[1] * n + [0],
    )
    return float(found.x[-1]) if found.success else None


def a_line(seed: int, n: int, grade: float, uneven: bool, metric: bool):
    rng = np.random.default_rng(seed)
    at_m = np.concatenate([[0.0], np.cumsum(rng.uniform(0.3, 5.0, n - 1))])
    steeper = rng.choice([0.0, 0.0, 0.002], n - 1)
    bottom_m = -rng.uniform(0.1, 0.5) - np.concatenate(
        [[0.0], np.cumsum((grade + steeper) * np.diff(at_m))]
    )
    zero_m = rng.normal(0, 0.1, n) if uneven else np.zeros(n)
    steps_m = (SI if metric else US).tape_steps_m
    return at_m, bottom_m, zero_m, steps_m


def holds(marks: TapeMarks, zero_m, wanted: Wanted, far_m: float) -> bool:
    level_m, slack_m = zero_m - marks.mark_m, 1e-8
    return bool(
        (np.abs(level_m - wanted.bottom_m) <= far_m + slack_m).all()
        and (-np.diff(level_m) >= wanted.drop_m - slack_m).all()
        and (level_m >= wanted.lowest_m - slack_m).all()
        and (level_m <= wanted.highest_m + slack_m).all()
    )


@settings(max_examples=150, deadline=None)
@given(
    seed=st.integers(0, 10**9),
    n=st.integers(2, 14),
    grade=st.sampled_from([0.002, 0.01, 0.0125, 0.05]),
    uneven=st.booleans(),
    metric=st.booleans(),
    limited=st.booleans(),
)
def test_the_same_as_an_integer_program(seed, n, grade, uneven, metric, limited) -> None:
    """The coarsest step that has marks at all, and of those the least greatest departure."""
    at_m, bottom_m, zero_m, steps_m = a_line(seed, n, grade, uneven, metric)
    rng = np.random.default_rng(seed + 1)
    far = np.full(n, np.inf)
    highest_m = np.where(rng.random(n) < 0.3, bottom_m + rng.uniform(0, 0.01, n), far)
    lowest_m = np.where(rng.random(n) < 0.2, bottom_m - rng.uniform(0, 0.01, n), -far)
    if not limited:
        highest_m, lowest_m = far, -far
    marks, wanted = marked(zero_m, bottom_m, at_m, grade, lowest_m, highest_m, steps_m)
    for step_m in steps_m:
        least_m = least_departure(zero_m, wanted, step_m, steps_m[0])
        if least_m is not None:
            assert marks.step_m == step_m
            assert holds(marks, zero_m, wanted, steps_m[0])
            assert marks.worst_m == pytest.approx(least_m, abs=2e-6 * step_m + 1e-8)
            assert not marks.short_m.any()
            assert not marks.past_m.any()
            return
    assert marks.step_m == steps_m[-1]
    assert marks.short_m.any() or marks.past_m.any() or marks.worst_m > steps_m[0]
    assert (np.diff(zero_m - marks.mark_m) <= 1e-8).all(), "runs back"


@settings(max_examples=1000, deadline=None)
@given(
    seed=st.integers(0, 10**9),
    n=st.integers(2, 40),
    grade=st.sampled_from([0.0, 0.002, 0.01, 0.02]),
    uneven=st.booleans(),
    metric=st.booleans(),
)
def test_no_mark_runs_back_and_what_is_lost_is_told(seed, n, grade, uneven, metric) -> None:
    at_m, bottom_m, zero_m, steps_m = a_line(seed, n, grade, uneven, metric)
    marks, wanted = marked(zero_m, bottom_m, at_m, grade, steps_m=steps_m)
    level_m = zero_m - marks.mark_m
    assert (np.diff(level_m) <= 1e-8).all()
    lost_m = wanted.drop_m + np.diff(level_m)
    assert marks.short_m == pytest.approx(np.where(lost_m > 1e-7, lost_m, 0.0), abs=1e-7)
    assert np.abs(marks.mark_m / marks.step_m - np.round(marks.mark_m / marks.step_m)).max() < 1e-6


@settings(max_examples=300, deadline=None)
@given(halves=st.lists(st.integers(1, 12), min_size=2, max_size=6), data=st.data())
def test_by_trying_all_of_them(halves, data) -> None:
    """Measures on half steps; every whole mark within a step, in every combination."""
    zero = np.array(data.draw(st.lists(st.integers(0, 3), min_size=len(halves), max_size=9)))
    zero = zero[: len(halves)].astype(float)
    bottom = -np.cumsum(halves) / 2
    at_m = np.arange(len(halves), dtype=float)
    grade = data.draw(st.sampled_from([0.0, 0.4, 0.5, 0.6]))
    found, wanted = marked(zero, bottom, at_m, grade, steps_m=(1.0,))
    choices = [np.arange(np.ceil(m - 1), np.floor(m + 1) + 1) for m in zero - bottom]
    level = [zero - np.array(taken) for taken in itertools.product(*choices)]
    serves = [z for z in level if (-np.diff(z) >= wanted.drop_m - 1e-9).all()]
    least = min((np.abs(z - bottom).max() for z in serves), default=None)
    assert (least is None) == bool(found.short_m.any())
    if least is not None:
        assert found.worst_m == pytest.approx(least, abs=1e-5)


def test_marks_of_an_even_line_in_quarters_by_hand() -> None:
    """1.2 in are needed every 10 ft; 30, 31.2, 32.4 … fall 1 1/4 by every mark but one: from 33 1/2
    to 34 3/4 and 36, nearest quarters, 33.6 in taken as 33 1/2 leaves 1 in before it."""
    at_m = np.arange(6) * 3.048
    bottom_m = -(30 + 1.2 * np.arange(6)) * INCH_M
    marks, _ = marked(np.zeros(6), bottom_m, at_m, 0.01)
    assert (marks.mark_m / INCH_M).tolist() == pytest.approx([30, 31.25, 32.5, 33.75, 35, 36.25])
    assert marks.worst_m == pytest.approx(0.25 * INCH_M)
    assert marks.step_m == QUARTER_M


def test_a_long_even_line_takes_finer_marks() -> None:
    """Twelve stretches of 1.56 in: quarters make each 1.75 and drift 2.3 in, eighths 1.625 and
    0.78 in; of sixteenths, 1.5625, the line is 0.03 in off at its end."""
    at_m = np.arange(13) * 13 * 0.3048
    bottom_m = -(20 + 1.56 * np.arange(13)) * INCH_M
    marks, _ = marked(np.zeros(13), bottom_m, at_m, 0.01)
    assert marks.step_m == INCH_M / 16
    assert np.diff(marks.mark_m / INCH_M) == pytest.approx([1.5625] * 12)


def test_where_no_step_serves_the_least_is_lost_and_told() -> None:
    """100 stretches of 1.04 in: sixteenths make 1.0625 and drift 2.25 in. With 1 in and 1 1/16 in
    in turn each stretch is short by no more than 0.04 in."""
    at_m = np.arange(101) * 1.04 * INCH_M / 0.01
    bottom_m = -(20 + 1.04 * np.arange(101)) * INCH_M
    marks, _ = marked(np.zeros(101), bottom_m, at_m, 0.01)
    assert marks.short_m.max() / INCH_M == pytest.approx(0.04, abs=1e-5)
    assert marks.worst_m <= 0.25 * INCH_M + 1e-9


def test_cover_is_kept_by_the_deeper_mark() -> None:
    """21.6 in is the least that covers the pipe: 21 1/2 is nearer, 21 3/4 is dug."""
    bottom_m = -np.array([21.6, 24.0]) * INCH_M
    at_m = np.array([0.0, 3.0])
    free, _ = marked(np.zeros(2), bottom_m, at_m, 0.01)
    assert free.mark_m[0] / INCH_M == pytest.approx(21.5)
    kept, _ = marked(np.zeros(2), bottom_m, at_m, 0.01, highest_m=bottom_m)
    assert (kept.mark_m / INCH_M).tolist() == pytest.approx([21.75, 24.0])


def test_of_two_that_are_equally_near_the_deeper() -> None:
    bottom_m = -np.array([21.625, 30.0]) * INCH_M
    marks, _ = marked(np.zeros(2), bottom_m, np.array([0.0, 3.0]), 0.01)
    assert marks.mark_m[0] / INCH_M == pytest.approx(21.75)


def test_fall_goes_before_a_limit_that_leaves_no_mark() -> None:
    """Between 21.61 and 21.62 in lies no sixteenth."""
    bottom_m = -np.array([21.615, 24.0]) * INCH_M
    room_m = np.array([0.005, 1.0]) * INCH_M
    marks, _ = marked(
        np.zeros(2), bottom_m, np.array([0.0, 3.0]), 0.01, bottom_m - room_m, bottom_m + room_m
    )
    assert not marks.short_m.any()
    assert marks.past_m[0] / INCH_M == pytest.approx(0.005, abs=1e-6)


@pytest.mark.parametrize(
    ("inches", "text"),
    [(0, "0"), (0.5, "1/2"), (23.5, "23 1/2"), (13, "13"), (-0.75, "-3/4"), (-1.25, "-1 1/4"),
     (8.3125, "8 5/16")],
)  # fmt: skip
def test_inches_as_a_tape_shows_them(inches: float, text: str) -> None:
    assert US.tape_text(inches * INCH_M) == text


def test_millimetres() -> None:
    assert SI.tape_text(0.595) == "595"


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
