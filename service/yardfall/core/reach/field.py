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

from yardfall.core.arrays import Floats, Indices, Mask
from yardfall.core.design import Design, Limits
from yardfall.core.grading.limits import highest_at_the_end_m
from yardfall.core.reach.grid import (
    NEVER,
    OPEN,
    PASSABLE,
    REACHED,
    SHUT,
    Grid,
    Steps,
    edged,
    flat_index,
    steps_of,
    unedged,
)
from yardfall.core.reach.kernels import ease_ends, falls_within, spread_levels
from yardfall.core.reach.last_stretch import lowest_levels
from yardfall.core.reach.trail import follow_levels, order_of_steps

MOST_BUCKETS: Final = 1 << 20
WHOLE_RUN_M: Final = 1e5
"""A run-out of this length is the whole run, whatever its length."""


@dataclass(frozen=True, eq=False)
class Field:
    """Limits on the invert at every point, flat with an edge, and the steps between points.

    `hi_m` leaves the least cover, `surface_m` brings the trench bottom to the ground, `end_m` is
    as high as the pipe may lie on the last stretch before an outlet, `lo_m` is
    the greatest depth, SHUT where nothing may pass. `lowest_end_m` is the lowest invert that an
    outlet takes; on the last `run_out_m` before it the cover may run out.
    """

    grid: Grid
    steps: Steps
    hi_m: Floats
    surface_m: Floats
    end_m: Floats
    lo_m: Floats
    grade: float
    lowest_end_m: Floats
    run_out_m: float


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
    before: NDArray[np.int32]
    end_m: Floats
    turn: NDArray[np.int32]
    turn_way: NDArray[np.int8]


def field_of(grid: Grid, design: Design, shut: Mask, near: Mask | None = None) -> Field:
    """The limits of a design on a grid; `shut` (rows, columns) is where the pipe may not go.

    `near` (rows, columns) is the run-in about the start, where the cover may be less.
    """
    section, limits = design.section, design.limits
    known = grid.known & ~shut
    z = edged(np.where(known, grid.z_m, 0.0), 0.0)
    lo = np.full(len(z), OPEN)
    if limits.max_depth_m is not None:
        lo = np.asarray(section.invert_at_depth(z, limits.max_depth_m))
    lo[edged(known, 0.0) == 0] = SHUT
    steps = steps_of(grid)
    cover_m, run_out_m = _cover_and_run_out(limits)
    hi = np.asarray(section.invert_at_cover(z, 0.0))
    if near is not None and limits.run_in_m:
        covers = np.full(len(z), cover_m)
        covers[edged(near, 0.0) > 0] = min(cover_m, limits.run_in_cover_m)
        hi -= covers
        del covers
    else:
        hi -= cover_m
    surface = np.asarray(section.invert_at_depth(z, 0.0))
    return Field(
        grid,
        steps,
        hi,
        surface,
        z + highest_at_the_end_m(section, limits),
        lo,
        design.grading.min_grade,
        _lowest_end(design, z, surface, lo, steps),
        run_out_m,
    )


def _cover_and_run_out(limits: Limits) -> tuple[float, float]:
    """Cover on the way, and the last length without it.

    Where the run-out may be the whole run, its own cover is what is asked for up to the open end.
    """
    if limits.run_out_cover_m is None or limits.outlet_taper_m < WHOLE_RUN_M:
        return limits.min_cover_m, limits.outlet_taper_m
    return limits.run_out_cover_m, limits.open_end_m


def _lowest_end(design: Design, z: Floats, surface: Floats, lo: Floats, steps: Steps) -> Floats:
    """Lowest invert that the outlet takes at each point; the greatest depth bounds it.

    A daylight end whose depth nobody stated lies as deep as a ditch leads out from: of the usual
    length, or, its depth stated as the last there is (`core.easing`), of the last length.
    """
    outlet, free = design.outlet, design.open
    if outlet.by == "invert":
        return np.maximum(lo, outlet.least_m)
    if free is None or not free.outlet_depth or outlet.kind != "daylight":
        lowest: Floats = surface - outlet.most_m
        return np.maximum(lowest, lo, out=lowest)
    plain = outlet.most_m <= 0.0
    ditch_m = free.values.ditch_m if plain else free.values.last_ditch_m
    falls = falls_within(z, lo, steps.offset, steps.length_m, ditch_m)
    np.maximum(falls, outlet.most_m, out=falls)
    np.subtract(surface, falls, out=falls)
    return np.maximum(falls, lo, out=falls)


def reach(field: Field, seeds: Seeds) -> Reached:
    """The highest levels from the seeds; the cover runs out on the last stretch before an end."""
    level, before = spread(field, seeds, field.hi_m, field.lo_m)
    end, turn, turn_way = ease_ends(
        level,
        field.end_m,
        field.lo_m,
        field.steps.offset,
        *field.steps.aside,
        field.steps.length_m,
        field.grade,
        field.run_out_m,
    )
    return Reached(level, before, end, turn, turn_way)


@dataclass(frozen=True, eq=False)
class Trail:
    """The steps of a search in an order to take them again, each after the one it goes on from.

    `points` are stepped to by the step `steps` (both (n,)); `back` (flat) is the step of the last
    stretch to each point, -1 where there is none.
    """

    points: NDArray[np.int32]
    steps: NDArray[np.int8]
    back: NDArray[np.int8]


def trail_of(found: Reached, steps: Steps) -> Trail:
    """The steps of a search, to be taken again on many grounds."""
    return Trail(
        *order_of_steps(found.level_m, found.before, found.turn, found.turn_way, steps.offset)
    )


def follow(
    field: Field, seeds: Seeds, found: Reached, trail: Trail, asked_m: Floats | None = None
) -> Floats:
    """Highest ends (flat) along the ways of another search, on this field's ground.

    What a route laid out on the one ground brings on the other. `trail` is `trail_of` the search.
    NEVER where a last stretch would end lower than `asked_m` (flat), None: any end is told.
    """
    asked = np.full(len(field.hi_m), NEVER) if asked_m is None else asked_m
    return follow_levels(
        trail.points,
        trail.steps,
        trail.back,
        found.turn,
        found.before,
        asked,
        seeds.at,
        seeds.level_m,
        field.hi_m,
        field.end_m,
        field.lo_m,
        field.steps.offset,
        *field.steps.aside,
        field.steps.length_m,
        field.grade,
    )


def spread(field: Field, seeds: Seeds, hi: Floats, lo: Floats) -> tuple[Floats, NDArray[np.int32]]:
    """Highest levels and the points before, of the limits given (flat)."""
    drop = field.steps.length_m * field.grade
    passable = lo < PASSABLE
    if not len(seeds.at) or not passable.any():
        return np.full(len(hi), NEVER), np.full(len(hi), -1, dtype=np.int32)
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


def needed(field: Field, wanted: Floats) -> Floats:
    """The lowest level at each point from which one of the ends wanted can still be met.

    `wanted` (flat) is the level an end asks for, -NEVER where there is none. The same search
    backwards: what is lowest there is highest on the ground turned upside down.
    """
    need = lowest_levels(
        wanted,
        0.0,
        field.end_m,
        field.lo_m,
        field.steps.offset,
        *field.steps.aside,
        field.steps.length_m,
        field.grade,
        field.run_out_m,
        (field.hi_m,),
    )
    at = np.flatnonzero(need < -REACHED)
    shut = field.lo_m > PASSABLE
    turned_lo = np.where(shut, SHUT, -field.hi_m)
    turned_hi = np.where(shut, 0.0, -field.lo_m)
    seeds = Seeds(at, -need[at], np.zeros(len(at)))
    level, _ = spread(field, seeds, turned_hi, turned_lo)
    return -level


def wanted_ends(field: Field, shut: Mask, reserve_m: float = 0.0) -> Floats:
    """Level that a pipe must keep to end at each point (flat): the outlet's lowest and a reserve.

    -NEVER where `shut` (rows, columns) says that no end is wanted, or nothing may pass.
    """
    closed = (edged(shut, 1.0) > 0) | (field.lo_m > PASSABLE)
    return np.where(closed, -NEVER, field.lowest_end_m + reserve_m)


def spare_m(field: Field, reached: Reached) -> Floats:
    """Fall to spare (rows, columns) for an end at each point; negative is missing, NaN: no way.

    From the highest level that a pipe can end at, down to the lowest the outlet takes.
    """
    met = (reached.end_m > REACHED) & (field.lo_m < PASSABLE)
    spare = np.where(met, reached.end_m - np.where(met, field.lowest_end_m, 0.0), np.nan)
    return unedged(spare, field.grid)  # type: ignore[return-value]


def shared_seeds(grid: Grid, row: Indices, column: Indices, level: Floats, length: Floats) -> Seeds:
    """Seeds by row and column."""
    return Seeds(flat_index(grid, row, column), level, length)
