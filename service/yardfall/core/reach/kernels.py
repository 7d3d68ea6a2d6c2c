"""The loops of a reach, compiled: levels over a flat grid with an edge.

A NaN or an infinite level would slip through comparisons: `grid` names the large numbers that stand
in their place.

Open points wait in buckets of levels (R. B. Dial, Communications of the ACM 12, 1969). A bucket is
no taller than the least drop of a step wherever that leaves at most MOST_BUCKETS of them, so a
point is worked once; where it is taller, a point that is improved is worked again. Either way the
result is exact.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numba import njit

from yardfall.core.grading.band import DECISION_SLACK_M
from yardfall.core.reach.grid import NEVER, PASSABLE, PASSABLE_HALF_WAY, REACHED, SHUT

STRETCH: Final = 512
"""Points whose hopes are worked at once: what fits in a processor's nearest memory."""


@njit(cache=True, nogil=True)
def spread_levels(hi, lo, offset, one, two, drop, seed_at, seed_level, top, height, buckets):  # type: ignore[no-untyped-def]
    n = len(hi)
    level = np.full(n, NEVER)
    before = np.full(n, -1, np.int32)
    head = np.full(buckets, -1, np.int32)
    after = np.full(n, -1, np.int32)
    ahead = np.full(n, -1, np.int32)
    queued = np.full(n, -1, np.int32)
    for i in range(len(seed_at)):
        p = seed_at[i]
        v = min(seed_level[i], hi[p])
        if v >= lo[p] and v > level[p]:
            level[p] = v
    for i in range(len(seed_at)):
        p = seed_at[i]
        if level[p] < REACHED or queued[p] >= 0:
            continue
        to = min(int((top - level[p]) / height), buckets - 1)
        queued[p], after[p] = to, head[to]
        if head[to] >= 0:
            ahead[head[to]] = p
        head[to] = p
    for b in range(buckets):
        while head[b] >= 0:
            p = head[b]
            head[b] = after[p]
            if head[b] >= 0:
                ahead[head[b]] = -1
            queued[p] = -1
            here = level[p]
            for k in range(16):
                q = p + offset[k]
                v = here - drop[k]
                if v <= level[q] or v < lo[q]:
                    continue
                if k >= 4:
                    a, c = p + one[k], p + two[k]
                    if k < 8:
                        hi_half = (hi[p] + hi[q] + hi[a] + hi[c]) * 0.25
                        lo_half = (lo[p] + lo[q] + lo[a] + lo[c]) * 0.25
                    else:
                        hi_half = (hi[a] + hi[c]) * 0.5
                        lo_half = (lo[a] + lo[c]) * 0.5
                    half = min(here - 0.5 * drop[k], hi_half)
                    if half < lo_half:
                        continue
                    v = half - 0.5 * drop[k]
                v = min(v, hi[q])
                if v <= level[q] or v < lo[q]:
                    continue
                level[q] = v
                before[q] = p
                to = min(int((top - v) / height), buckets - 1)
                was = queued[q]
                if was == to:
                    continue
                if was >= 0:
                    g, f = ahead[q], after[q]
                    if g >= 0:
                        after[g] = f
                    else:
                        head[was] = f
                    if f >= 0:
                        ahead[f] = g
                queued[q], ahead[q], after[q] = to, -1, head[to]
                if head[to] >= 0:
                    ahead[head[to]] = q
                head[to] = q
    return level, before


@njit(cache=True, nogil=True)
def falls_within(z, lo, offset, length, within):  # type: ignore[no-untyped-def]
    """The most that the ground falls straight away from each point, along any way, within a
    distance; a way ends where nothing may pass. STRETCH points at a time, a step of all at once."""
    n = len(z)
    fall, is_open = np.zeros(n), np.empty(STRETCH)
    for first in range(0, n, STRETCH):
        last = min(first + STRETCH, n)
        for k in range(16):
            is_open[:] = 1.0
            shift, far = offset[k], length[k]
            while far <= within:
                start, stop = max(first, -shift), min(last, n - shift)
                if start < stop:
                    here, there = z[start:stop], z[start + shift : stop + shift]
                    limit, most = lo[start + shift : stop + shift], fall[start:stop]
                    way = is_open[start - first :]
                    for j in range(len(here)):
                        way[j] = way[j] if limit[j] < PASSABLE else 0.0
                        falls = (here[j] - there[j]) * way[j]
                        most[j] = falls if falls > most[j] else most[j]
                shift += offset[k]
                far += length[k]
        for o in range(first, last):
            fall[o] = fall[o] if lo[o] < PASSABLE else 0.0
    return fall


@njit(inline="always")
def half_way(hi, lo, p, q, a, c, diagonal):  # type: ignore[no-untyped-def]
    """Limits half way between two points."""
    if diagonal:
        return (hi[p] + hi[q] + hi[a] + hi[c]) * 0.25, (lo[p] + lo[q] + lo[a] + lo[c]) * 0.25
    return (hi[a] + hi[c]) * 0.5, (lo[a] + lo[c]) * 0.5


@njit(inline="always")
def past_half_way(surface, lo, p, k, q, one, two, floor, back):  # type: ignore[no-untyped-def]
    """What half way from p back to q leaves of a stretch, as levels at its end.

    The surface there, and `floor` as raised by the lower limit there; SHUT where no stretch goes
    on. `back` is the fall from there to the end.
    """
    s, w = half_way(surface, lo, p, q, p + one[k], p + two[k], k < 8)
    if w > PASSABLE_HALF_WAY or s - back < floor:
        return s - back, SHUT
    return s - back, max(floor, w - back)


@njit(cache=True, nogil=True)
def _hope(level, first, hope, offset, length, grade, taper):  # type: ignore[no-untyped-def]
    """What each way would bring to points from `first` on if nothing stood in it, (16, points).

    Past the edge of the grid it looks at points of another row: it may hope for too much.
    """
    last = min(first + hope.shape[1], len(level))
    for k in range(16):
        hope[k] = NEVER
        shift, far = offset[k], length[k]
        while far <= taper + DECISION_SLACK_M:
            start, stop = max(first, -shift), min(last, len(level) - shift)
            if start < stop:
                there, best = level[start + shift : stop + shift], hope[k, start - first :]
                fall = far * grade
                for j in range(len(there)):
                    brought = there[j] - fall
                    best[j] = brought if brought > best[j] else best[j]
            shift += offset[k]
            far += length[k]


@njit(cache=True, nogil=True)
def _best_two(hope, best, second, way):  # type: ignore[no-untyped-def]
    """The most hoped for at each point, by which way, and what the next best way would bring."""
    best[:], second[:], way[:] = hope[0], NEVER, 0
    for k in range(1, 16):
        row = hope[k]
        for j in range(len(row)):
            above = row[j] > best[j]
            lesser = best[j] if above else row[j]
            second[j] = lesser if lesser > second[j] else second[j]
            way[j] = k if above else way[j]
            best[j] = row[j] if above else best[j]


@njit(cache=True, nogil=True)
def ease_ends(level, surface, lo, offset, one, two, length, grade, taper):  # type: ignore[no-untyped-def]
    """Highest level of an end at each point, the last stretch straight back to a covered point.

    Levels are carried to the end: `top` is the lowest surface passed, `floor` the highest lower
    limit, each less the fall from there to the end. Ways are walked in order of what they could
    bring, as long as that is more than what was found.
    """
    n = len(level)
    end = level.copy()
    turn, turn_way = np.arange(n).astype(np.int32), np.zeros(n, np.int8)
    hope = np.empty((16, STRETCH))
    best, second, way = np.empty(STRETCH), np.empty(STRETCH), np.empty(STRETCH, np.int64)
    for o in range(n):
        j = o % STRETCH
        if j == 0:
            _hope(level, o, hope, offset, length, grade, taper)
            _best_two(hope, best, second, way)
        if lo[o] > PASSABLE:
            continue
        k, hoped, next_best = way[j], best[j], second[j]
        while hoped > end[o]:
            hope[k, j] = NEVER
            p, far = o, 0.0
            top, floor = surface[o], lo[o]
            while far + length[k] <= taper + DECISION_SLACK_M:
                q = p + offset[k]
                if lo[q] > PASSABLE:
                    break
                if k >= 4:
                    back = (far + 0.5 * length[k]) * grade
                    half, floor = past_half_way(surface, lo, p, k, q, one, two, floor, back)
                    if floor > PASSABLE:
                        break
                    top = min(top, half)
                far += length[k]
                back = far * grade
                if level[q] > REACHED and level[q] - back >= floor:
                    v = min(level[q] - back, top)
                    if v > end[o]:
                        end[o], turn[o], turn_way[o] = v, q, k
                if surface[q] - back < floor:
                    break
                top, floor = min(top, surface[q] - back), max(floor, lo[q] - back)
                if top <= end[o] or hoped <= end[o]:
                    break
                p = q
            if next_best <= end[o]:
                break
            k = int(np.argmax(hope[:, j]))
            hoped = hope[k, j]
    return end, turn, turn_way
