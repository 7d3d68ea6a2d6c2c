"""The whole decision with every limit in it, against scipy's linear program (HiGHS)."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from yardfall.core.design import Alignment, Crossing, Design, Grading, Limits, Outlet, Start
from yardfall.core.errors import InputError
from yardfall.core.grading.decision import decide
from yardfall.core.pipes import CATALOGUE

PIPE = CATALOGUE["corrugated-single-4"]
INCH = 0.0254


def a_yard(seed: int, n: int) -> Alignment:
    rng = np.random.default_rng(seed)
    at_m = np.concatenate([[0.0], np.cumsum(rng.uniform(1.0, 5.0, n - 1))])
    ground_m = 50 - rng.uniform(0, 0.03) * at_m + rng.normal(0, 0.08, n)
    return Alignment(at_m, ground_m, np.ones(n, dtype=bool))


def a_design(seed: int, points: Alignment, shape: str) -> Design:
    """A random design on a yard: ranged starts, greatest grades, crossings, tie-ins."""
    rng = np.random.default_rng(seed + 1)
    length_m = float(points.at_m[-1])
    cover_m = rng.uniform(4, 14) * INCH
    crossings = tuple(
        Crossing(
            float(points.at_m[i]),
            "line",
            rng.uniform(4, 30) * INCH,
            rng.uniform(0.5, 3) * INCH,
            rng.uniform(0, 4) * INCH,
            str(rng.choice(["over", "under", "either"])),
        )
        for i in rng.choice(np.arange(1, len(points.at_m) - 1), rng.integers(0, 3), replace=False)
    )
    if rng.random() < 0.3:
        end_m = float(points.ground_m[-1]) - rng.uniform(4, 40) * INCH
        outlet = Outlet("tie_in", "invert", end_m, end_m + rng.choice([0.0, 0.05]))
    else:
        least_m = rng.uniform(0, 10) * INCH
        outlet = Outlet("pop_up", "depth", least_m, least_m + rng.uniform(1, 12) * INCH)
    return Design(
        PIPE,
        Start("cover", cover_m, cover_m - rng.uniform(0, 4) * INCH if rng.random() < 0.5 else None),
        Grading(
            float(rng.choice([0.005, 0.01, 0.0125])),
            float(rng.choice([0.02, 0.05, np.inf])),
            shape,
            max_breaks=len(points.at_m),
        ),
        Limits(rng.uniform(2, 8) * INCH, rng.uniform(14, 40) * INCH, rng.uniform(0, length_m / 2)),
        outlet,
        crossings,
    )


def a_line_exists(design: Design, points: Alignment, *, straight: bool) -> bool:
    """By linear programs over the formulas of the trench, written out apart from the code."""
    x, g, n = points.at_m, points.ground_m, len(points.at_m)
    D, t = PIPE.outside_m, PIPE.wall_m
    for ways in itertools.product("ou", repeat=len(design.crossings)):
        hi, lo = np.empty(n), g - design.limits.max_depth_m + t
        for i in range(n):
            covered = x[i] <= x[-1] - design.limits.outlet_taper_m + 1e-6
            hi[i] = g[i] - design.limits.min_cover_m - D + t if covered else g[i] + t
        skip = False
        for way, c in zip(ways, design.crossings, strict=True):
            i = int(np.argmin(abs(x - c.at_m)))
            if c.passing not in ("either", "over" if way == "o" else "under"):
                skip = True
            elif way == "o":
                lo[i] = max(lo[i], g[i] - c.top_depth_m + c.clearance_m + t)
            else:
                hi[i] = min(hi[i], g[i] - c.top_depth_m - c.size_m - c.clearance_m - D + t)
        if skip:
            continue
        start = g[0] - design.start.value_m - D + t
        shallow = design.start.shallowest_cover_m
        top = start if shallow is None else g[0] - shallow - D + t
        lo[0], hi[0] = max(lo[0], start), min(hi[0], top)
        o = design.outlet
        if o.by == "invert":
            lo[-1], hi[-1] = max(lo[-1], o.least_m), min(hi[-1], o.most_m)
        else:
            lo[-1], hi[-1] = max(lo[-1], g[-1] - o.most_m + t), min(hi[-1], g[-1] - o.least_m + t)
        s, S = design.grading.min_grade, design.grading.max_grade
        if straight:
            up = np.column_stack([np.ones(n), -x])
            grade = (s, None if np.isinf(S) else S)
            found = linprog(
                [0, 0],
                np.vstack([up, -up]),
                np.concatenate([hi, -lo]),
                bounds=[(None, None), grade],
            )
        else:
            if np.any(lo > hi):
                continue
            falls, d = np.diff(np.eye(n), axis=0), np.diff(x)
            rows, most = [falls], [-s * d]
            if np.isfinite(S):
                rows.append(-falls)
                most.append(S * d)
            found = linprog(
                np.zeros(n),
                np.vstack(rows),
                np.concatenate(most),
                bounds=list(zip(lo, hi, strict=True)),
            )
        if found.status == 0:
            return True
    return False


@settings(max_examples=250, deadline=None)
@given(seed=st.integers(0, 10**9), n=st.integers(4, 9))
def test_one_straight_grade_with_every_limit(seed: int, n: int) -> None:
    points = a_yard(seed, n)
    design = a_design(seed, points, "straight")
    decision = decide(design, points)
    if abs(decision.margin_m) < 1e-6:
        return  # the linear program's own tolerance
    assert decision.yes == a_line_exists(design, points, straight=True)
    assert decision.yes == (decision.margin_m > 0)


@settings(max_examples=120, deadline=None)
@given(seed=st.integers(0, 10**9), n=st.integers(4, 6))
def test_any_grade_changes_with_every_limit(seed: int, n: int) -> None:
    points = a_yard(seed, n)
    design = a_design(seed, points, "least_dig")
    decision = decide(design, points)
    if abs(decision.margin_m) < 1e-6:
        return
    assert decision.yes == a_line_exists(design, points, straight=False)


@settings(max_examples=150, deadline=None)
@given(seed=st.integers(0, 10**9), n=st.integers(4, 9))
def test_the_line_drawn_keeps_every_limit(seed: int, n: int) -> None:
    points = a_yard(seed, n)
    design = a_design(seed, points, "straight")
    decision = decide(design, points)
    if not decision.yes:
        return
    band, z = decision.band, decision.invert_m
    assert np.all(z <= band.hi_m + 1e-9)
    assert np.all(z >= band.lo_m - 1e-9)
    grades = -np.diff(z) / np.diff(points.at_m)
    assert np.all(grades >= design.grading.min_grade - 1e-9)
    assert np.all(grades <= design.grading.max_grade + 1e-9)


def flat(cover_in: float = 8, **limits) -> tuple[Design, Alignment]:
    at_m = np.linspace(0, 15, 6)
    points = Alignment(at_m, np.full(6, 10.0) - 0.02 * at_m, np.ones(6, dtype=bool))
    design = Design(
        PIPE,
        Start("cover", cover_in * INCH),
        Grading(0.0125),
        Limits(**{"min_cover_m": 6 * INCH, "max_depth_m": 1.0, "outlet_taper_m": 3.0, **limits}),
        Outlet("pop_up", "depth", 0.0, 0.6),
    )
    return design, points


def test_a_start_shallower_than_the_least_cover_says_so() -> None:
    design, points = flat(cover_in=4)
    decision = decide(design, points)
    assert not decision.yes
    assert decision.margin_m == pytest.approx(-2 * INCH)
    assert set(decision.pinch.limits) == {"least cover", "start cover"}


def test_too_many_open_crossings_are_refused() -> None:
    design, points = flat()
    crossings = tuple(Crossing(float(x), "line", 0.5, 0.05, 0.1) for x in range(1, 9))
    with pytest.raises(InputError, match="either way"):
        decide(Design(**{**design.__dict__, "crossings": crossings}), points)
