"""The decision, the draws and the line that digs least, each against a general-purpose solver.

    python tests/bench/bench_decision.py

Prints medians and ratios measured in this run; nothing here is a timed test.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

import numpy as np
from scipy.optimize import linprog
from scipy.sparse import diags, vstack

from yardfall.core.chance.chance import find_chance
from yardfall.core.chance.draws import draw
from yardfall.core.design import Alignment, Design, Grading, Limits, Outlet, Start
from yardfall.core.grading.band import Band, find_pinch
from yardfall.core.grading.decision import decide
from yardfall.core.ground.profile import from_elevations
from yardfall.core.pipes import CATALOGUE
from yardfall.core.uncertainty.accuracy import Accuracy, point_errors

ROUNDS = 7


def median_ms(work: Callable[[], object], repeats: int = 1) -> float:
    """Median milliseconds of one call."""
    times = []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        for _ in range(repeats):
            work()
        times.append((time.perf_counter() - began) / repeats * 1000)
    return statistics.median(times)


def wide_band(n: int) -> Band:
    rng = np.random.default_rng(2)
    at_m = np.arange(n, dtype=float)
    middle = -0.02 * at_m + rng.normal(0, 0.1, n)
    return Band(at_m, middle + 1, middle - 1, ("hi",) * n, ("lo",) * n, 0.0125, 0.05)


def decision_against_linprog() -> None:
    band = wide_band(1000)
    n, d = 1000, np.diff(band.at_m)
    falls = diags([-np.ones(n - 1), np.ones(n - 1)], [0, 1], shape=(n - 1, n), format="csr")
    rows = vstack([falls, -falls])
    most = np.concatenate([-band.least_grade * d, band.greatest_grade * d])
    bounds = np.column_stack([band.lo_m, band.hi_m])
    solver = median_ms(lambda: linprog(np.zeros(n), rows, most, bounds=bounds))
    ours = median_ms(lambda: find_pinch(band), 50)
    print(f"decision on 1,000 points: {ours:.3f} ms; scipy linprog (HiGHS, sparse) {solver:.1f} ms")
    print(f"  ratio {solver / ours:.0f} x faster (bar: 100 x)")


def a_yard(n: int, shape: str, breaks: int = 2) -> tuple[Design, Alignment]:
    rng = np.random.default_rng(4)
    at_m = np.linspace(0, n * 1.0, n)
    ground_m = -0.02 * at_m + rng.normal(0, 0.05, n)
    design = Design(
        CATALOGUE["corrugated-single-4"],
        Start("cover", 0.25),
        Grading(0.0125, 0.06, shape=shape, max_breaks=breaks),
        Limits(0.15, 2.5, 3.0),
        Outlet("daylight", "depth", 0.0, 2.5),
    )
    return design, Alignment(at_m, ground_m, np.ones(n, dtype=bool))


def draws_of_200_points() -> None:
    design, points = a_yard(200, "straight")
    ground = from_elevations(points.at_m, points.ground_m)
    model = point_errors(Accuracy(sigma_m=0.01), ground, ["r"] * 200)
    decision = decide(design, points)

    def chance() -> None:
        draws = draw(model)
        find_chance(design, [decision.band], draws, yes=decision.yes)

    took = median_ms(chance)
    print(f"4,000 draws of 200 points: {took:.0f} ms (bar: 50 ms)")


def least_dig_of_200_stations() -> None:
    for breaks in (0, 1, 2):
        design, points = a_yard(200, "least_dig", breaks)
        took = median_ms(lambda d=design, p=points: decide(d, p))
        print(f"least_dig, 200 stations, {breaks} breaks: {took:.0f} ms (bar at 2: 1,000 ms)")


if __name__ == "__main__":
    decision_against_linprog()
    draws_of_200_points()
    least_dig_of_200_stations()
