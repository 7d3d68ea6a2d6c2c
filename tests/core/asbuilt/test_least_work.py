"""The least work against a general solver of linear programs, and by hand."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from yardfall.core.asbuilt.least_work import least_work


def solved(z, lo, hi, weight, drop, fall) -> float | None:
    """The same program by HiGHS: y = z + up − down."""
    n = len(z)
    one = np.eye(n)
    pairs = [one[i + 1] - one[i] for i in range(n - 1)] + [one[-1] - one[0]]
    rows = np.array([np.concatenate([p, -p]) for p in pairs])
    bounds = np.array([-d for d in drop] + [-fall])
    limits = [np.concatenate([one[i], -one[i]]) for i in range(n)]
    found = linprog(
        np.concatenate([weight, weight]),
        np.vstack([rows, limits, -np.array(limits)]),
        np.concatenate([bounds - np.array(pairs) @ z, hi - z, z - lo]),
        method="highs",
    )
    return float(found.fun) if found.status == 0 else None


MM = st.integers(-40, 40)


@st.composite
def trenches(draw):
    n = draw(st.integers(1, 7))
    planned = np.cumsum([0.0] + [-draw(st.integers(0, 30)) for _ in range(n - 1)])
    z = planned + [draw(MM) for _ in range(n)]
    tolerance = draw(st.integers(0, 12))
    weight = np.array([float(draw(st.integers(1, 9))) for _ in range(n)])
    drop = np.array([float(draw(st.integers(0, 12))) for _ in range(n - 1)])
    fall = float(planned[0] - planned[-1] + draw(st.integers(-30, 30)))
    return z, planned - tolerance, planned + tolerance, weight, drop, fall


ONLY_IN_PART_ON_THE_LEVELS = tuple(
    np.array(part) for part in ([-30.0, -29.0], [-12.0, -40.0], [12.0, -16.0], [9.0, 8.0], [2.0])
)
"""Here a first level of own − fall, with no level a fall below it, misled the halving."""


@settings(max_examples=400, deadline=None)
@given(trenches())
@example((*ONLY_IN_PART_ON_THE_LEVELS, 25.0))
def test_the_same_least_as_a_linear_program(case) -> None:
    z, lo, hi, weight, drop, fall = case
    found = least_work(z / 1e3, lo / 1e3, hi / 1e3, weight, drop / 1e3, fall / 1e3)
    wanted = solved(z, lo, hi, weight, drop, fall if len(z) > 1 else min(fall, 0.0))
    if len(z) == 1 and fall > 0:
        assert found is None
        return
    assert (found is None) == (wanted is None)
    if found is not None:
        left = found * 1e3
        assert float(weight @ np.abs(left - z)) == pytest.approx(wanted, abs=1e-5)
        assert (left >= lo - 1e-6).all()
        assert (left <= hi + 1e-6).all()
        assert (-np.diff(left) >= drop - 1e-6).all()
        assert left[0] - left[-1] >= fall - 1e-6


def test_by_trying_every_level() -> None:
    """Brute force over whole millimetres."""
    rng = np.random.default_rng(5)
    for _ in range(15):
        z = rng.integers(-6, 7, 4) - 2.0 * np.arange(4)
        lo, hi = -2.0 * np.arange(4) - 2, -2.0 * np.arange(4) + 2
        weight = rng.integers(1, 5, 4).astype(float)
        fall = float(rng.integers(2, 9))
        spans = [np.arange(a, b + 1) for a, b in zip(lo, hi, strict=True)]
        costs = [
            float(weight @ np.abs(np.array(y) - z))
            for y in itertools.product(*spans)
            if all(a >= b for a, b in itertools.pairwise(y)) and y[0] - y[-1] >= fall
        ]
        found = least_work(z, lo, hi, weight, np.zeros(3), fall)
        assert found is not None
        assert float(weight @ np.abs(found - z)) == pytest.approx(min(costs))


def test_only_to_the_edge_of_the_tolerance() -> None:
    """5/8 high with 1/4 allowed: 3/8 off, and the neighbours stay."""
    z = np.array([0.0, -0.375, -2.0])
    planned = np.array([0.0, -1.0, -2.0])
    found = least_work(z, planned - 0.25, planned + 0.25, np.ones(3), np.zeros(2), 1.75)
    assert found == pytest.approx([0.0, -0.75, -2.0])


def test_between_equals_it_shaves() -> None:
    """Both within tolerance but the second 2 higher: 2 off the second or 2 onto the first."""
    wide = np.full(2, 5.0)
    found = least_work(np.array([0.0, 2.0]), -wide, wide, np.ones(2), np.zeros(1), 0.0)
    assert found == pytest.approx([0.0, 0.0])
