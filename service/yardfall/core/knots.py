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

from dataclasses import dataclass, fields
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from yardfall.core.band import DECISION_SLACK_M, highest_line
from yardfall.core.route import Floats

Ints = NDArray[np.int64]

GRADE_SLACK_M: Final = DECISION_SLACK_M / 1000
"""Grades are held closer than the band, so that the rows they imply need not be looked at."""
SMALLEST_PIVOT: Final = 1e-9
PIVOT_LIMIT: Final = 100
"""Steps after which a set goes to the general solver, which cannot cycle; ten are usual."""
STRIDES: Final = (8, 1)
"""Every eighth row is looked at until none of those is passed, then all."""
NO_SOLUTION: Final = 2
"""What scipy.optimize.linprog answers when nothing meets the limits."""
ROWS_AT_ONCE: Final = 200_000
"""Rows looked at in one go; sets are shared out so that these stay in the processor's cache."""


@dataclass(frozen=True, eq=False)
class Rows:
    """The band as rows sign·z(at) ≤ bound in order of station, and the grades.

    Levels are above `datum_m`, the first upper limit, so that rounding is that of the site and
    not of its height above the sea. `x_m` and the highest line `top_m` are (n,); `greatest` may
    be inf. `first` (n,) is the first row at or after a profile point, `past` the first beyond it.
    """

    datum_m: float
    x_m: Floats
    top_m: Floats
    least: float
    greatest: float
    at_m: Floats
    sign: Floats
    bound_m: Floats
    first: Ints
    past: Ints


@dataclass(eq=False)
class _Sets:
    """Sets of knots (b, d) on their way. `inverse` (b, d, d) is that of the rows z meets."""

    place: Ints
    floor_m2: Floats
    x: Floats
    weight: Floats
    first: Ints
    count: Ints
    z: Floats
    y: Floats
    inverse: Floats

    def only(self, chosen: NDArray[np.bool_]) -> _Sets:
        return _Sets(*(getattr(self, part.name)[chosen] for part in fields(self)))

    @property
    def area_m2(self) -> Floats:
        area: Floats = np.sum(self.weight * self.z, axis=1)
        return area


def make_rows(
    at_m: Floats,
    lo_m: Floats,
    hi_m: Floats,
    min_grade: float,
    max_grade: float | None,
    stations: Ints,
) -> Rows | None:
    """The rows that no others imply, for lines with knots at `stations`; None: no line at all."""
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


def best_levels(rows: Rows, knots: Ints, floor_m2: Floats) -> tuple[Floats, Floats]:
    """Greatest area (b,) and knot levels (b, d) of the line over each set `knots` (b, d).

    Both are above the rows' datum. `knots` are profile points; the line runs from the first to
    the last. The area is -inf where no line exists, or none with more than `floor_m2` (b,).
    """
    area_m2 = np.full(len(knots), -np.inf)
    z_m = np.full(knots.shape, np.nan)
    looked_at = np.cumsum(rows.past[knots[:, -1]] - rows.first[knots[:, 0]])
    shares = np.flatnonzero(np.diff(looked_at // ROWS_AT_ONCE)) + 1
    for share in np.split(np.arange(len(knots)), shares):
        sets = _start(rows, knots[share], share, floor_m2[share])
        for stride in STRIDES:
            sets, stuck = _descend(rows, sets, stride)
            for k in stuck:
                area_m2[k], z_m[k] = _general(rows, knots[k])
        area_m2[sets.place], z_m[sets.place] = sets.area_m2, sets.z
    return area_m2, z_m


def _start(rows: Rows, knots: Ints, place: Ints, floor_m2: Floats) -> _Sets:
    """Every set at the highest line's levels."""
    size, width = knots.shape
    x = rows.x_m[knots]
    weight = np.zeros((size, width))
    weight[:, :-1] += np.diff(x) / 2
    weight[:, 1:] += np.diff(x) / 2
    first, past = rows.first[knots[:, :-1]], rows.first[knots[:, 1:]]
    past[:, -1] = rows.past[knots[:, -1]]
    inverse = np.tile(np.eye(width), (size, 1, 1))
    z = rows.top_m[knots]
    return _Sets(place, floor_m2, x, weight, first, past - first, z, weight.copy(), inverse)


def _descend(rows: Rows, sets: _Sets, stride: int) -> tuple[_Sets, Ints]:
    """The sets brought to where they pass none of every `stride`-th row, and the stuck ones."""
    met = [sets.only(np.zeros(len(sets.place), dtype=np.bool_))]
    for _ in range(PIVOT_LIMIT):
        sets = sets.only(sets.area_m2 > sets.floor_m2)
        if not len(sets.place):
            break
        passed, taken = _most_passed(rows, sets, stride)
        met.append(sets.only(passed == 0))
        sets = _step(sets, passed, taken)
    names = [part.name for part in fields(sets)]
    joined = (np.concatenate([getattr(part, name) for part in met]) for name in names)
    return _Sets(*joined), sets.place


def _most_passed(rows: Rows, sets: _Sets, stride: int) -> tuple[Floats, Floats]:
    """By how much each line passes its worst row (b,), 0 for none, and that row (b, d)."""
    each = np.arange(len(sets.place))
    length = np.diff(sets.x)
    fall = -np.diff(sets.z)
    passed, row, segment = _most_outside(rows, sets, fall / length, stride)
    t = (rows.at_m[row] - sets.x[each, segment]) / length[each, segment]
    near, far = rows.sign[row] * (1 - t), rows.sign[row] * t
    for excess, way in ((rows.least * length - fall, -1), (fall - rows.greatest * length, 1)):
        k = np.argmax(excess, axis=1)
        worst = excess[each, k]
        worse = worst > np.maximum(passed, GRADE_SLACK_M)
        passed, segment = np.where(worse, worst, passed), np.where(worse, k, segment)
        near, far = np.where(worse, way, near), np.where(worse, -way, far)
    taken = np.zeros_like(sets.z)
    taken[each, segment], taken[each, segment + 1] = near, far
    return passed, taken


def _most_outside(rows: Rows, sets: _Sets, grade: Floats, stride: int) -> tuple[Floats, Ints, Ints]:
    """How far each line is outside the band (b,), 0 if inside; the row and segment where."""
    size, segments = sets.count.shape
    count = -(-sets.count // stride)
    each = count.ravel()
    ends = np.cumsum(each)
    row = np.arange(ends[-1]) * stride
    row += np.repeat(sets.first.ravel() - (ends - each) * stride, each)
    outside = np.repeat((sets.z[:, :-1] + grade * sets.x[:, :-1]).ravel(), each)
    outside -= np.repeat(grade.ravel(), each) * rows.at_m[row]
    outside *= rows.sign[row]
    outside -= rows.bound_m[row]
    of_set = count.sum(axis=1)
    some = of_set > 0
    most = np.full(size, -np.inf)
    most[some] = np.maximum.reduceat(outside, (ends[segments - 1 :: segments] - of_set)[some])
    worst = np.flatnonzero(outside == np.repeat(most, of_set))
    owner = np.searchsorted(ends, worst, side="right")
    chosen, segment = np.zeros((2, size), dtype=np.int64)
    chosen[owner // segments] = row[worst]
    segment[owner // segments] = owner % segments
    return np.where(most > DECISION_SLACK_M, most, 0.0), chosen, segment


def _step(sets: _Sets, passed: Floats, taken: Floats) -> _Sets:
    """Take in the row each set passes; sets that pass none, and those with no line, are left."""
    u = np.einsum("bi,bij->bj", taken, sets.inverse)
    ratio = np.divide(sets.y, u, out=np.full_like(u, np.inf), where=u > SMALLEST_PIVOT)
    on = (passed > 0) & np.isfinite(ratio.min(axis=1))
    sets, passed, u, ratio = sets.only(on), passed[on], u[on], ratio[on]
    each, out = np.arange(len(u)), np.argmin(ratio, axis=1)
    step = ratio[each, out]
    column = sets.inverse[each, :, out] / u[each, out, None]
    sets.z -= passed[:, None] * column
    sets.y = np.maximum(sets.y - step[:, None] * u, 0.0)
    sets.y[each, out] = step
    sets.inverse -= column[:, :, None] * u[:, None, :]
    sets.inverse[each, :, out] = column
    return sets


def _general(rows: Rows, knots: Ints) -> tuple[float, Floats]:
    """Area and levels (d,) of one set by the general solver."""
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
        bounds=(None, None),
        options={"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10},
    )
    if answer.status == NO_SOLUTION:
        return -np.inf, np.full(len(x), np.nan)
    if answer.status != 0:
        raise RuntimeError(answer.message)
    z = np.asarray(answer.x)
    return float(weight @ z), z
