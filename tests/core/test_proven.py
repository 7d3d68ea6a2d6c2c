"""The short ways of the search for fixes against the long ones."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from scipy.optimize import linprog

from yardfall.core.chance.draws import draw
from yardfall.core.chance.scenario import Case, judge, proven
from yardfall.core.design import Alignment, Design, Grading, Limits, Outlet, Start
from yardfall.core.grading.band import DECISION_SLACK_M
from yardfall.core.grading.decision import decide
from yardfall.core.ground.profile import from_elevations
from yardfall.core.pipes import CATALOGUE
from yardfall.core.uncertainty.accuracy import Accuracy, point_errors
from yardfall.core.units import INCH_M


def a_case(seed: int, shape: str = "straight") -> Case:
    rng = np.random.default_rng(seed)
    n = int(rng.integers(8, 60))
    at_m = np.linspace(0, 15, n)
    ground = from_elevations(at_m, -0.0155 * at_m + rng.normal(0, 0.01, n))
    cover_m = float(rng.uniform(6, 9)) * INCH_M
    design = Design(
        CATALOGUE["corrugated-single-4"],
        Start("cover", cover_m, cover_m - 2 * INCH_M if rng.random() < 0.4 else None),
        Grading(0.0125, shape=shape),  # type: ignore[arg-type]
        Limits(4 * INCH_M, 30 * INCH_M, 3.0),
        Outlet("pop_up", "depth", 0.0, float(rng.uniform(10, 13)) * INCH_M),
    )
    points = Alignment(at_m, ground.elevation_m, np.ones(n, dtype=bool))
    draws = draw(point_errors(Accuracy(sigma_m=0.012), ground, ["r"] * n))
    return Case(design, ground, at_m, points, draws)


@pytest.mark.parametrize("seed", range(20))
def test_the_tightest_points_tell_what_all_of_them_do(seed: int) -> None:
    """At every end: the same yes or no as the 5 % quantile of the margin over all points."""
    case = a_case(seed)
    for end_m in [*case.stations_m[-6:-1].tolist(), None]:
        one = case if end_m is None else case.ended_at(end_m)
        margin_m, decision = judge(replace(one, whole=None))
        assert (proven(one) is not None) == (margin_m >= -DECISION_SLACK_M and decision.yes)


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("breaks", [0, 1, 2])
def test_how_far_the_limits_must_give_for_so_few_breaks(seed: int, breaks: int) -> None:
    """The least give over every set of breaks, one linear program each."""
    rng = np.random.default_rng(seed)
    at_m = np.linspace(0, 12, 7)
    ground_m = -0.03 * at_m + rng.normal(0, 0.06, 7)
    design = Design(
        CATALOGUE["corrugated-single-4"],
        Start("cover", 5 * INCH_M),
        Grading(0.005, shape="least_dig", max_breaks=breaks),
        Limits(4 * INCH_M, 13 * INCH_M, 0.0),
        Outlet("dry_well"),
    )
    decision = decide(design, Alignment(at_m, ground_m, np.ones(7, dtype=bool)))
    if not decision.blocked_by_shape:
        return
    band = decision.band
    gives = []
    for some in combinations(range(1, 6), breaks):
        knots = [0, *some, 6]
        hats = np.column_stack([np.interp(at_m, at_m[knots], one) for one in np.eye(len(knots))])
        free = (band.hi_m != band.lo_m).astype(float)
        falls = np.diff(np.eye(len(knots)), axis=0)
        rows = [
            np.column_stack([hats, 0 * at_m]),
            np.column_stack([-hats, -free]),
            np.column_stack([falls, np.zeros(len(falls))]),
        ]
        most = [band.hi_m, -band.lo_m, -0.005 * np.diff(at_m[knots])]
        bounds = [(None, None)] * len(knots) + [(0, None)]
        cost = np.eye(len(knots) + 1)[-1]
        answer = linprog(cost, np.concatenate(rows), np.concatenate(most), bounds=bounds)
        gives.append(answer.x[-1] if answer.status == 0 else np.inf)
    assert decision.margin_m == pytest.approx(-min(gives), abs=2e-6)


def test_some_of_those_are_blocked() -> None:
    """The cases above hold shortages that only the number of breaks explains."""
    blocked = 0
    for seed in range(8):
        rng = np.random.default_rng(seed)
        at_m = np.linspace(0, 12, 7)
        ground_m = -0.03 * at_m + rng.normal(0, 0.06, 7)
        design = Design(
            CATALOGUE["corrugated-single-4"],
            Start("cover", 5 * INCH_M),
            Grading(0.005, shape="least_dig", max_breaks=1),
            Limits(4 * INCH_M, 13 * INCH_M, 0.0),
            Outlet("dry_well"),
        )
        points = Alignment(at_m, ground_m, np.ones(7, dtype=bool))
        blocked += decide(design, points).blocked_by_shape
    assert blocked >= 2
