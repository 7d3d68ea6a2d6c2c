"""The best breaks for a line, found by ruling ranges of stations out.

At first all breaks lie somewhere between the ends: one range with all of them. The longest range
is halved, with each way of sharing its breaks between the halves, and a single break's turn is
chosen, until each break has its station. `break_ranges` bounds the area of all lines with their
breaks in such ranges. The ranges with the greatest bound come next, and those whose bound is no
more than the best line's area go. So that bound is at any time at least the area of any line; when
no ranges are left, the best line is proven. A line put together from the breaks that a bound
suggests is moved, break by break, while that gains.
"""

from __future__ import annotations

from heapq import heappop, heappush
from typing import Final

import numpy as np
from numba import njit

from yardfall.core.grading.break_ranges import FLATTENS, FREE, STRAIGHT, descend, space_for, weigh

MOST_KEPT: Final = 100_000
"""Sets of ranges kept at once; when there are more, the search ends with the bound it has."""
EAGER: Final = 64
"""A line is put together for each of the first so many sets of ranges, then for one in EVERY."""
EVERY: Final = 8
TRIED: Final = 24
"""Stations at which a further break is tried, before any ranges are looked at."""
POLISH_SHARE: Final = 0.25
"""Of the work, at the most, goes into moving the breaks of lines put together."""
NODE_WORK: Final = 500
"""What a set of ranges costs besides its program, as rows looked at."""
WIDE: Final = 8
FEW_ROWS: Final = 128
"""Rows are left out in turn, so that the longest range keeps WIDE and the line FEW_ROWS: a bound
is only the looser for it, and no more than its ranges make it. Where each break has its station,
all are looked at."""


@njit(cache=True, nogil=True)
def search(site, most_breaks, picks, area, tie, most_work, trying):  # type: ignore[no-untyped-def]
    """Places of the best breaks found, their line's area, a bound on any line's, the work done.

    `site` is the line (x, top, its integral), rows, grades, and for each station the first row at
    it, the row past it, its x, highest and lowest level. `picks` are the breaks to begin with and
    `area` their line's; `tie` is the gain that does not count, `most_work`
    the rows that may be looked at. Without `trying`, no lines are put together on the way.
    """
    last = len(site[5]) - 1
    width = 2 * most_breaks + 2
    lay = _layout_for(width)
    space = space_for(width)
    work = 0
    if trying:
        picks, area, work = _add_breaks(site, picks, area, most_breaks, tie, lay, space)
    ranges = np.zeros((1024, most_breaks, 4), dtype=np.int32)
    count = np.zeros(1024, dtype=np.int64)
    met = np.full((1024, width), -1, dtype=np.int32)
    free = list(range(1023, 0, -1))
    halves, sizes = np.zeros((4 * width, most_breaks, 4), np.int32), np.zeros(4 * width, np.int64)
    rows_met = met[0].copy()
    ideas = np.zeros(most_breaks, dtype=np.int64)
    ranges[0, 0] = 1, last - 1, most_breaks, FREE
    count[0] = 1
    heap = [(-site[0][2][-1], 0)]
    unsolved, polishing, made = -np.inf, work, 0
    while len(heap) > 0 and work < most_work:
        best, node = heappop(heap)
        if -best <= area + tie:
            unsolved = max(unsolved, -best)
            break
        q = 0
        for k in range(1, count[node]):
            if ranges[node, k, 1] - ranges[node, k, 0] > ranges[node, q, 1] - ranges[node, q, 0]:
                q = k
        for n in range(_halved(ranges[node], count[node], q, halves, sizes)):
            child, size = halves[n], sizes[n]
            rows_met[:] = met[node]
            bound, reached, done = _bound(site, child, size, area + tie, rows_met, lay, space)
            work += done + NODE_WORK
            if bound <= area + tie:
                continue
            bound = min(bound, -best)
            single = _suggest(site, child, size, lay, space, ideas)
            if single == 2:
                if reached:
                    picks, area = ideas.copy(), bound
                else:
                    unsolved = max(unsolved, bound)
                continue
            if single == 1 and trying:
                made += 1
                if made < EAGER or made % EVERY == 0:
                    found, done = _solve(site, ideas, area + tie, lay, space)
                    work += done
                    if found > area + tie:
                        picks, area = ideas.copy(), found
                        if polishing <= POLISH_SHARE * work:
                            area, done = _polish(site, picks, area, tie, lay, space)
                            work += done
                            polishing += done
            if len(free) == 0:
                known = len(count)
                ranges = np.concatenate((ranges, np.zeros_like(ranges)))
                count = np.concatenate((count, count))
                met = np.concatenate((met, met))
                free = list(range(2 * known - 1, known - 1, -1))
            new = free.pop()
            ranges[new], count[new], met[new] = child, size, rows_met
            heappush(heap, (-bound, new))
        free.append(node)
        if len(heap) >= MOST_KEPT:
            break
    bound = max(area, unsolved)
    if len(heap) > 0:
        bound = max(bound, -heap[0][0])
    return picks, area, bound, work


@njit(cache=True, nogil=True)
def _halved(ranges, count, q, halves, sizes):  # type: ignore[no-untyped-def]
    """Each way of sharing the breaks of range q between its halves, and of a break's turn.

    Into `halves` (ways, breaks, 4), sizes[n] ranges each; how many ways.
    """
    begin, end = np.int64(ranges[q, 0]), np.int64(ranges[q, 1])
    many, turn = np.int64(ranges[q, 2]), np.int64(ranges[q, 3])
    middle, ways = (begin + end) // 2, 0
    for left in range(many + 1):
        right = many - left
        if left > middle - begin + 1 or right > end - middle:
            continue
        for left_turn in range(FREE, FLATTENS + 1):
            if (left_turn != FREE) != (left == 1 and middle > begin):
                continue
            for right_turn in range(FREE, FLATTENS + 1):
                if (right_turn != FREE) != (right == 1 and end > middle + 1):
                    continue
                if turn != FREE and max(left_turn, right_turn) not in (turn, FREE):
                    continue
                half, size = halves[ways], q
                half[:q] = ranges[:q]
                if left > 0:
                    half[size, 0], half[size, 1] = begin, middle
                    half[size, 2], half[size, 3] = left, left_turn
                    size += 1
                if right > 0:
                    half[size, 0], half[size, 1] = middle + 1, end
                    half[size, 2], half[size, 3] = right, right_turn
                    size += 1
                beyond = count - q - 1
                half[size : size + beyond] = ranges[q + 1 : q + 1 + beyond]
                sizes[ways] = size + beyond
                ways += 1
    return ways


@njit(cache=True, nogil=True)
def _layout_for(width):  # type: ignore[no-untyped-def]
    """Arrays for the knots of a line: x, kind, first row, row past, highest, lowest, weight."""
    return (
        np.empty(width),
        np.empty(width, dtype=np.int64),
        np.empty(width, dtype=np.int64),
        np.empty(width, dtype=np.int64),
        np.empty(width),
        np.empty(width),
        np.empty(width),
    )


@njit(cache=True, nogil=True)
def _bound(site, ranges, count, floor, met, lay, space):  # type: ignore[no-untyped-def]
    """Bound on the area of lines with breaks in ranges, whether it is reached, and the work."""
    line, rows, grades, first, past, x, top, deep = site
    knot, kind, begin, end, high, low, weight = lay
    knot[0], high[0], low[0] = x[0], top[0], deep[0]
    n, before, last, longest = 1, 0, len(x) - 1, 0
    for q in range(count + 1):
        a, b = (ranges[q, 0], ranges[q, 1]) if q < count else (last, last)
        knot[n], high[n], low[n] = x[a], top[a], deep[a]
        kind[n - 1], begin[n - 1], end[n - 1] = STRAIGHT, first[before], past[a]
        n += 1
        if b > a:
            knot[n], high[n], low[n] = x[b], top[b], deep[b]
            kind[n - 1], begin[n - 1], end[n - 1] = ranges[q, 3], past[a], first[b]
            longest = max(longest, first[b] - past[a])
            n += 1
        before = b
    stride = max(min(longest // WIDE, (past[last] - first[0]) // FEW_ROWS), 1)
    rest = weigh(line, knot, kind, n, weight)
    return descend(
        rows, grades, knot, kind, begin, end, n, high, low, weight, rest, floor, met, stride, space
    )


@njit(cache=True, nogil=True)
def _suggest(site, ranges, count, lay, space, ideas):  # type: ignore[no-untyped-def]
    """1 where each range has one break, 2 where each is at one station, else 0.

    Where each has one, the stations nearest to where the stretches beside them meet go into
    `ideas` (count,).
    """
    x, knot, z = site[5], lay[0], space[0]
    found, k = 2, 1
    for q in range(count):
        a, b, many = ranges[q, 0], ranges[q, 1], ranges[q, 2]
        if many > 1:
            return 0
        ideas[q] = a
        if b > a:
            found = 1
            length = knot[k + 1] - knot[k]
            p = (z[k - 1] - z[k]) / (knot[k] - knot[k - 1])
            r = (z[k + 1] - z[k + 2]) / (knot[k + 2] - knot[k + 1])
            d = (z[k] - z[k + 1] - r * length) / (p - r) if p != r else length / 2
            there = knot[k] + min(max(d, 0.0), length)
            i = min(max(np.searchsorted(x, there), a), b)
            ideas[q] = i - 1 if i > a and there - x[i - 1] < x[i] - there else i
            k += 1
        k += 1
    return found


@njit(cache=True, nogil=True)
def _solve(site, picks, floor, lay, space):  # type: ignore[no-untyped-def]
    """Area of the best line with these breaks, -inf if it is no more than the floor; the work."""
    ranges = np.empty((len(picks), 4), dtype=np.int32)
    for q in range(len(picks)):
        ranges[q] = picks[q], picks[q], 1, FREE
    met = np.full(2 * len(picks) + 2, -1, dtype=np.int32)
    area, reached, work = _bound(site, ranges, len(picks), floor, met, lay, space)
    return area if reached else -np.inf, work


@njit(cache=True, nogil=True)
def _polish(site, picks, area, tie, lay, space):  # type: ignore[no-untyped-def]
    """Move one break at a time, by ever shorter steps, while that gains; the area, the work."""
    last, work, step = len(site[5]) - 1, 0, 1
    while step < last // 8:
        step *= 2
    while step > 0:
        gained = False
        for q in range(len(picks)):
            for way in (-step, step):
                here = picks[q]
                low = picks[q - 1] if q > 0 else 0
                high = picks[q + 1] if q < len(picks) - 1 else last
                if not low < here + way < high:
                    continue
                picks[q] = here + way
                found, done = _solve(site, picks, area + tie, lay, space)
                work += done
                if found > area + tie:
                    area, gained = found, True
                else:
                    picks[q] = here
        if not gained:
            step //= 2
    return area, work


@njit(cache=True, nogil=True)
def _add_breaks(site, picks, area, most_breaks, tie, lay, space):  # type: ignore[no-untyped-def]
    """Breaks added one by one where each gains most, and moved; the line's area, the work."""
    last, work = len(site[5]) - 1, 0
    while True:
        area, done = _polish(site, picks, area, tie, lay, space)
        work += done
        if len(picks) == most_breaks:
            return picks, area, work
        better, best = picks, area + tie
        for n in range(min(TRIED, last - 1)):
            new = 1 + (2 * n + 1) * (last - 1) // (2 * min(TRIED, last - 1))
            if np.any(picks == new):
                continue
            more = np.sort(np.append(picks, new))
            found, done = _solve(site, more, best, lay, space)
            work += done
            if found > best:
                better, best = more, found
        if best == area + tie:
            return picks, area, work
        picks, area = better, best
