"""The line that digs least, with at most so many changes of grade: a mixed-integer program."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

from .lines import Band, _runs

STEEPEST = 20.0  # fall per length: a bound for the solver, no trench is so steep


def weights(x: np.ndarray) -> np.ndarray:
    """(n,) lengths by which depths at points make the area seen from the side (trapezoids)."""
    half = np.diff(x) / 2
    return np.append(half, 0) + np.insert(half, 0, 0)


def _program(band: Band, places: Sequence[int]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Rows and bounds of lo ≤ z ≤ hi, and how z (n,) hangs on (a, grades)."""
    z = np.column_stack([np.ones(len(band.x)), -_runs(band.x, places)])
    start = 0 if band.start is None else 1
    rows, bounds = [], []
    for i in range(start, len(band.x)):
        if np.isfinite(band.hi[i]):
            rows.append(z[i])
            bounds.append(band.hi[i])
        if np.isfinite(band.lo[i]):
            rows.append(-z[i])
            bounds.append(-band.lo[i])
    return np.array(rows), np.array(bounds), z


def _area(band: Band, surface: np.ndarray, places: Sequence[int]) -> float:
    rows, bounds, z = _program(band, places)
    w = weights(band.x)
    steepest = STEEPEST if band.greatest is None else band.greatest
    answer = linprog(
        -(w @ z), A_ub=rows, b_ub=bounds,
        bounds=[band.begins, *([(band.least, steepest)] * (z.shape[1] - 1))], method="highs",
    )  # fmt: skip
    return float(w @ surface + answer.fun) if answer.status == 0 else np.inf


def least_area_by_sets(band: Band, surface: np.ndarray, places: Sequence[int], most: int) -> float:
    """Least side area (m²) between `surface` less line, by trying every set of changes."""
    sets = (s for k in range(most + 1) for s in itertools.combinations(places, k))
    return min(_area(band, surface, some) for some in sets)


def least_area(band: Band, surface: np.ndarray, places: Sequence[int], most: int) -> float:
    """The same by a mixed-integer program: a change at a place only where its binary is 1."""
    rows, bounds, z = _program(band, places)
    k, m = z.shape[1], len(places)
    w = weights(band.x)
    steepest = STEEPEST if band.greatest is None else band.greatest
    room = steepest - band.least
    links = np.zeros((2 * m + 1, k + m))
    for j in range(m):
        for side, sign in enumerate((1, -1)):
            links[2 * j + side, 1 + j] = sign
            links[2 * j + side, 2 + j] = -sign
            links[2 * j + side, k + j] = -room
    links[-1, k:] = 1
    top = np.append(np.zeros(2 * m), most)
    a_low, a_high = band.begins
    a_low, a_high = (-np.inf if a_low is None else a_low, np.inf if a_high is None else a_high)
    answer = milp(
        np.append(-(w @ z), np.zeros(m)),
        constraints=[
            LinearConstraint(np.column_stack([rows, np.zeros((len(rows), m))]), ub=bounds),
            LinearConstraint(links, ub=top),
        ],
        bounds=Bounds(
            [a_low, *([band.least] * (k - 1)), *([0] * m)],
            [a_high, *([steepest] * (k - 1)), *([1] * m)],
        ),
        integrality=[0] * k + [1] * m,
        options={"mip_rel_gap": 0},
    )
    if answer.x is None:
        return np.inf
    chosen = [p for p, b in zip(places, answer.x[k:], strict=True) if b > 0.5]
    return _area(band, surface, chosen)  # free of the binaries' tolerance
