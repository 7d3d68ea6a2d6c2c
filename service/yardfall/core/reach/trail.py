"""The steps of a search put in order and taken again on other ground, compiled.

As in `kernels`, a NaN or an infinite level would slip through comparisons.
"""

from __future__ import annotations

import numpy as np
from numba import njit

from yardfall.core.grading.band import DECISION_SLACK_M
from yardfall.core.reach.grid import NEVER, REACHED
from yardfall.core.reach.kernels import half_way


@njit(cache=True, nogil=True)
def _carry(v, p, k, hi, lo, offset, one, two, length, grade):  # type: ignore[no-untyped-def]
    """A level carried one step on; NEVER where a limit refuses it."""
    q = p + offset[k]
    if k >= 4:
        hi_half, lo_half = half_way(hi, lo, p, q, p + one[k], p + two[k], k < 8)
        v = min(v - 0.5 * length[k] * grade, hi_half)
        if v < lo_half:
            return NEVER
        v -= 0.5 * length[k] * grade
    else:
        v -= length[k] * grade
    v = min(v, hi[q])
    return v if v >= lo[q] else NEVER


@njit(cache=True, nogil=True)
def order_of_steps(level, before, turn, turn_way, offset):  # type: ignore[no-untyped-def]
    """The points stepped to, each after the one it comes from, by which step; and by which step the
    last stretch to each point is made, -1: there is none."""
    n = len(level)
    points, steps = np.empty(n, np.int32), np.empty(n, np.int8)
    done, waiting, found = np.zeros(n, np.bool_), np.empty(n, np.int32), 0
    for end_point in range(n):
        p, count = end_point, 0
        if level[p] < REACHED:
            continue
        while not done[p]:
            done[p] = True
            if before[p] < 0:
                break
            waiting[count] = p
            count += 1
            p = before[p]
        for i in range(count - 1, -1, -1):
            q, k = waiting[i], 0
            while before[q] + offset[k] != q:
                k += 1
            points[found], steps[found] = q, k
            found += 1
    back = np.full(n, -1, np.int8)
    for o in range(n):
        if turn[o] != o:
            k = 0
            while offset[k] != -offset[turn_way[o]]:
                k += 1
            back[o] = k
    return points[:found].copy(), steps[:found].copy(), back


@njit(cache=True, nogil=True)
def follow_levels(  # type: ignore[no-untyped-def]
    points, steps, back, turn, before, asked, seed_at, seed_level, hi, surface, lo,
    offset, one, two, length, grade,
):  # fmt: skip
    """The same steps taken again, in the order that `order_of_steps` tells; a last stretch only
    where it may end as high as is `asked`."""
    level = np.full(len(hi), NEVER)
    for i in range(len(seed_at)):
        p = seed_at[i]
        v = min(seed_level[i], hi[p])
        if before[p] < 0 and v >= lo[p]:
            level[p] = max(level[p], v)
    for i in range(len(points)):
        q, k = points[i], steps[i]
        p = q - offset[k]
        if level[p] > REACHED:
            level[q] = _carry(level[p], p, k, hi, lo, offset, one, two, length, grade)
    end = level.copy()
    for o in range(len(back)):
        k, p = back[o], turn[o]
        if k < 0:
            continue
        v = level[p]
        if v - (o - p) // offset[k] * length[k] * grade < asked[o] - DECISION_SLACK_M:
            v = NEVER
        while p != o and v > REACHED:
            v = _carry(v, p, k, surface, lo, offset, one, two, length, grade)
            p += offset[k]
        end[o] = v
    return end
