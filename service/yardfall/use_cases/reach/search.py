"""A lot searched for places where a pipe can come out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from yardfall.core import deadline, threads
from yardfall.core.arrays import Floats, Mask
from yardfall.core.design import Design
from yardfall.core.easing.usual_limits import at_first_anywhere, at_last_anywhere
from yardfall.core.errors import InputError
from yardfall.core.ground.route import merge_stations
from yardfall.core.reach.field import (
    Field,
    Reached,
    Seeds,
    field_of,
    reach,
    shared_seeds,
    spare_m,
    spread,
)
from yardfall.core.reach.grid import OPEN, PASSABLE, REACHED, Grid, flat_index, unedged
from yardfall.core.reach.laid_lines import NO_LINE, Laid, Ways, lay_lines
from yardfall.core.reach.request import ReachRequest
from yardfall.core.reach.simplify import over_known
from yardfall.geo.bounds import Bounds, bounds_of
from yardfall.geo.search_grid import Lot, cells_of, geometry
from yardfall.use_cases.reach.chance import chance_of_cells
from yardfall.use_cases.reach.lot import SEED_CELLS, about, beside_holes, distance_m, past_holes

ANY_CHANGES: Final = "any_changes"
"""A place where the pipe comes out, but by no line of the shape asked for that was tried."""
PAST_HOLES: Final = "past_unknown"
"""A place that only missing elevations keep a way off."""
MOST_LAID: Final = 6_000_000
"""Points of all lines together: on a larger lot the search alone tells of its places."""
CHUNK: Final = 512
LONGEST: Final = 4
"""No line is longer than so many times the way round a corner of the lot."""


@dataclass(frozen=True, eq=False)
class Searched:
    """A lot with what was found on it, all (rows, columns).

    `design` is what was asked with every usual value at its last, and `spare_m` what is left then,
    NaN where the pipe does not come. `comes_out` is where a line of the shape asked for was found
    and `spare_m` is its own, `plain` where no usual value gives way for it, and `line` which it is
    (`core/reach/laid_lines`); elsewhere the search's any number of changes of grade counts.
    `marks_m` are the stations a crew sees along any line, `changes` whether its grade may change.
    `closed` is off the lot or avoided, `shut` also the rim of a hole, where only a straight line
    ends; `laid`: whether lines were laid at all. `may_end` is where an outlet is looked for,
    `deeper` where it would come were there no greatest depth, `past_holes` where only missing
    elevations keep a way off. `chance` is the share of the
    draws in which it comes out, None where no errors were drawn.
    """

    lot: Lot
    bounds: Bounds
    design: Design
    near: Mask
    start: Floats
    start_m: float
    field: Field
    seeds: Seeds
    reached: Reached
    spare_m: Floats
    comes_out: Mask
    plain: Mask
    line: NDArray[np.int8]
    marks_m: Floats
    changes: bool
    shut: Mask
    closed: Mask
    outside: Mask
    laid: bool
    may_end: Mask
    deeper: Mask
    past_holes: Mask
    chance: Floats | None


def search(request: ReachRequest, lot: Lot) -> Searched:
    asked, grid = request.plan.design, lot.grid
    start = lot.to_plane(np.array([request.start]))[0]
    start_ground = lot.ground_m(start[None])[0] if np.isfinite(start).all() else np.nan
    if not np.isfinite(start_ground):
        raise InputError.at("/start/point", "The ground is not known at the start; move it.")
    design = at_last_anywhere(asked, float(start_ground))
    bounds = bounds_of(lot, start, request.within, request.avoid, request.clearance_m)
    outside = bounds.outside_cells()
    closed = outside | bounds.avoided_cells()
    beside = beside_holes(lot)
    shut = closed | beside
    near = distance_m(lot, start) < design.limits.run_in_m
    start_m = design.start.highest_m(float(start_ground), design.section)
    seeds = _seeds(lot, bounds, shut, start, start_m, design.grading.min_grade)
    if not len(seeds.at):
        shut = closed | (beside & ~about(lot, start))
        seeds = _seeds(lot, bounds, shut, start, start_m, design.grading.min_grade)
    field = field_of(grid, design, shut, near)
    deadline.check()
    found = reach(field, seeds)
    spare = spare_m(field, found)
    rim = shut & ~closed
    on_the_way = _may_end(request, lot, start, np.asarray(unedged(field.lo_m < PASSABLE, grid)))
    laid = _laid(request, lot, design, field, shut, closed, near, start, seeds, found, spare)
    comes_out = laid.line > 0
    held = comes_out | (rim & (laid.margin_m > NO_LINE))
    spare[held] = laid.margin_m[held]
    deeper = _deeper(field, seeds, found)
    may_end = on_the_way | _may_end(request, lot, start, rim & np.isfinite(spare))
    return Searched(
        lot,
        bounds,
        design,
        near,
        start,
        start_m,
        field,
        seeds,
        found,
        spare,
        comes_out,
        laid.plain,
        laid.line,
        _marks_m(request, grid),
        request.may_bend or _changes(asked),
        shut,
        closed,
        outside,
        laid.whole,
        may_end,
        deeper,
        past_holes(lot, closed, start, seeds) & ~np.isfinite(spare) & ~deeper,
        chance_of_cells(
            request, design, lot, request.plan.accuracy, start, seeds, shut, near, found, on_the_way
        ),
    )


def _laid(
    request: ReachRequest,
    lot: Lot,
    last: Design,
    field: Field,
    shut: Mask,
    closed: Mask,
    near: Mask,
    start: Floats,
    seeds: Seeds,
    found: Reached,
    spare: Floats,
) -> Laid:
    """Lines of the shape asked for laid to every place, all (rows, columns).

    A straight one keeps off what is `closed`, and over known ground; a way off what is `shut`.
    """
    asked, grid = request.plan.design, lot.grid
    far_m = distance_m(lot, start)
    wanted = (far_m >= request.least_run_m) & ~closed & grid.known
    plain, line = np.zeros(wanted.shape, dtype=bool), np.zeros(wanted.shape, dtype=np.int8)
    if far_m[wanted].sum() > MOST_LAID * min(grid.dx_m, grid.dy_m):
        return Laid(spare, plain, line, whole=False)
    margin = np.full(wanted.shape, np.nan)
    ground_m = float(lot.ground_m(start[None])[0])
    first = at_first_anywhere(asked, ground_m)
    easier = field_of(grid, first, shut, near)
    designs = (last, field), (first, easier)
    if (shut & ~closed).any():  # the limits of ends there too
        ends_too = field_of(grid, last, closed, near), field_of(grid, first, closed, near)
        designs = (last, ends_too[0]), (first, ends_too[1])
    marks_m = _marks_m(request, grid)
    ways = Ways(start, ground_m, found, field.steps.offset, marks_m, lot.triangles)
    changes = request.may_bend or _changes(asked), _changes(asked)
    row, column = np.nonzero(wanted)
    easy = spare_m(easier, reach(easier, seeds))
    hopes = (np.nan_to_num(spare, nan=-1.0) >= 0).astype(np.int8)
    hopes += (hopes > 0) & (np.nan_to_num(easy, nan=-1.0) >= 0)
    hoped = hopes[row, column]
    ends = flat_index(grid, row, column)
    in_time = deadline.here()

    def some(i: int) -> Laid:
        in_time()
        part = slice(i, i + CHUNK)
        return lay_lines(ends[part], hoped[part], grid, closed, ways, *designs, changes=changes)

    parts = range(0, len(ends), CHUNK)
    done = threads.each(some, parts, deadline.cores())
    if done:
        margin[row, column] = np.concatenate([one.margin_m for one in done])
        plain[row, column] = np.concatenate([one.plain for one in done])
        line[row, column] = np.concatenate([one.line for one in done])
    if first.limits.run_in_m:  # a start so shallow must be said wherever the pipe ends
        plain[:] = False
    return Laid(margin, plain, line)


def _changes(design: Design) -> bool:
    return not design.straight and design.grading.max_breaks > 0


def _marks_m(request: ReachRequest, grid: Grid) -> Floats:
    """The stations that a crew sees along a line of any length here, but for its bends."""
    survey, (rows, columns) = request.plan.survey, grid.z_m.shape
    most_m = LONGEST * (rows * grid.dy_m + columns * grid.dx_m)
    every_m = survey.every_m or most_m
    return merge_stations(np.arange(0.0, most_m, every_m), np.array(survey.at_m))


def _seeds(
    lot: Lot, bounds: Bounds, shut: Mask, start: Floats, start_m: float, grade: float
) -> Seeds:
    """The points around the start that it reaches straight."""
    grid = lot.grid
    rows, columns = grid.z_m.shape
    row, column, _ = grid.nearest(start[None])
    down, across = np.mgrid[-SEED_CELLS : SEED_CELLS + 1, -SEED_CELLS : SEED_CELLS + 1]
    r, c = row[0] + down.ravel(), column[0] + across.ravel()
    on = (r >= 0) & (r < rows) & (c >= 0) & (c < columns)
    r, c = r[on], c[on]
    ok = ~shut[r, c] & grid.known[r, c]
    r, c = r[ok], c[ok]
    xy = grid.xy(r, c)
    ways = (np.stack([start, there]) for there in xy)
    free = np.array([bounds.allows(way) and over_known(grid, way) for way in ways], dtype=bool)
    r, c, xy = r[free], c[free], xy[free]
    length_m = np.hypot(*(xy - start).T) if len(xy) else np.zeros(0)
    return shared_seeds(grid, r, c, start_m - grade * length_m, length_m)


def _may_end(request: ReachRequest, lot: Lot, start: Floats, passable: Mask) -> Mask:
    """Where an outlet is looked for: on the targets if there are any, and clear of the house."""
    far = distance_m(lot, start) >= request.least_run_m
    if request.targets:
        shapes = [geometry(lot, s, f"/targets/{s.index}") for s in request.targets]
        far &= cells_of(lot, shapes)
    found: Mask = far & passable
    return found


def _deeper(field: Field, seeds: Seeds, found: Reached) -> Mask:
    """Points not reached that would be, were there no greatest depth."""
    missed = (found.end_m < REACHED) & (field.lo_m < PASSABLE)
    if not missed.any():
        return np.asarray(unedged(missed, field.grid))
    level, _ = spread(field, seeds, field.hi_m, np.where(field.lo_m < PASSABLE, OPEN, field.lo_m))
    return np.asarray(unedged(missed & (level > REACHED), field.grid))


def best_of(found: Searched, design: Design) -> float:
    """The most spare anywhere, under another design; -inf where the pipe comes nowhere.

    Its usual values are at their last.
    """
    deadline.check()
    grid = found.lot.grid
    ground_m = float(found.lot.ground_m(found.start[None])[0])
    design = at_last_anywhere(design, ground_m)
    level_m = design.start.highest_m(ground_m, design.section)
    grade = design.grading.min_grade
    seeds = replace(found.seeds, level_m=level_m - grade * found.seeds.length_m)
    field = field_of(grid, design, found.shut, found.near)
    spare = spare_m(field, reach(field, seeds))
    ends = spare[found.may_end & np.isfinite(spare)]
    return float(ends.max()) if ends.size else -np.inf


def kind_of(found: Searched, row: int, column: int) -> str:
    """What a cell is: outlet, conditional, short, or why no pipe comes there."""
    if not found.lot.grid.known[row, column]:
        return "unknown"
    if found.closed[row, column]:
        return "outside" if found.outside[row, column] else "avoided"
    spare = found.spare_m[row, column]
    if np.isfinite(spare):
        if spare < 0:
            return "short"
        if not found.comes_out[row, column]:
            return ANY_CHANGES
        return "outlet" if found.plain[row, column] else "conditional"
    if found.deeper[row, column]:
        return "too_deep"
    return PAST_HOLES if found.past_holes[row, column] else "closed_off"
