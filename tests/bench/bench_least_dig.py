"""The line that digs least, against scipy's solvers and against trying every set.

    python tests/bench/bench_least_dig.py

Prints what this run measured, with the baseline named beside each ratio; nothing here is a timed
test. Baselines: `milp` is the whole choice as one mixed-integer program (scipy.optimize.milp,
HiGHS); "one by one" is a linear program for each set (scipy.optimize.linprog, HiGHS), timed on a
sample and multiplied up to the number of sets; "no bounds" solves every set with our own solver.
"""

from __future__ import annotations

import resource
import sys
import time
from collections.abc import Callable
from itertools import combinations
from math import comb
from pathlib import Path
from typing import NamedTuple, TypeVar

import numpy as np

from yardfall.core import compiled
from yardfall.core.arrays import Floats
from yardfall.core.grading.break_lp import best_levels, make_rows
from yardfall.core.grading.least_dig import GradedLine, least_dig
from yardfall.core.grading.one_break import fits_one_break, one_break_margin

sys.path.insert(0, str(Path(__file__).parents[1] / "core" / "grading"))
from test_least_dig import reference_lp, reference_milp

Answer = TypeVar("Answer")

ROUNDS = 3
SAMPLE = 60
MILP_SECONDS = 60
GROUNDS = 100


class Site(NamedTuple):
    """What `least_dig` takes, but the number of breaks."""

    at_m: Floats
    lo_m: Floats
    hi_m: Floats
    min_grade: float
    max_grade: float | None
    break_index: np.ndarray


def a_yard(shape: str, points: int, stations: int) -> Site:
    """60 m of made-up ground falling 2 %: with 2 cm of noise, in long waves, or as a bowl."""
    rng = np.random.default_rng(8)
    at_m = np.linspace(0, 60, points)
    ground_m = -0.02 * at_m
    for wave in range(1, 8):
        ground_m += rng.normal(0, 0.25 / wave) * np.sin(wave * at_m / 19 + rng.uniform(0, 6.28))
    if shape == "noisy":
        ground_m += rng.normal(0, 0.02, points)
    if shape == "bowl":
        ground_m = 0.0004 * (60 - at_m) ** 2
    breaks = np.unique(np.linspace(1, points - 2, stations).round().astype(np.int64))
    hi_m = ground_m - 0.25
    return Site(at_m, hi_m - 0.9, hi_m, 0.005, 0.15, breaks)


def best_seconds(work: Callable[[], object]) -> float:
    """Least wall time of a few rounds."""
    times = []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        work()
        times.append(time.perf_counter() - began)
    return min(times)


def once(work: Callable[[], Answer]) -> tuple[float, Answer]:
    """Wall time of one round, and what it gave."""
    began = time.perf_counter()
    answer = work()
    return time.perf_counter() - began, answer


def a_typical_yard() -> None:
    site = a_yard("noisy", 120, 10)
    took = best_seconds(lambda: [least_dig(*site, breaks) for breaks in range(4)])
    print(f"10 stations, 120 points, 0 to 3 breaks together: {took * 1000:.0f} ms (bar: 50 ms)")


def against_milp() -> None:
    for breaks in (2, 3):
        site = a_yard("noisy", 120, 30)
        ours = best_seconds(lambda s=site, k=breaks: least_dig(*s, k))
        solver, area = once(lambda s=site, k=breaks: reference_milp(*s, k))
        gap = area_of(least_dig(*site, breaks)) - (area if area is not None else -np.inf)
        print(
            f"30 stations, 120 points, {breaks} breaks: {ours * 1000:.0f} ms; "
            f"milp {solver:.2f} s, {solver / ours:.0f} x; areas differ by {gap:.1e} m2"
        )


def against_milp_of_five_breaks() -> None:
    site = a_yard("waves", 500, 250)
    took, line = once(lambda: least_dig(*site, 5))
    solver, area = once(lambda: milp_for(site, 5, MILP_SECONDS))
    print(
        f"waves, 250 stations, 5 breaks: {took:.2f} s; milp {solver:.0f} s of {MILP_SECONDS} s at "
        f"the most, {solver / took:.0f} x; its area is {area_of(line) - area:.1e} m2 less"
    )


def area_of(line: GradedLine | None) -> float:
    return -np.inf if line is None else line.area_m2


def at_full_size() -> None:
    rng = np.random.default_rng(1)
    for shape in ("noisy", "waves", "bowl"):
        site = a_yard(shape, 1000, 200)
        stations = np.concatenate([[0], site.break_index, [999]])
        for breaks, bar in ((2, "bar: 1 s"), (3, "aim: 10 s")):
            ours = best_seconds(lambda s=site, k=breaks: least_dig(*s, k))
            sets = comb(len(site.break_index), breaks)
            sample = [
                np.sort(rng.choice(site.break_index, breaks, replace=False)) for _ in range(SAMPLE)
            ]
            each, _ = once(lambda s=site, m=sample: [reference_lp(*s[:5], one) for one in m])
            baseline = each / SAMPLE * sets
            print(
                f"{shape}, 200 stations, 1,000 points, {breaks} breaks: {ours:.2f} s ({bar}); "
                f"linprog one by one, {sets:,} sets from a sample of {SAMPLE}: {baseline:,.0f} s, "
                f"{baseline / ours:,.0f} x"
            )
        rows = make_rows(*site[:5], stations)
        assert rows is not None
        pairs = np.array([[0, i, j, 999] for i, j in combinations(site.break_index.tolist(), 2)])
        floor = np.full(len(pairs), -np.inf)
        took, (area, _) = once(lambda r=rows, p=pairs, f=floor: best_levels(r, p, f))
        gap = area_of(least_dig(*site, 2)) - (area.max() + rows.datum_m * site.at_m[-1])
        print(f"  2 breaks with no bounds: {took:.2f} s; areas differ by {gap:.1e} m2")


def at_most_stations() -> None:
    """What a request may ask for at the most; memory is how much the process's peak rises."""
    compiled.warm()
    for stations in (500, 2000):
        for shape in ("noisy", "waves", "bowl"):
            site = a_yard(shape, 2 * stations, stations)
            before_mb = peak_mb()
            took, line = once(lambda s=site: least_dig(*s, 5))
            assert line is not None
            print(
                f"{shape}, {stations:,} stations, {2 * stations:,} points, 5 breaks: {took:.2f} s "
                f"(bar: 2 s), {peak_mb() - before_mb:.0f} MB more (bar: 100 MB); "
                f"any line has {line.more_m2:.1e} m2 more at the most"
            )


def milp_for(site: Site, breaks: int, seconds: float) -> float:
    """Area that scipy.optimize.milp finds within a time; -inf for none."""
    answer = reference_milp(*site, breaks, seconds)
    return -np.inf if answer is None else answer


def peak_mb() -> float:
    """Greatest memory of this process so far."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def one_change_on_many_grounds() -> None:
    """200 points, 50 places for the change: ours, and scipy's linprog for each place."""
    rng = np.random.default_rng(1)
    at_m = np.linspace(0, 40, 200)
    collides = np.ones(200, dtype=bool)
    places = np.linspace(4, 195, 50).astype(np.int64)
    for depth_m in (1.0, 0.2):
        grounds = []
        for _ in range(GROUNDS):
            ground_m = -0.02 * at_m + 0.15 * np.sin(at_m / 6) + np.cumsum(rng.normal(0, 0.004, 200))
            hi_m, lo_m = ground_m, ground_m - depth_m
            lo_m[0] = hi_m[0]
            grounds.append((at_m, hi_m, lo_m, collides, hi_m[0], hi_m[0], 0.01, np.inf, places))
        fit = best_seconds(lambda g=grounds: [fits_one_break(*one) for one in g]) / GROUNDS
        best = best_seconds(
            lambda g=grounds: [
                one_break_margin(*one, np.inf, np.empty(3), np.zeros(1, np.uint8)) for one in g
            ]
        )
        limits = at_m, grounds[0][2], grounds[0][1], 0.01, None
        each, _ = once(lambda g=limits: [reference_lp(*g, [b]) for b in places])
        print(
            f"one change at 50 places, 200 points, {depth_m} m deep: fits {fit * 1e6:.0f} us, "
            f"margin {best / GROUNDS * 1e6:.0f} us; linprog {each * 1e3:.0f} ms, "
            f"{each / best * GROUNDS:,.0f} x"
        )


if __name__ == "__main__":
    at_most_stations()
    a_typical_yard()
    against_milp()
    against_milp_of_five_breaks()
    at_full_size()
    one_change_on_many_grounds()
