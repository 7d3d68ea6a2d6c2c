"""The fewest changes of grade that keep a line in its band, and where they may be: exact.

From the levels that a line may have at a station, those it reaches without another break at every
station downstream: the lines z − p·d from there that keep every limit so far are a convex polygon
of (p, z), between a chain of upper limits, z ≤ hi + p·d, and one of lower limits, z ≥ lo + p·d.
Further points have a greater d, so that their limits cut the flattest end off, or the steepest,
which are the highest and the lowest level reached: each corner comes and goes once. Done for the
start, then for all levels that it reaches, and so on, each round finds what one more break adds.
A round takes stations × limits steps, as often as a station has ranges of levels: once, as a rule.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numba import njit

from yardfall.core import deadline
from yardfall.core.arrays import Ints
from yardfall.core.grading.band import DECISION_SLACK_M
from yardfall.core.grading.break_lp import Rows, make_rows

SLACK_M: Final = DECISION_SLACK_M / 2
"""Half of what the levels are then solved with, so that rounding cannot part the two."""
UPPER, LOWER = 0, 1
"""The chains of corners; also the flattest and the steepest end, from which each is cut."""
WIDTH: Final = 4
"""Room for a station's ranges at first; it grows."""


def fewest_breaks(rows: Rows, stations: Ints, most_breaks: int) -> Ints | None:
    """Places in `stations` (m,), its ends left out, of the fewest breaks that leave a line.

    None where no line has `most_breaks` or fewer.
    """
    # Steeper than from the highest level to the lowest between two stations no line need fall.
    steep = (rows.top_m[0] - rows.top_m[-1]) / np.min(np.diff(rows.x_m)) + rows.least + 1.0
    count, places = _fewest(
        rows.x_m[stations],
        rows.top_m[0],
        rows.top_m[-1],
        rows.at_m,
        rows.sign,
        rows.bound_m,
        rows.first[stations],
        rows.past[stations],
        rows.least,
        min(rows.greatest, max(steep, rows.least)),
        most_breaks,
        deadline.flag(),
    )
    deadline.check()
    return None if count < 0 else places[:count]


def warm() -> None:
    """Compile the loops below, or load what was compiled before, so that no caller waits."""
    at_m = np.array([0.0, 1.0])
    ends = np.array([0, 1])
    rows = make_rows(at_m, -2 - at_m, -at_m, 0.01, None, ends)
    assert rows is not None
    fewest_breaks(rows, ends, 1)


@njit(cache=True, nogil=True)
def _fewest(  # type: ignore[no-untyped-def]
    x, highest, lowest, at, sign, bound, first, past, least, greatest, most_breaks, over
):
    """How many breaks, -1 for no line, and their places in order (most_breaks,).

    Ends early once `over` (1,) is not 0.

    ranges[b, i] are the levels (low, high) reached with b breaks at station i, size[b, i] of them.
    """
    end, limits = len(x) - 1, (at, sign, bound)
    ranges = np.empty((most_breaks + 1, end, WIDTH, 2))
    size = np.zeros((most_breaks + 1, end), dtype=np.int64)
    changed, middle = np.zeros(end, dtype=np.bool_), 2 * len(at) + 2
    corner, ends = np.empty((2, 2 * middle, 2)), np.empty((2, 2), dtype=np.int64)
    low, high = lowest, highest
    for r in range(first[0], past[0]):
        if sign[r] > 0:
            high = min(high, bound[r] + SLACK_M)
        else:
            low = max(low, -bound[r] - SLACK_M)
    ranges[0, 0, 0] = low, high
    size[0, 0], changed[0] = 1, True
    for b in range(most_breaks + 1):
        for i in range(end):
            if over[0]:
                return -1, np.zeros(0, dtype=np.int64)
            for k in range(size[b, i] if changed[i] else 0):
                _begin(corner, ends, ranges[b, i, k], least, greatest)
                if _follow(corner, ends, limits, past[i], past[end], x[i]):
                    level = (corner[0, ends[0, 0], 1] + corner[1, ends[1, 1], 1]) / 2
                    return b, _traced(
                        ranges, size, limits, x, past, least, greatest, b, i, level, corner, ends
                    )
        if b == most_breaks:
            break
        ranges[b + 1], size[b + 1] = ranges[b], size[b]
        changing, changed = changed, np.zeros(end, dtype=np.bool_)
        for i in range(end):
            for k in range(size[b, i] if changing[i] else 0):
                if over[0]:
                    return -1, np.zeros(0, dtype=np.int64)
                _begin(corner, ends, ranges[b, i, k], least, greatest)
                for j in range(i + 1, end):
                    if not _follow(corner, ends, limits, past[j - 1], past[j], x[i]):
                        break
                    (steep, above), (flat, below) = corner[1, ends[1, 1]], corner[0, ends[0, 0]]
                    high, low = below - flat * (x[j] - x[i]), above - steep * (x[j] - x[i])
                    if size[b + 1, j] == ranges.shape[2]:
                        ranges = np.concatenate((ranges, ranges), axis=2)
                    changed[j] |= _add(ranges[b + 1, j], size[b + 1], j, low, high)
    return -1, np.zeros(0, dtype=np.int64)


@njit(cache=True, nogil=True)
def _begin(corner, ends, levels, least, greatest):  # type: ignore[no-untyped-def]
    """The polygon of the lines that leave a station at some levels, before any limit."""
    middle = corner.shape[1] // 2
    for chain in range(2):
        ends[chain] = middle, middle + 1
        corner[chain, middle] = least, levels[1 - chain]
        corner[chain, middle + 1] = greatest, levels[1 - chain]


@njit(cache=True, nogil=True)
def _follow(corner, ends, limits, begin, end, x):  # type: ignore[no-untyped-def]
    """Cut the polygon of lines from `x` by the limits begin..end; whether anything is left."""
    at, sign, bound = limits
    for r in range(begin, end):
        chain = UPPER if sign[r] > 0 else LOWER
        if not _cut(corner, ends, chain, sign[r], at[r] - x, bound[r] + SLACK_M):
            return False
    return True


@njit(cache=True, nogil=True)
def _add(ranges, size, j, low, high):  # type: ignore[no-untyped-def]
    """Put a range among those of station j, joined to the ones that it meets; whether it is new."""
    kept = 0
    for k in range(size[j]):
        if ranges[k, 0] <= low and high <= ranges[k, 1]:
            return False
    for k in range(size[j]):
        if ranges[k, 0] <= high and low <= ranges[k, 1]:
            low, high = min(low, ranges[k, 0]), max(high, ranges[k, 1])
        else:
            ranges[kept] = ranges[k]
            kept += 1
    ranges[kept] = low, high
    size[j] = kept + 1
    return True


@njit(cache=True, nogil=True)
def _traced(  # type: ignore[no-untyped-def]
    ranges, size, limits, x, past, least, greatest, b, i, level, corner, ends
):
    """The breaks (b,) of a line to `level` at station i, the last of them."""
    places = np.zeros(b, dtype=np.int64)
    while b > 0:
        places[b - 1] = i
        b -= 1
        here, wanted, room = i, level, -np.inf
        for h in range(here):
            for k in range(size[b, h]):
                _begin(corner, ends, ranges[b, h, k], least, greatest)
                if not _follow(corner, ends, limits, past[h], past[here], x[h]):
                    continue
                d = x[here] - x[h]
                (steep, above), (flat, below) = corner[1, ends[1, 1]], corner[0, ends[0, 0]]
                high, low = below - flat * d, above - steep * d
                if min(high - wanted, wanted - low) > room:
                    i, room = h, min(high - wanted, wanted - low)
                    share = (high - wanted) / (high - low) if high > low else 0.0
                    level = below + min(max(share, 0.0), 1.0) * (above - below)
    return places


@njit(cache=True, nogil=True)
def _cut(corner, ends, own, sign, d, bound):  # type: ignore[no-untyped-def]
    """Leave of a polygon what keeps sign·(z − p·d) ≤ bound; whether anything is left.

    `corner` (chain, place, p and z), `ends` the places of each chain's flattest and steepest.
    """
    other, step = 1 - own, 1 if own == UPPER else -1
    first, last = ends[own, own], ends[own, other]
    if _passed(corner[own, first], sign, d, bound) <= 0:
        return True
    i = first
    while i != last and _passed(corner[own, i + step], sign, d, bound) > 0:
        i += step
    if i == last:
        far = corner[other, ends[other, other]]
        if _passed(far, sign, d, bound) > 0:
            return False
    else:
        far = corner[own, i + step]
    far_p, far_z = _crossing(corner[own, i], far, sign, d, bound)
    j, near = ends[other, own], corner[own, first]
    while _passed(corner[other, j], sign, d, bound) > 0:
        near = corner[other, j]
        j += step
    near_p, near_z = _crossing(near, corner[other, j], sign, d, bound)
    if j != ends[other, own]:
        ends[other, own] = j - step
        corner[other, j - step] = near_p, near_z
    corner[own, i] = far_p, far_z
    corner[own, i - step] = near_p, near_z
    ends[own, own] = i - step
    return True


@njit(cache=True, nogil=True)
def _passed(point, sign, d, bound):  # type: ignore[no-untyped-def]
    return sign * (point[1] - point[0] * d) - bound


@njit(cache=True, nogil=True)
def _crossing(one, two, sign, d, bound):  # type: ignore[no-untyped-def]
    """Where a limit meets the side between a corner that passes it and one that does not."""
    passed, left = _passed(one, sign, d, bound), _passed(two, sign, d, bound)
    share = passed / (passed - left)
    return one[0] + share * (two[0] - one[0]), one[1] + share * (two[1] - one[1])
