"""The line that digs least: at most K changes of grade, at stations, proven to be the best.

Width and ground are given, so the least trench volume is the greatest area under the invert,
∫z dx. For a given set of breaks that is a linear program in the K + 2 knot levels. The sets are
too many to solve one by one (1.3 million for K = 3 among 200 stations), so most are ruled out by
a bound. Three bounds are used, and each is exact in the sense that it is never below the area of
any line it speaks for:

1. A dual simplex step never passes below the optimum: a multiplier y ≥ 0 with yA = c gives
   c·z = y·A·z ≤ y·b for every line z that keeps the limits A·z ≤ b (weak duality). Each step
   lowers y·b, so a set is dropped as soon as y·b is no more than the best area known.
2. A line cut in two at a break is a line on each half, so its area is at most the sum of the
   best areas of the halves when they need not meet. Cut at every break this gives chords, and
   the best chain of chords through a station follows by recursion on the number of breaks.
   Cut at one middle break only, the halves keep their own breaks and the bound is close.
3. No line is above the highest line, so a chord loses at least what it loses against that.

The search holds the best line found so far. It drops a chord, a half or a whole set only where
such a bound is no more than that line's area plus `DECISION_SLACK_M` times the length, and it
solves every set that is left. What it returns is therefore within that much of the optimum over
all sets. Lines with fewer breaks are searched first, and a break that gains no more is not used.

Method: G. B. Dantzig, Linear Programming and Extensions (1963), ch. 6 (duality), and C. E. Lemke,
The dual method of solving the linear programming problem (1954); both cited from memory.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from math import comb
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from yardfall.core.band import DECISION_SLACK_M, highest_line
from yardfall.core.route import Floats

Ints = NDArray[np.int64]

GRADE_SLACK_M: Final = DECISION_SLACK_M / 1000
"""Grades are held closer than levels, since limits implied by others are not looked at."""
PIVOT_LIMIT: Final = 100
"""Steps after which a set goes to the general solver, which can't cycle. Ten are usual."""
SMALLEST_PIVOT: Final = 1e-9
FEW_SETS: Final = 500
"""Up to this many sets of breaks are simply all solved."""
ROWS_AT_ONCE: Final = 200_000
"""Limits looked at in one go: what fits the processor's cache."""


@dataclass(frozen=True, eq=False)
class GradedLine:
    """A pipe's line: knots (start, breaks, end), invert (n,) at every point, ∫ invert dx."""

    at_m: tuple[float, ...]
    z_m: tuple[float, ...]
    invert_m: Floats
    area_m2: float


@dataclass(frozen=True, eq=False)
class Rows:
    """The limits as rows sign·z(at) ≤ bound, in order of station, for knots at some stations.

    `first` (n,) is the first row at or after a profile point, `past` the first one beyond it.
    `top_m` (n,) is the highest line. `least` and `greatest` are grades; `greatest` may be inf.
    """

    x_m: Floats
    top_m: Floats
    least: float
    greatest: float
    at_m: Floats
    sign: Floats
    bound_m: Floats
    first: Ints
    past: Ints


def least_dig(
    at_m: Floats,
    lo_m: Floats,
    hi_m: Floats,
    min_grade: float,
    max_grade: float | None,
    break_index: Ints,
    max_breaks: int,
) -> GradedLine | None:
    """The line with the greatest area among all with at most `max_breaks` changes of grade.

    at_m, lo_m, hi_m (n,): stations from 0, strictly increasing, and the invert's band; lo_m may
    be -inf. Grades are ratios, positive downhill. `break_index`: sorted points in 1..n-2 where
    the grade may change. None when no line has so few breaks.
    """
    stations = np.concatenate([[0], break_index, [len(at_m) - 1]]).astype(np.int64)
    rows = make_rows(at_m, lo_m, hi_m, min_grade, max_grade, stations)
    if rows is None:
        return None
    search = _Search(rows, stations)
    ceiling_m2 = float(np.trapezoid(rows.top_m, at_m)) - search.tie_m2
    for breaks in range(min(max_breaks, len(break_index)) + 1):
        search.run(breaks)
        if search.area_m2 >= ceiling_m2:
            break
    if search.picks is None:
        return None
    return least_dig_with_breaks(
        at_m, lo_m, hi_m, min_grade, max_grade, [int(i) for i in stations[search.picks]]
    )


def least_dig_with_breaks(
    at_m: Floats,
    lo_m: Floats,
    hi_m: Floats,
    min_grade: float,
    max_grade: float | None,
    breaks: Sequence[int],
) -> GradedLine | None:
    """The line with the greatest area whose grade changes at `breaks` only; None when none."""
    knots = np.array([0, *breaks, len(at_m) - 1], dtype=np.int64)
    rows = make_rows(at_m, lo_m, hi_m, min_grade, max_grade, knots)
    if rows is None:
        return None
    area_m2, z_m = solve(rows, knots[None, :], np.array([-np.inf]))
    if not np.isfinite(area_m2[0]):
        return None
    return GradedLine(
        at_m=tuple(at_m[knots].tolist()),
        z_m=tuple(z_m[0].tolist()),
        invert_m=np.interp(at_m, at_m[knots], z_m[0]),
        area_m2=float(area_m2[0]),
    )


def make_rows(
    at_m: Floats,
    lo_m: Floats,
    hi_m: Floats,
    min_grade: float,
    max_grade: float | None,
    stations: Ints,
) -> Rows | None:
    """The limits that no others imply, for knots at `stations`; None when no line exists."""
    greatest = np.inf if max_grade is None else max_grade
    top_m = highest_line(at_m, hi_m, min_grade, greatest)
    if greatest < min_grade or np.any(top_m < lo_m - DECISION_SLACK_M):
        return None
    last = len(at_m) - 1
    upper = _binding(at_m, hi_m, min_grade, greatest, stations)
    lower = last - _binding(-at_m[::-1], -lo_m[::-1], min_grade, greatest, last - stations[::-1])
    point = np.concatenate([upper, lower])
    sign = np.repeat([1.0, -1.0], [len(upper), len(lower)])
    bound_m = np.concatenate([hi_m[upper], -lo_m[lower]])
    order = np.argsort(point, kind="stable")
    point = point[order]
    points = np.arange(last + 1)
    return Rows(
        x_m=at_m,
        top_m=top_m,
        least=min_grade,
        greatest=greatest,
        at_m=at_m[point],
        sign=sign[order],
        bound_m=bound_m[order],
        first=np.searchsorted(point, points, side="left"),
        past=np.searchsorted(point, points, side="right"),
    )


def _binding(at_m: Floats, hi_m: Floats, least: float, greatest: float, stations: Ints) -> Ints:
    """Points whose upper limit is not implied by other points' and the grades.

    A point is left out when the line from an upstream one at the least grade, or from a
    downstream one at the greatest, keeps it; or when, between two neighbouring stations, where
    the line is straight, it is not on the lower hull of the others.
    """
    point = np.flatnonzero(np.isfinite(hi_m))
    level = hi_m[point] + least * at_m[point]
    point = point[level < np.concatenate([[np.inf], np.minimum.accumulate(level)[:-1]])]
    if np.isfinite(greatest):
        level = (hi_m[point] + greatest * at_m[point])[::-1]
        below = level < np.concatenate([[np.inf], np.minimum.accumulate(level)[:-1]])
        point = point[below[::-1]]
    kept: list[int] = []
    is_station = np.isin(point, stations)
    hull = 0
    for i, fixed in zip(point.tolist(), is_station.tolist(), strict=True):
        while len(kept) - hull >= 2:
            h, j = kept[-2], kept[-1]
            if (hi_m[j] - hi_m[h]) * (at_m[i] - at_m[h]) < (hi_m[i] - hi_m[h]) * (
                at_m[j] - at_m[h]
            ):
                break
            kept.pop()
        kept.append(i)
        hull = hull
        if fixed:
            hull = len(kept) - 1
    return np.array(kept, dtype=np.int64)
