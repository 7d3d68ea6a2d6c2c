"""Reach: the highest invert that gravity can deliver to every point of a grid.

From a start, best first: a step of length d to a neighbour gives min(z − s·d, hi), refused where
it would lie below lo; hi leaves the least cover over the pipe and lo is the greatest depth. A
longer way never comes out higher, and what is higher stays higher, so the highest open point is
settled, as in Dijkstra's search (E. W. Dijkstra, Numerische Mathematik 1, 1959). Limits hold half
way along a diagonal or knight's step too, on the bilinear ground there.

Open points wait in buckets of levels (R. B. Dial, Communications of the ACM 12, 1969). A bucket is
no taller than the least drop of a step wherever that leaves at most MOST_BUCKETS of them, so a
point is worked once; where it is taller, a point that is improved is worked again. Either way the
result is exact.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numba import njit

from yardfall.core.decision import Design
from yardfall.core.grid import Grid, Indices, Mask, Steps, edged, flat_index, steps_of, unedged
from yardfall.core.route import Floats

NEVER: Final = -1e18
"""Level of a point that is not reached."""
SHUT: Final = 1e12
"""Lower limit of a point that may not be passed."""
OPEN: Final = -1e9
"""Lower limit where there is none."""
MOST_BUCKETS: Final = 1 << 20
SLACK_M: Final = 1e-9


@dataclass(frozen=True, eq=False)
class Field:
    """Limits on the invert at every point, flat with an edge, and the steps between points.

    `hi_m` leaves the least cover, `surface_m` brings the trench bottom to the ground, `lo_m` is
    the greatest depth, SHUT where nothing may pass.
    """

    grid: Grid
    steps: Steps
    hi_m: Floats
    surface_m: Floats
    lo_m: Floats
    grade: float


@dataclass(frozen=True, eq=False)
class Seeds:
    """Points (n,) that the start reaches straight, their levels and their distance from it."""

    at: Indices
    level_m: Floats
    length_m: Floats


@dataclass(frozen=True, eq=False)
class Reached:
    """Highest level of a pipe that runs on through each point, and of one that ends there.

    Flat with an edge, NEVER where there is none. `before` is the point stepped from (-1: the
    start). `turn` is where the last stretch with eased cover begins (the point itself: nowhere).
    """

    level_m: Floats
    before: Indices
    end_m: Floats
    turn: Indices


def field_of(grid: Grid, design: Design, shut: Mask) -> Field:
    """The limits of a design on a grid; `shut` (rows, columns) is where the pipe may not go."""
    section, limits = design.section, design.limits
    known = grid.known & ~shut
    z = np.where(known, grid.z_m, 0.0)
    hi = np.asarray(section.invert_at_cover(z, limits.min_cover_m))
    surface = np.asarray(section.invert_at_depth(z, 0.0))
    lo = np.full(z.shape, OPEN)
    if limits.max_depth_m is not None:
        lo = np.asarray(section.invert_at_depth(z, limits.max_depth_m))
    lo = np.where(known, lo, SHUT)
    return Field(
        grid,
        steps_of(grid),
        edged(hi, 0.0),
        edged(surface, 0.0),
        edged(lo, SHUT),
        design.grading.min_grade,
    )


def reach(field: Field, seeds: Seeds, taper_m: float) -> Reached:
    """The highest levels from the seeds; cover is eased on the last `taper_m` before an end."""
    level, before = spread(field, seeds, field.hi_m, field.lo_m)
    end, turn = _ends(
        level,
        field.surface_m,
        field.lo_m,
        field.steps.offset,
        *field.steps.aside,
        field.steps.length_m,
        field.grade,
        taper_m,
    )
    return Reached(level, before, end, turn)


def spread(field: Field, seeds: Seeds, hi: Floats, lo: Floats) -> tuple[Floats, Indices]:
    """Highest levels and the points before, of the limits given (flat)."""
    drop = field.steps.length_m * field.grade
    passable = lo < SHUT / 2
    if not len(seeds.at) or not passable.any():
        return np.full(len(hi), NEVER), np.full(len(hi), -1, dtype=np.int64)
    top = float(seeds.level_m.max())
    bottom = min(float(hi[passable].min()), top)
    across = sum(field.grid.z_m.shape) * max(field.grid.dx_m, field.grid.dy_m)
    span = top - bottom + 2 * field.grade * across + 0.1
    height = max(float(drop.min()) * (1 - 1e-9), span / MOST_BUCKETS)
    return _spread(
        hi,
        lo,
        field.steps.offset,
        *field.steps.aside,
        drop,
        seeds.at,
        seeds.level_m,
        top,
        height,
        int(span / height) + 2,
    )


def needed(field: Field, wanted: Floats, taper_m: float) -> Floats:
    """The lowest level at each point from which one of the ends wanted can still be met.

    `wanted` (flat) is the level an end asks for, -NEVER where there is none. The same search
    backwards: what is lowest there is highest on the ground turned upside down.
    """
    need = _needs(
        wanted,
        field.hi_m,
        field.surface_m,
        field.lo_m,
        field.steps.offset,
        *field.steps.aside,
        field.steps.length_m,
        field.grade,
        taper_m,
    )
    at = np.flatnonzero(need < -NEVER / 2)
    shut = field.lo_m > SHUT / 2
    turned_lo = np.where(shut, SHUT, -field.hi_m)
    turned_hi = np.where(shut, 0.0, -field.lo_m)
    seeds = Seeds(at, -need[at], np.zeros(len(at)))
    level, _ = spread(field, seeds, turned_hi, turned_lo)
    return -level


def wanted_ends(field: Field, design: Design, shut: Mask, reserve_m: float = 0.0) -> Floats:
    """Level that a pipe must keep to end at each point (flat): the outlet's lowest and a reserve.

    -NEVER where `shut` (rows, columns) says that no end is wanted, or nothing may pass.
    """
    lowest = _lowest_end(field, design) + reserve_m
    return np.where((edged(shut, 1.0) > 0) | (field.lo_m > SHUT / 2), -NEVER, lowest)


def _lowest_end(field: Field, design: Design) -> Floats:
    outlet = design.outlet
    lowest = np.full(len(field.lo_m), outlet.least_m)
    if outlet.by == "depth":
        lowest = field.surface_m - outlet.most_m
    return np.maximum(lowest, field.lo_m)


def spare_m(field: Field, design: Design, reached: Reached) -> Floats:
    """Fall to spare (rows, columns) for an end at each point; negative is missing, NaN: no way.

    From the highest level that a pipe can end at, down to the lowest the outlet takes.
    """
    lowest = _lowest_end(field, design)
    met = (reached.end_m > NEVER / 2) & (field.lo_m < SHUT / 2)
    spare = np.where(met, reached.end_m - np.where(met, lowest, 0.0), np.nan)
    return unedged(spare, field.grid)  # type: ignore[return-value]


def shared_seeds(grid: Grid, row: Indices, column: Indices, level: Floats, length: Floats) -> Seeds:
    """Seeds by row and column."""
    return Seeds(flat_index(grid, row, column), level, length)


@njit(cache=True, nogil=True)
def _spread(hi, lo, offset, one, two, drop, seed_at, seed_level, top, height, buckets):  # type: ignore[no-untyped-def]
    n = len(hi)
    level = np.full(n, -1e18)
    before = np.full(n, -1, np.int64)
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
        if level[p] < -5e17 or queued[p] >= 0:
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
def half_way(hi, lo, p, q, a, c, diagonal):  # type: ignore[no-untyped-def]
    """Limits half way between two points."""
    if diagonal:
        return (hi[p] + hi[q] + hi[a] + hi[c]) * 0.25, (lo[p] + lo[q] + lo[a] + lo[c]) * 0.25
    return (hi[a] + hi[c]) * 0.5, (lo[a] + lo[c]) * 0.5


@njit(cache=True, nogil=True)
def _ends(level, surface, lo, offset, one, two, length, grade, taper):  # type: ignore[no-untyped-def]
    """Highest level of an end at each point, the last stretch straight back to a covered point.

    Levels are carried to the end: `top` is the lowest surface passed, `floor` the highest lower
    limit, each less the fall from there to the end.
    """
    n = len(level)
    end = level.copy()
    turn = np.arange(n)
    hope = np.empty(16)
    for o in range(n):
        if lo[o] > 5e11:
            continue
        for k in range(16):  # what each way would bring if nothing stood in it
            p, far, best = o, length[k], -1e18
            while far <= taper + 1e-9:
                p += offset[k]
                if level[p] > -5e17:
                    best = max(best, level[p] - far * grade)
                elif lo[p] > 5e11:
                    break
                far += length[k]
            hope[k] = best
        while True:
            k = int(np.argmax(hope))
            if hope[k] <= end[o]:
                break
            hope[k] = -1e18
            p, far = o, 0.0
            top, floor = surface[o], lo[o]
            while far + length[k] <= taper + 1e-9:
                q = p + offset[k]
                if lo[q] > 5e11:
                    break
                if k >= 4:
                    s, w = half_way(surface, lo, p, q, p + one[k], p + two[k], k < 8)
                    if w > 1e11:
                        break
                    back = (far + 0.5 * length[k]) * grade
                    if s - back < floor:
                        break
                    top, floor = min(top, s - back), max(floor, w - back)
                far += length[k]
                back = far * grade
                if level[q] > -5e17 and level[q] - back >= floor:
                    v = min(level[q] - back, top)
                    if v > end[o]:
                        end[o], turn[o] = v, q
                if surface[q] - back < floor:
                    break
                top, floor = min(top, surface[q] - back), max(floor, lo[q] - back)
                p = q
    return end, turn


@njit(cache=True, nogil=True)
def _needs(wanted, hi, surface, lo, offset, one, two, length, grade, taper):  # type: ignore[no-untyped-def]
    """Lowest level at each covered point from which an end wanted is met straight ahead."""
    n = len(wanted)
    need = np.full(n, 1e18)
    for o in range(n):
        if wanted[o] > 5e17 or lo[o] > 5e11:
            continue
        asked = max(wanted[o], lo[o])
        if asked <= hi[o]:
            need[o] = min(need[o], asked)
        if asked > surface[o]:
            continue
        for k in range(16):
            p, far, floor = o, 0.0, asked
            while far + length[k] <= taper + 1e-9:
                q = p + offset[k]
                if lo[q] > 5e11:
                    break
                if k >= 4:
                    s, w = half_way(surface, lo, p, q, p + one[k], p + two[k], k < 8)
                    if w > 1e11:
                        break
                    back = (far + 0.5 * length[k]) * grade
                    if s - back < floor:
                        break
                    floor = max(floor, w - back)
                far += length[k]
                back = far * grade
                asks = max(floor + back, lo[q])
                if asks <= hi[q]:
                    need[q] = min(need[q], asks)
                if surface[q] - back < floor:
                    break
                floor = max(floor, lo[q] - back)
                p = q
    return need
