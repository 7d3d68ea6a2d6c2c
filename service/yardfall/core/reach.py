"""Reach: the highest invert that gravity can deliver to every point of a grid.

From a start, best first: a step of length d to a neighbour gives min(z − s·d, hi), refused where
it would lie below lo; hi leaves the least cover over the pipe and lo is the greatest depth. A
longer way never comes out higher, and what is higher stays higher, so the highest open point is
settled, as in Dijkstra's search (E. W. Dijkstra, Numerische Mathematik 1, 1959). Limits hold half
way along a diagonal or knight's step too, on the bilinear ground there.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from yardfall.core.decision import Design
from yardfall.core.grid import Grid, Indices, Mask, Steps, edged, flat_index, steps_of, unedged
from yardfall.core.levels import ease_ends, follow_levels, need_levels, spread_levels
from yardfall.core.route import Floats

NEVER: Final = -1e18
"""Level of a point that is not reached."""
SHUT: Final = 1e12
"""Lower limit of a point that may not be passed."""
OPEN: Final = -1e9
"""Lower limit where there is none."""
MOST_BUCKETS: Final = 1 << 20


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
    start). `turn` is where the last stretch with eased cover begins (the point itself: nowhere),
    and `turn_way` the step that it is made of.
    """

    level_m: Floats
    before: Indices
    end_m: Floats
    turn: Indices
    turn_way: NDArray[np.int8]


def field_of(grid: Grid, design: Design, shut: Mask) -> Field:
    """The limits of a design on a grid; `shut` (rows, columns) is where the pipe may not go."""
    section, limits = design.section, design.limits
    known = grid.known & ~shut
    z = edged(np.where(known, grid.z_m, 0.0), 0.0)
    lo = np.full(len(z), OPEN)
    if limits.max_depth_m is not None:
        lo = np.asarray(section.invert_at_depth(z, limits.max_depth_m))
    lo[edged(known, 0.0) == 0] = SHUT
    return Field(
        grid,
        steps_of(grid),
        np.asarray(section.invert_at_cover(z, limits.min_cover_m)),
        np.asarray(section.invert_at_depth(z, 0.0)),
        lo,
        design.grading.min_grade,
    )


def reach(field: Field, seeds: Seeds, taper_m: float) -> Reached:
    """The highest levels from the seeds; cover is eased on the last `taper_m` before an end."""
    level, before = spread(field, seeds, field.hi_m, field.lo_m)
    end, turn, turn_way = ease_ends(
        level,
        field.surface_m,
        field.lo_m,
        field.steps.offset,
        *field.steps.aside,
        field.steps.length_m,
        field.grade,
        taper_m,
    )
    return Reached(level, before, end, turn, turn_way)


def follow(field: Field, seeds: Seeds, found: Reached) -> Floats:
    """Highest ends (flat) along the ways of another search, on this field's ground.

    What a route laid out on the one ground brings on the other.
    """
    return follow_levels(
        np.flatnonzero(found.level_m > NEVER / 2),
        found.before,
        found.turn,
        found.turn_way,
        seeds.at,
        seeds.level_m,
        field.hi_m,
        field.surface_m,
        field.lo_m,
        field.steps.offset,
        *field.steps.aside,
        field.steps.length_m,
        field.grade,
    )


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
    return spread_levels(
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
    need = need_levels(
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
