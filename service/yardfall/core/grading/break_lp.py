"""Levels of a line's knots for given breaks of grade: many small linear programs at once.

A line with d knots at given stations has d unknown levels z. Its area is c·z with c > 0, and
every limit is a row a·z ≤ b: the band at each profile point, and the two grades of each segment.
The dual simplex method starts from the highest line's levels at the knots, where z meets d rows
and c is a sum of those rows with multipliers y ≥ 0. Each step takes in the row that z passes
most and lets go of the one whose multiplier reaches zero first, so y stays ≥ 0 and

    c·z = y·b ≥ the area of every line that keeps the limits    (weak duality)

throughout: the area only falls, and a set can be dropped as soon as it is no more than a floor.
When no row is passed, z is the best line; when no multiplier would fall, there is none.

C. E. Lemke, The dual method of solving the linear programming problem (1954), from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray
from scipy.optimize import linprog

from yardfall.core.arrays import Floats, Ints
from yardfall.core.grading.band import DECISION_SLACK_M, highest_line

GRADE_SLACK_M: Final = DECISION_SLACK_M / 1000
"""Grades are held closer than the band, so that the rows they imply need not be looked at."""
SMALLEST_PIVOT: Final = 1e-9
PIVOT_LIMIT: Final = 100
"""Steps after which a set goes to the general solver, which cannot cycle; ten are usual."""
STRIDES: Final = (8, 1)
"""Every eighth row is looked at until none of those is passed, then all."""
NO_SOLUTION: Final = 2
"""What scipy.optimize.linprog answers when nothing meets the limits."""


@dataclass(frozen=True, eq=False)
class Rows:
    """The band as rows sign·z(at) ≤ bound in order of station, and the grades.

    Levels are above `datum_m`, the first upper limit, so that rounding is that of the site and
    not of its height above the sea. `x_m` and the highest line `top_m` are (n,); `greatest` may
    be inf. `gives` is 1 for a row that would give way with its limit, else 0. `first` (n,) is the
    first row at or after a profile point, `past` the first beyond it.
    """

    datum_m: float
    x_m: Floats
    top_m: Floats
    least: float
    greatest: float
    at_m: Floats
    sign: Floats
    bound_m: Floats
    gives: Floats
    first: Ints
    past: Ints


def make_rows(
    at_m: Floats,
    lo_m: Floats,
    hi_m: Floats,
    min_grade: float,
    max_grade: float | None,
    stations: Ints,
    gives: NDArray[np.bool_] | None = None,
) -> Rows | None:
    """The rows that no others imply, for lines with knots at `stations`; None: no line at all.

    `gives` (n,): the lower limits that may give way.
    """
    greatest = np.inf if max_grade is None else max_grade
    datum_m = float(hi_m[0])
    lo_m, hi_m = lo_m - datum_m, hi_m - datum_m
    top_m = highest_line(at_m, hi_m, min_grade, greatest)
    if greatest < min_grade or np.any(top_m < lo_m - DECISION_SLACK_M):
        return None
    last = len(at_m) - 1
    turned = last - stations[::-1]
    upper = _binding(at_m, hi_m, min_grade, greatest, stations)
    lower = last - _binding(-at_m[::-1], -lo_m[::-1], min_grade, greatest, turned)
    point = np.concatenate([upper, lower])
    order = np.argsort(point, kind="stable")
    sign = np.repeat([1.0, -1.0], [len(upper), len(lower)])[order]
    point = point[order]
    return Rows(
        datum_m=datum_m,
        x_m=at_m,
        top_m=top_m,
        least=min_grade,
        greatest=greatest,
        at_m=at_m[point],
        sign=sign,
        bound_m=np.where(sign > 0, hi_m[point], -lo_m[point]),
        gives=np.zeros(len(point)) if gives is None else ((sign < 0) & gives[point]).astype(float),
        first=np.searchsorted(point, np.arange(last + 1), side="left"),
        past=np.searchsorted(point, np.arange(last + 1), side="right"),
    )


def _binding(at_m: Floats, hi_m: Floats, least: float, greatest: float, stations: Ints) -> Ints:
    """Points whose upper limit is not implied by those of other points.

    Left out: where the grades alone keep the line below, from an upstream point at the least
    grade or from a downstream one at the greatest; and, between two neighbouring stations, where
    the line is straight, any point off the lower hull.
    """
    point = np.flatnonzero(np.isfinite(hi_m))
    for grade, way in ((least, 1), (greatest, -1)):
        if np.isfinite(grade) and len(point):
            level = (hi_m[point] + grade * at_m[point])[::way]
            lower = level[1:] < np.minimum.accumulate(level)[:-1]
            point = point[np.concatenate([[True], lower])[::way]]
    kept: list[int] = []
    hull, here = 0, -1
    for i, cell in zip(point.tolist(), np.searchsorted(stations, point).tolist(), strict=True):
        if cell != here:
            touching = bool(kept) and kept[-1] == stations[cell - 1]
            hull, here = len(kept) - touching, cell
        while len(kept) - hull >= 2:
            g, h = kept[-2:]
            level_there = (hi_m[h] - hi_m[g]) * (at_m[i] - at_m[g])
            if level_there < (hi_m[i] - hi_m[g]) * (at_m[h] - at_m[g]):
                break
            kept.pop()
        kept.append(i)
    return np.array(kept, dtype=np.int64)


def best_levels(
    rows: Rows, knots: Ints, floor_m2: Floats, *, one: bool = False
) -> tuple[Floats, Floats]:
    """Greatest area (b,) and knot levels (b, d) of the line over each set `knots` (b, d).

    Both are above the rows' datum. `knots` are profile points; the line runs from the first to
    the last. The area is -inf where no line exists, or none with more than `floor_m2` (b,). `one`:
    only the greatest of them all counts, and the rest may be -inf.
    """
    area_m2, z_m, _, stuck = _solve(rows, knots, floor_m2, one)
    for k in np.flatnonzero(stuck):
        area_m2[k], z_m[k] = _general(rows, knots[k])
    return area_m2, z_m


def more_give(rows: Rows, knots: Ints) -> float:
    """How much more the limits that may give must do so for a line over `knots` (d,), at least.

    0 where there is a line. With the rows z meets, the row that no step can take in adds up to
    0 ≥ passed − more·(what gives among them), which is so only for more than that. inf where
    none of them gives, or no answer was reached.
    """
    area_m2, _, more_m, _ = _solve(rows, knots[None, :], np.array([-np.inf]), one=False)
    return 0.0 if np.isfinite(area_m2[0]) else float(more_m[0])


def _solve(
    rows: Rows, knots: Ints, floor_m2: Floats, one: bool
) -> tuple[Floats, Floats, Floats, NDArray[np.bool_]]:
    found: tuple[Floats, Floats, Floats, NDArray[np.bool_]] = _descend_all(
        rows.x_m,
        rows.top_m,
        rows.at_m,
        rows.sign,
        rows.bound_m,
        rows.gives,
        rows.first,
        rows.past,
        rows.least,
        rows.greatest,
        np.ascontiguousarray(knots, dtype=np.int64),
        floor_m2,
        one,
        PIVOT_LIMIT,
    )
    return found


def warm() -> None:
    """Compile the loops below, or load what was compiled before, so that no caller waits."""
    at_m = np.array([0.0, 1.0])
    rows = make_rows(at_m, -2 - at_m, -at_m, 0.01, None, np.array([0, 1]))
    assert rows is not None
    best_levels(rows, np.array([[0, 1]]), np.array([-np.inf]))


@njit(cache=True, nogil=True)
def _descend_all(  # type: ignore[no-untyped-def]
    x, top, at, sign, bound, gives, first, past, least, greatest, knots, floor, one, limit
):
    """Area and levels of each set, the give it lacks, and whether it took too many steps."""
    size, width = knots.shape
    area, levels = np.full(size, -np.inf), np.full((size, width), np.nan)
    more, stuck = np.full(size, np.inf), np.zeros(size, dtype=np.bool_)
    knot, weight, begin = np.empty(width), np.empty(width), np.empty(width, dtype=np.int64)
    z, y, u, give = np.empty(width), np.empty(width), np.empty(width), np.empty(width)
    inverse = np.empty((width, width))
    highest = -np.inf
    for b in range(size):
        for k in range(width):
            knot[k], z[k], begin[k] = x[knots[b, k]], top[knots[b, k]], first[knots[b, k]]
        begin[-1] = past[knots[b, -1]]
        weight[:], inverse[:], give[:] = 0.0, 0.0, 0.0
        for k in range(width - 1):
            weight[k] += (knot[k + 1] - knot[k]) / 2
            weight[k + 1] += (knot[k + 1] - knot[k]) / 2
        for k in range(width):
            y[k], inverse[k, k] = weight[k], 1.0
        floor_now = max(floor[b], highest) if one else floor[b]
        found, stuck[b], more[b] = _descend(
            at, sign, bound, gives, least, greatest, knot, weight, begin, z, y, u, give, inverse,
            floor_now, limit,
        )  # fmt: skip
        if found:
            area[b] = np.sum(weight * z)
            levels[b] = z
            highest = max(highest, area[b])
    return area, levels, more, stuck


@njit(cache=True, nogil=True)
def _descend(  # type: ignore[no-untyped-def]
    at, sign, bound, gives, least, greatest, knot, weight, begin, z, y, u, give, inverse, floor,
    limit,
):  # fmt: skip
    """Bring one set's `z` to where it passes no row.

    Whether it gets there, whether it is stuck, and the give that it lacks.
    """
    for stride in STRIDES:
        steps = 0
        while True:
            area = 0.0
            for k in range(len(z)):
                area += weight[k] * z[k]
            if area <= floor:
                return False, False, np.inf
            if steps == limit:
                return False, True, np.inf
            steps += 1
            passed, near, far, k, row = _most_passed(
                at, sign, bound, least, greatest, knot, begin, z, stride
            )
            if passed == 0:
                break
            out, step = -1, np.inf
            for j in range(len(z)):
                u[j] = near * inverse[k, j] + far * inverse[k + 1, j]
                if u[j] > SMALLEST_PIVOT and y[j] / u[j] < step:
                    out, step = j, y[j] / u[j]
            given = gives[row] if row >= 0 else 0.0
            if out < 0:
                for j in range(len(z)):
                    given -= min(u[j], 0.0) * give[j]
                return False, False, passed / given if given > 0 else np.inf
            give[out] = given
            for j in range(len(z)):
                y[j] = max(y[j] - step * u[j], 0.0)
            y[out] = step
            for i in range(len(z)):
                share = inverse[i, out] / u[out]
                z[i] -= passed * share
                for j in range(len(z)):
                    inverse[i, j] -= share * u[j]
                inverse[i, out] = share
    return True, False, 0.0


@njit(cache=True, nogil=True)
def _most_passed(  # type: ignore[no-untyped-def]
    at, sign, bound, least, greatest, knot, begin, z, stride
):
    """By how much a line passes its worst row, 0 for none; its two terms, segment, row.

    The row is -1 where it is that of a grade.
    """
    passed, row, segment = DECISION_SLACK_M, -1, 0
    for k in range(len(z) - 1):
        grade = (z[k] - z[k + 1]) / (knot[k + 1] - knot[k])
        level = z[k] + grade * knot[k]
        for r in range(begin[k], begin[k + 1], stride):
            outside = (level - grade * at[r]) * sign[r] - bound[r]
            if outside > passed:
                passed, row, segment = outside, r, k
    near, far = 0.0, 0.0
    if row < 0:
        passed = 0.0
    else:
        t = (at[row] - knot[segment]) / (knot[segment + 1] - knot[segment])
        near, far = sign[row] * (1 - t), sign[row] * t
    for k in range(len(z) - 1):
        length, fall = knot[k + 1] - knot[k], z[k] - z[k + 1]
        if least * length - fall > max(passed, GRADE_SLACK_M):
            passed, near, far, segment = least * length - fall, -1.0, 1.0, k
            row = -1
        if fall - greatest * length > max(passed, GRADE_SLACK_M):
            passed, near, far, segment = fall - greatest * length, 1.0, -1.0, k
            row = -1
    return passed, near, far, segment, row


def _general(rows: Rows, knots: Ints) -> tuple[float, Floats]:
    """Area and levels (d,) of one set by the general solver.

    Rows that upstream ones imply are not among its own, so the highest line bounds its knots.
    """
    x = rows.x_m[knots]
    part = slice(rows.first[knots[0]], rows.past[knots[-1]])
    hats = np.array([np.interp(rows.at_m[part], x, one) for one in np.eye(len(x))]).T
    fall = -np.diff(np.eye(len(x)), axis=0)
    limits = [rows.sign[part, None] * hats, -fall]
    bounds = [rows.bound_m[part], -rows.least * np.diff(x)]
    if np.isfinite(rows.greatest):
        limits.append(fall)
        bounds.append(rows.greatest * np.diff(x))
    weight = np.convolve(np.diff(x), [0.5, 0.5])
    answer = linprog(
        -weight,
        np.concatenate(limits),
        np.concatenate(bounds),
        bounds=[(None, top) for top in rows.top_m[knots]],
        options={"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10},
    )
    if answer.status == NO_SOLUTION:
        return -np.inf, np.full(len(x), np.nan)
    if answer.status != 0:
        raise RuntimeError(answer.message)
    z = np.asarray(answer.x)
    return float(weight @ z), z
