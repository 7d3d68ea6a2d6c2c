"""The most area a line can have whose breaks are known only to within ranges of stations.

A range of several breaks, or of one, lies between two stations; from range to range the line is
straight. Its unknowns are the levels at the ends of the ranges. Within a range no line is above
the highest line. Where it holds one break, more is known: the straight stretches on both sides, L
and R, go on into it as far as the break.

- Steeper after the break, the line is min(L, R). So its area is at most that of L over the first
  half and of R over the second, L and R keep the lower limits, and the chord the upper ones.
- Flatter after it, the line is max(L, R). So its area is at most that under the chord, L and R
  keep the upper limits, and the chord the lower ones.

Both bounds are out by the square of the range's length, so a range need not be cut small before
it can be ruled out. The greatest area under those limits is a linear program of few unknowns,
solved as in `break_lp`: from the highest line's levels down, so that every step's area is a bound.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numba import njit

from yardfall.core.grading.band import DECISION_SLACK_M
from yardfall.core.grading.break_lp import GRADE_SLACK_M, SMALLEST_PIVOT

STRAIGHT, FREE, STEEPENS, FLATTENS = range(4)
"""What a stretch between two knots is: straight, or a range and what its break does."""
AHEAD: Final = 8.0
"""A straight stretch is followed into a range for at most this many times its length."""
PART: Final = 0.9
"""The same for its area, so that no level's weight in the area is negative."""
POOL: Final = 48
"""Rows looked at before all of them are; those of a program that its parent's answer met first."""
STEPS: Final = 150
"""Steps of one program at the most; the bound holds wherever it stops."""


@njit(cache=True, nogil=True)
def area_between(x, top, under, a, b):  # type: ignore[no-untyped-def]
    """∫ of the highest line from a to b; `under` (n,) is its integral up to each point."""
    total = 0.0
    for at, way in ((b, 1.0), (a, -1.0)):
        i = min(max(np.searchsorted(x, at, side="right") - 1, 0), len(x) - 2)
        d = at - x[i]
        slope = (top[i + 1] - top[i]) / (x[i + 1] - x[i])
        total += way * (under[i] + top[i] * d + slope * d * d / 2)
    return total


@njit(cache=True, nogil=True)
def weigh(line, knot, kind, size, weight):  # type: ignore[no-untyped-def]
    """Weights of the levels in the bound on the area, into `weight`; the rest of it."""
    x, top, under = line
    for k in range(size):
        weight[k] = 0.0
    rest = 0.0
    for k in range(size - 1):
        d = knot[k + 1] - knot[k]
        if kind[k] == STRAIGHT or kind[k] == FLATTENS:
            weight[k] += d / 2
            weight[k + 1] += d / 2
        elif kind[k] == FREE:
            rest += area_between(x, top, under, knot[k], knot[k + 1])
        else:
            before, after = knot[k] - knot[k - 1], knot[k + 2] - knot[k + 1]
            left, right = min(d / 2, PART * before), min(d / 2, PART * after)
            weight[k] += left + left * left / (2 * before)
            weight[k - 1] -= left * left / (2 * before)
            weight[k + 1] += right + right * right / (2 * after)
            weight[k + 2] -= right * right / (2 * after)
            if left + right < d:
                rest += area_between(x, top, under, knot[k] + left, knot[k + 1] - right)
    return rest


@njit(cache=True, nogil=True)
def space_for(size):  # type: ignore[no-untyped-def]
    """Arrays for `descend`: levels, multipliers, inverse, terms, rows met, pool, lines."""
    return (
        np.empty(size),
        np.empty(size),
        np.empty((size, size)),
        np.empty((2, size)),
        np.empty(size, dtype=np.int64),
        np.empty((POOL, 2), dtype=np.int64),
        np.empty((size, 2)),
    )


@njit(cache=True, nogil=True)
def descend(  # type: ignore[no-untyped-def]
    rows, grades, knot, kind, begin, end, size, top, deep, weight, rest, floor, met, stride, space
):
    """Bring levels from the highest line's down to where they pass no row.

    Returns the bound on the area, -inf where no line keeps the limits or none has more than
    `floor`, whether it is reached by the levels, and the rows looked at. Rows begin[k]..end[k]
    are those of stretch k, of which one in `stride` is looked at. `met` holds the rows to look at
    first, -1 for none, and after it those that the answer meets.
    """
    at, sign, bound = rows
    z, y, inverse, terms, basis, pool, line = space
    u, term = terms
    area, pooled, looked = rest, 0, 0
    for k in range(size):
        z[k], y[k], basis[k] = top[k], weight[k], -1
        for j in range(size):
            inverse[k, j] = 1.0 if j == k else 0.0
        area += weight[k] * top[k]
    for n in range(len(met)):
        for k in range(size - 1):
            if begin[k] <= met[n] < end[k]:
                pooled = _pool(pool, pooled, kind[k], k, sign[met[n]], met[n])
    for _ in range(STEPS):
        if area <= floor:
            return -np.inf, False, looked
        for k in range(size - 1):
            line[k, 0] = (z[k] - z[k + 1]) / (knot[k + 1] - knot[k])
            line[k, 1] = z[k] + line[k, 0] * knot[k]
        passed, first, many = _worst_shape(knot, kind, z, size, top, deep, grades, term)
        row, on = -1, -1
        for n in range(pooled):
            k, r = pool[n, 0], pool[n, 1]
            outside = (line[k, 1] - line[k, 0] * at[r]) * sign[r] - bound[r]
            if outside > max(passed, DECISION_SLACK_M):
                passed, row, on = outside, r, k
        if many == 0 and row < 0:
            passed = DECISION_SLACK_M
            for k in range(size - 1):
                looked += (end[k] - begin[k]) // stride
                r, stretch, outside = _worst_row(
                    rows, knot, kind, line, k, begin[k], end[k], stride
                )
                if r >= 0 and pooled < POOL:
                    pool[pooled, 0], pool[pooled, 1] = stretch, r
                    pooled += 1
                if outside > passed:
                    passed, row, on = outside, r, stretch
            if row < 0:
                break
        if row >= 0:
            t = (at[row] - knot[on]) / (knot[on + 1] - knot[on])
            term[0], term[1] = sign[row] * (1 - t), sign[row] * t
            first, many = on, 2
        leaving, step = -1, np.inf
        for j in range(size):
            u[j] = 0.0
            for n in range(many):
                u[j] += term[n] * inverse[first + n, j]
            if u[j] > SMALLEST_PIVOT and y[j] / u[j] < step:
                leaving, step = j, y[j] / u[j]
        if leaving < 0:
            return -np.inf, False, looked
        for j in range(size):
            y[j] = max(y[j] - step * u[j], 0.0)
        y[leaving], basis[leaving] = step, row
        for i in range(size):
            share = inverse[i, leaving] / u[leaving]
            z[i] -= passed * share
            for j in range(size):
                inverse[i, j] -= share * u[j]
            inverse[i, leaving] = share
        area -= step * passed
        looked += size * size
    else:
        return area, False, looked
    for n in range(len(met)):
        met[n] = basis[n] if n < size else -1
    return area, True, looked


@njit(cache=True, nogil=True)
def _pool(pool, pooled, kind, k, sign, r):  # type: ignore[no-untyped-def]
    """Put row r of stretch k into the pool, by the stretches that it limits; how many are in it."""
    if kind == FREE or pooled + 2 > POOL:
        return pooled
    if kind == STRAIGHT or (sign > 0) == (kind == STEEPENS):
        pool[pooled, 0], pool[pooled, 1] = k, r
        return pooled + 1
    pool[pooled, 0], pool[pooled, 1] = k - 1, r
    pool[pooled + 1, 0], pool[pooled + 1, 1] = k + 1, r
    return pooled + 2


@njit(cache=True, nogil=True)
def _worst_row(rows, knot, kind, line, k, begin, end, stride):  # type: ignore[no-untyped-def]
    """The row of stretch k that is passed most, -1 for none; the stretch it limits; by how much."""
    at, sign, bound = rows
    row, on, worst = -1, k, DECISION_SLACK_M
    if kind[k] == FREE:
        return row, on, worst
    grade, level = line[k, 0], line[k, 1]
    if kind[k] == STRAIGHT:
        for r in range(begin, end, stride):
            outside = (level - grade * at[r]) * sign[r] - bound[r]
            if outside > worst:
                row, worst = r, outside
        return row, on, worst
    by_chord = 1.0 if kind[k] == STEEPENS else -1.0
    before = knot[k] + AHEAD * (knot[k] - knot[k - 1])
    after = knot[k + 1] - AHEAD * (knot[k + 2] - knot[k + 1])
    for r in range(begin, end, stride):
        if sign[r] == by_chord:
            outside = (level - grade * at[r]) * sign[r] - bound[r]
            if outside > worst:
                row, on, worst = r, k, outside
            continue
        if at[r] <= before:
            outside = (line[k - 1, 1] - line[k - 1, 0] * at[r]) * sign[r] - bound[r]
            if outside > worst:
                row, on, worst = r, k - 1, outside
        if at[r] >= after:
            outside = (line[k + 1, 1] - line[k + 1, 0] * at[r]) * sign[r] - bound[r]
            if outside > worst:
                row, on, worst = r, k + 1, outside
    return row, on, worst


@njit(cache=True, nogil=True)
def _worst_shape(knot, kind, z, size, high, deep, grades, term):  # type: ignore[no-untyped-def]
    """The limit on levels, grades and turns that is passed most; its terms go into `term`.

    By how much, the knot of its first term, how many terms; none where no limit is passed.
    """
    worst, first, many = GRADE_SLACK_M, 0, 0
    for k in range(size):
        if deep[k] - z[k] > worst:
            worst, first, many = deep[k] - z[k], k, 1
            term[0] = -1.0
        if z[k] - high[k] > worst:
            worst, first, many = z[k] - high[k], k, 1
            term[0] = 1.0
    for k in range(size - 1):
        length, fall = knot[k + 1] - knot[k], z[k] - z[k + 1]
        for way in (-1.0, 1.0):
            outside = way * (fall - grades[0 if way < 0 else 1] * length)
            if outside > worst:
                worst, first, many = outside, k, 2
                term[0], term[1] = way, -way
        if kind[k] < STEEPENS:
            continue
        way = 1.0 if kind[k] == STEEPENS else -1.0
        share = length / (knot[k] - knot[k - 1])
        outside = way * (z[k + 1] - z[k] - share * (z[k] - z[k - 1])) / (1 + share)
        if outside > worst:
            worst, first, many = outside, k - 1, 3
            term[0], term[1], term[2] = way * share / (1 + share), -way, way / (1 + share)
        share = length / (knot[k + 2] - knot[k + 1])
        outside = way * (z[k] - z[k + 1] - share * (z[k + 1] - z[k + 2])) / (1 + share)
        if outside > worst:
            worst, first, many = outside, k, 3
            term[0], term[1], term[2] = way / (1 + share), -way, way * share / (1 + share)
    return worst, first, many
