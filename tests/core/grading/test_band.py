"""The exact decision against a general-purpose linear program."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from yardfall.core.grading.band import DECISION_SLACK_M, Band, find_pinch, highest_line
from yardfall.core.grading.straight import least_raise, straight_from

NAMES = ("hi",), ("lo",)


def a_band(seed: int, n: int, *, greatest: bool, fixed: bool) -> Band:
    """A random band, tight enough that about half have no line."""
    rng = np.random.default_rng(seed)
    at_m = np.concatenate([[0.0], np.cumsum(rng.uniform(0.5, 5.0, n - 1))])
    middle = -0.02 * at_m + rng.normal(0, 0.12, n)
    hi, lo = middle + rng.uniform(0.02, 0.4, n), middle - rng.uniform(0.02, 0.4, n)
    lo[rng.random(n) < 0.2] = -np.inf
    if fixed:
        lo[0] = hi[0] = middle[0]
    return Band(
        at_m,
        hi,
        lo,
        ("start",) * fixed + ("hi",) * (n - fixed),
        ("start",) * fixed + ("lo",) * (n - fixed),
        float(rng.choice([0.0, 0.01, 0.0125, 0.03])),
        float(rng.uniform(0.035, 0.12)) if greatest else np.inf,
    )


def any_line_exists(band: Band) -> bool:
    """Whether scipy's linear program (HiGHS) finds inverts within every limit."""
    d = np.diff(band.at_m)
    n = len(band.at_m)
    falls = np.zeros((n - 1, n))
    falls[np.arange(n - 1), np.arange(n - 1)], falls[np.arange(n - 1), np.arange(1, n)] = -1, 1
    rows, most = [falls], [-band.least_grade * d]
    if np.isfinite(band.greatest_grade):
        rows.append(-falls)
        most.append(band.greatest_grade * d)
    bounds = [
        (lo if np.isfinite(lo) else None, hi) for lo, hi in zip(band.lo_m, band.hi_m, strict=True)
    ]
    if any(lo is not None and lo > hi for lo, hi in bounds):
        return False
    found = linprog(np.zeros(n), np.vstack(rows), np.concatenate(most), bounds=bounds)
    return found.status == 0


def straight_exists(band: Band) -> bool:
    """Whether scipy's linear program finds one straight grade z = a − p·x."""
    x = band.at_m
    finite = np.isfinite(band.lo_m)
    above = np.column_stack([np.ones_like(x), -x])
    below = -above[finite]
    grade = (band.least_grade, None if np.isinf(band.greatest_grade) else band.greatest_grade)
    found = linprog(
        [0, 0],
        np.vstack([above, below]),
        np.concatenate([band.hi_m, -band.lo_m[finite]]),
        bounds=[(None, None), grade],
    )
    return found.status == 0


@settings(max_examples=300, deadline=None)
@given(
    seed=st.integers(0, 10**9),
    n=st.integers(2, 14),
    greatest=st.booleans(),
    fixed=st.booleans(),
)
def test_spare_tells_exactly_whether_a_line_exists(
    seed: int, n: int, greatest: bool, fixed: bool
) -> None:
    band = a_band(seed, n, greatest=greatest, fixed=fixed)
    margin = find_pinch(band).margin_m
    if abs(margin) < 1e-7:
        return  # the linear program's own tolerance
    assert (margin >= -DECISION_SLACK_M) == any_line_exists(band)


@settings(max_examples=300, deadline=None)
@given(seed=st.integers(0, 10**9), n=st.integers(2, 10), greatest=st.booleans())
def test_straight_from_a_fixed_start(seed: int, n: int, greatest: bool) -> None:
    band = a_band(seed, n, greatest=greatest, fixed=True)
    found = straight_from(band, float(band.lo_m[0]))
    if abs(found.margin_m) < 1e-7:
        return
    assert found.fits == straight_exists(band)


@settings(max_examples=300, deadline=None)
@given(seed=st.integers(0, 10**9), n=st.integers(2, 10), greatest=st.booleans())
def test_the_room_of_a_straight_grade_is_the_linear_programs(
    seed: int, n: int, greatest: bool
) -> None:
    """Spare or short: by how much the lower limits could rise for a line from the start to be left.

    Maximised over the grade by scipy's linear program. Where the greatest grade is set, what it
    leaves at each point counts too, worked point by point; and a straight line is never told less
    short than one with any changes of grade.
    """
    band = a_band(seed, n, greatest=greatest, fixed=True)
    start_m, x = float(band.lo_m[0]), band.at_m[1:]
    found = straight_from(band, start_m)
    lo, deep = band.lo_m[1:], np.isfinite(band.lo_m[1:])
    # Unknowns: grade p and room r. start − p·x ≤ hi; start − p·x ≥ lo + r.
    best = linprog(
        [0, -1],
        np.vstack([np.column_stack([-x, 0 * x]), np.column_stack([x, 1 + 0 * x])[deep]]),
        np.concatenate([band.hi_m[1:] - start_m, (start_m - lo)[deep]]),
        bounds=[(band.least_grade, None), (None, None)],
    )
    expected = -best.fun if deep.any() else np.inf
    if np.isfinite(band.greatest_grade):
        left = [
            h - (start_m - band.greatest_grade * at) for at, h in zip(x, band.hi_m[1:], strict=True)
        ]
        expected = min(expected, *left)
        if expected < 0:
            expected = min(expected, find_pinch(band).margin_m)
    assert found.margin_m == pytest.approx(expected, abs=1e-7)
    assert found.margin_m <= find_pinch(band).margin_m + 1e-9
    pinch = found.pinch
    assert pinch.available_m - pinch.needed_m == pytest.approx(expected, abs=1e-7)


@settings(max_examples=300, deadline=None)
@given(seed=st.integers(0, 10**9), n=st.integers(2, 10), greatest=st.booleans())
def test_straight_from_a_start_that_may_rise(seed: int, n: int, greatest: bool) -> None:
    band = a_band(seed, n, greatest=greatest, fixed=False)
    lo = band.lo_m.copy()
    lo[0] = band.hi_m[0] - 0.3
    band = Band(
        band.at_m, band.hi_m, lo, band.hi_why, band.lo_why, band.least_grade, band.greatest_grade
    )
    found = least_raise(band, float(lo[0]), float(band.hi_m[0]))
    if abs(found.margin_m) < 1e-7 and not found.fits:
        return
    assert found.fits == straight_exists(band)
    if found.fits and found.start_m > lo[0] + 1e-6:
        assert not straight_from(band, found.start_m - 1e-6).fits, "not the least raise"


def test_the_highest_line_is_highest() -> None:
    """Maximising the sum of inverts with scipy's linear program gives the same line."""
    for seed in range(40):
        band = a_band(seed, 9, greatest=seed % 2 == 0, fixed=False)
        if find_pinch(band).margin_m < 1e-6:
            continue
        line = highest_line(band.at_m, band.hi_m, band.least_grade, band.greatest_grade)
        d, n = np.diff(band.at_m), 9
        falls = np.diff(np.eye(n), axis=0)
        rows, most = [falls], [-band.least_grade * d]
        if np.isfinite(band.greatest_grade):
            rows, most = [falls, -falls], [-band.least_grade * d, band.greatest_grade * d]
        best = linprog(
            -np.ones(n),
            np.vstack(rows),
            np.concatenate(most),
            bounds=[(None, h) for h in band.hi_m],
        )
        assert line == pytest.approx(best.x, abs=1e-7)


def test_the_pinch_is_the_pair_with_the_least_margin() -> None:
    for seed in range(60):
        band = a_band(seed, 8, greatest=False, fixed=False)
        x, hi, lo, s = band.at_m, band.hi_m, band.lo_m, band.least_grade
        pairs = {(j, i): hi[j] - s * (x[i] - x[j]) - lo[i] for i in range(8) for j in range(i + 1)}
        pinch = find_pinch(band)
        assert pinch.margin_m == pytest.approx(min(pairs.values()))
        assert pairs[(pinch.upstream, pinch.downstream)] == pytest.approx(min(pairs.values()))
