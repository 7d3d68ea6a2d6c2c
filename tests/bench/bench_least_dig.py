"""The line that digs least, against scipy's solvers and against trying every set.

    python tests/bench/bench_least_dig.py

Prints what this run measured, with the baseline named beside each ratio; nothing here is a timed
test. Baselines: `milp` is the whole choice as one mixed-integer program (scipy.optimize.milp,
HiGHS); "one by one" is a linear program for each set (scipy.optimize.linprog, HiGHS), timed on a
sample and multiplied up to the number of sets; "no bounds" solves every set with our own solver.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from itertools import combinations
from math import comb
from pathlib import Path
from typing import NamedTuple, TypeVar

import numpy as np

from yardfall.core.knots import best_levels, make_rows
from yardfall.core.least_dig import GradedLine, least_dig
from yardfall.core.route import Floats

sys.path.insert(0, str(Path(__file__).parents[1] / "core"))
from test_least_dig import reference_lp, reference_milp

Answer = TypeVar("Answer")

ROUNDS = 3
SAMPLE = 60


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


if __name__ == "__main__":
    a_typical_yard()
    against_milp()
    at_full_size()
