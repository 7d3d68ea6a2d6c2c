"""The margin of a line with one change of grade at the most, where that may be at some stations.

For a change at point b the line is z₀ at the start, z_b, and z_e at the end, straight between. Its
margin m is the most by which every lower limit may rise:

    z_i ≤ hi_i,  z_i ≥ lo_i + m,  s ≤ grades ≤ S,  start ≤ z₀ ≤ highest,

a linear program of four unknowns, solved from above as in `break_lp`: every step's m is a bound, so
a place for the change is given up as soon as it cannot beat the best one so far. As in `straight`,
a point's one limit with a range, which only the outlet's depth is, is not held against itself.
Where m is more than that range, two lines tell m, and the less of them counts: one whose upper end
gives way there to lo_i + m, and one that keeps the upper end but not the lower: what the outlet
must lie deep at the least still draws the line down on its way there. And m is no more than what
the greatest grade leaves from the start, hi_i − (z₀ − S·x_i), nor than the room between two limits
on the start.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from yardfall.core import deadline
from yardfall.core.arrays import Floats
from yardfall.core.grading.band import DECISION_SLACK_M, Band

CLOSE_M: Final = DECISION_SLACK_M / 100
STEPS: Final = 200
"""Steps of one program at the most, ten are usual; one that takes more counts as no line."""
TRIED_FIRST: Final = 16
"""Points that broke a limit last, looked at before all others: they rule out most places."""
SMALLEST_PIVOT: Final = 1e-11


def fits_one_break(
    at_m: Floats,
    hi_m: Floats,
    lo_m: Floats,
    collides: NDArray[np.bool_],
    start_m: float,
    highest_m: float,
    min_grade: float,
    max_grade: float,
    candidates: NDArray[np.int64],
) -> bool:
    """Whether a line from a start between two levels keeps the limits (n,), with one break or none.

    `collides` (n,) as in `band.Band`; `max_grade` may be inf; `candidates`: points in 1..n-2.
    """
    slack_m = -DECISION_SLACK_M
    levels_m = np.empty(3)
    limits = at_m, hi_m, lo_m, collides, start_m, highest_m, min_grade, max_grade, candidates
    return bool(one_break_margin(*limits, slack_m, levels_m, deadline.flag())[0] >= slack_m)


def best_one_break(band: Band, places: NDArray[np.int64]) -> tuple[float, int, Floats]:
    """Margin of the best line with one change at one of the places or none, where, and its levels.

    Levels (3,) at the start, which may be anywhere in its limits, at the change and at the end.
    """
    levels_m = np.empty(3)
    start = float(band.lo_m[0]), float(band.hi_m[0])
    limits = band.at_m, band.hi_m, band.lo_m, band.collides, *start
    grades = band.least_grade, band.greatest_grade
    margin_m, at_b = one_break_margin(*limits, *grades, places, np.inf, levels_m, deadline.flag())
    deadline.check()
    return float(margin_m), int(at_b), levels_m


def warm() -> None:
    """Compile the loops below, or load what was compiled before, so that no caller waits."""
    at = np.array([0.0, 1.0, 2.0])
    fits_one_break(at, -at, -at - 1, at > 0, 0.0, 0.0, 0.01, np.inf, np.array([1]))


@njit(cache=True, nogil=True)
def one_break_margin(  # type: ignore[no-untyped-def]
    at, hi, lo, collides, start, highest, s, S, candidates, enough, levels, over
):
    """Margin of the best line with one break at a candidate or none, and the break's point.

    Limits (n,) as for `fits_one_break`; the start may be anywhere in [start, highest]. The search
    ends with the first line that has a margin of `enough`; inf asks for the best. A shortage is
    negative, -inf where no line keeps the upper limits; the point is -1 where no line was found.
    `levels` (3,) takes the best line's at the start, at the break and at the end. The search
    is given up once `over` (1,) is not 0.
    """
    last = len(at) - 1
    highest, steep, cap = max(highest, start), S, np.inf
    if collides[0]:
        cap = hi[0] - lo[0]
    left = np.inf
    for i in range(1, last + 1):
        left = min(left, hi[i] + S * at[i])
    if left < start:  # Too steep a fall from the start itself: as short as that, or shorter.
        cap, left, steep = min(cap, left - start), np.inf, np.inf
    best, at_best = -np.inf, -1
    pinned = np.zeros(last + 1, dtype=np.bool_)
    v, its, first = np.empty(4), np.empty(3), np.zeros(TRIED_FIRST, dtype=np.int64)
    only = np.full(1, last)
    for b in candidates if len(candidates) > 0 else only:
        if over[0]:
            break
        pinned[:] = False
        found = -np.inf
        again = True
        while again:
            floor, again = best, False
            for i in range(1, last + 1):
                if not collides[i] and not pinned[i]:
                    floor = min(floor, hi[i] - lo[i] - 2 * CLOSE_M)
            floor = max(floor, found)
            limits = at, hi, lo, pinned
            margin = _at_one(*limits, b, start, highest, s, steep, left, cap, floor, v, first)
            if margin > found:
                found, its[:] = margin, v[:3]
            for i in range(1, last + 1):
                if margin > floor and not collides[i] and not pinned[i]:
                    pinned[i] = lo[i] + margin >= hi[i] - CLOSE_M
                    again = again or pinned[i]
        if found > best and pinned.any():
            upper_kept = np.where(pinned, -np.inf, lo)
            pinned[:] = False
            limits = at, hi, upper_kept, pinned
            kept = _at_one(*limits, b, start, highest, s, steep, left, cap, best, v, first)
            if kept < found:
                found, its[:] = kept, v[:3]
        if found > best:
            best, at_best, levels[:] = found, b, its
            if best >= enough:
                break
    return best, at_best


@njit(cache=True, nogil=True)
def _at_one(  # type: ignore[no-untyped-def]
    at, hi, lo, pinned, b, start, highest, s, S, left, cap, floor, v, first
):
    """Margin of the best line that changes at point b; -inf if there is none or not above `floor`.

    Unknowns `v` (4,): the levels at the start, at b and at the end, and the margin. `first` holds
    points to look at before all others (0: none), the newest in front.
    """
    last = len(at) - 1
    x_b, run = at[b], at[last] - at[b]
    y, u, term = np.zeros(4), np.empty(4), np.empty(4)
    inverse = np.zeros((4, 4))
    v[0], v[1], v[2] = highest, highest - s * x_b, highest - s * at[last]
    most = min(cap, left - start)
    for i in range(1, last + 1):
        most = min(most, highest - s * at[i] - lo[i])
    bounded = most < np.inf
    v[3] = most if bounded else 0.0
    for k in range(3):
        inverse[k, : k + 1] = 1.0
    inverse[3, 3], y[3] = 1.0, 1.0
    for _ in range(STEPS):
        if v[3] <= floor and bounded:
            return -np.inf
        p, r = (v[0] - v[1]) / x_b, (v[1] - v[2]) / run if run > 0 else 0.0
        worst, row, lower = CLOSE_M, 0, False
        for look in range(TRIED_FIRST + last):
            if look == TRIED_FIRST and row > 0:
                break
            i = first[look] if look < TRIED_FIRST else look - TRIED_FIRST + 1
            if i == 0:
                continue
            z = v[0] - p * at[i] if i <= b else v[1] - r * (at[i] - x_b)
            top = hi[i] if not pinned[i] else lo[i] + v[3]
            if z - top > worst:
                worst, row, lower = z - top, i, False
            if lo[i] + v[3] - z > worst:
                worst, row, lower = lo[i] + v[3] - z, i, True
        if row > 0:
            was = row
            for k in range(TRIED_FIRST):
                first[k], was = was, first[k]
                if was == row:
                    break
        term[:] = 0.0
        if row > 0:
            way = -1.0 if lower else 1.0
            k = 0 if row <= b else 1
            t = at[row] / x_b if k == 0 else (at[row] - x_b) / run
            term[k], term[k + 1] = way * (1 - t), way * t
            if lower:
                term[3] = 1.0
            elif pinned[row]:
                term[3] = -1.0
        for k in range(2):
            length, fall = x_b if k == 0 else run, v[k] - v[k + 1]
            if k == 1 and run == 0:
                break
            for way in (-1.0, 1.0):
                outside = way * (fall - (s if way < 0 else S) * length)
                if outside > worst:
                    worst, row = outside, -1
                    term[:] = 0.0
                    term[k], term[k + 1] = way, -way
        if start - v[0] > worst:
            worst, row = start - v[0], -1
            term[:] = 0.0
            term[0] = -1.0
        if v[0] - highest > worst:
            worst, row = v[0] - highest, -1
            term[:] = 0.0
            term[0] = 1.0
        if v[0] + v[3] - left > worst:
            worst, row = v[0] + v[3] - left, -1
            term[:] = 0.0
            term[0] = term[3] = 1.0
        if v[3] - cap > worst:
            worst, row = v[3] - cap, -1
            term[:] = 0.0
            term[3] = 1.0
        if row == 0:
            return v[3] if bounded else np.inf
        leaving, step = -1, np.inf
        for j in range(4):
            u[j] = 0.0
            for k in range(4):
                u[j] += term[k] * inverse[k, j]
            if u[j] > SMALLEST_PIVOT and y[j] / u[j] < step:
                leaving, step = j, y[j] / u[j]
        if leaving < 0:
            return -np.inf
        for j in range(4):
            y[j] = max(y[j] - step * u[j], 0.0)
        y[leaving] = step
        for k in range(4):
            share = inverse[k, leaving] / u[leaving]
            v[k] -= worst * share
            for j in range(4):
                inverse[k, j] -= share * u[j]
            inverse[k, leaving] = share
    return -np.inf
