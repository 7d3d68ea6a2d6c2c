"""Lines over a searched lot to where a route is wanted, in the order in which they are planned."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from yardfall.core import deadline
from yardfall.core.arrays import Floats, Indices
from yardfall.core.design import Design
from yardfall.core.ground.route import planar_legs
from yardfall.core.reach.field import Field, needed
from yardfall.core.reach.grid import NEVER, REACHED, row_and_column
from yardfall.core.reach.laid_lines import STRAIGHT, margin_along
from yardfall.core.reach.least_cost_path import Aim, back_from, cheapest
from yardfall.core.reach.request import XY
from yardfall.core.reach.simplify import (
    LEAST_LEG_M,
    Trial,
    margin_kept,
    over_known,
    straighten,
    try_route,
)
from yardfall.use_cases.reach.search import Searched

KEPT_M: Final = 0.005
"""So much below the highest level that reaches a place a way to it is looked for."""
DIG_GROWS: Final = 1.03


@dataclass(frozen=True, eq=False)
class Sought:
    """A route to look for: what it is best at, the ends wanted (flat), and what it must keep.

    `end` is a point to end on exactly, `place` the one point of the grid that is wanted (flat).
    """

    kind: str
    aim: Aim
    wanted: Floats
    keep_m: float
    end: XY | None = None
    place: int | None = None


def only(found: Searched, at: int) -> Floats:
    """One end alone, at nearly the highest level that reaches it."""
    wanted = np.full(len(found.reached.end_m), -NEVER)
    if found.reached.end_m[at] > REACHED:
        wanted[at] = found.reached.end_m[at] - KEPT_M / 2
    return wanted


def lines_to(found: Searched, sought: Sought) -> tuple[Floats, ...]:
    """Routes in the plane to try, in turn; none where there is no way.

    With few bends, as laid to the place, then as it was found: that keeps off holes by a cell, so
    it stands in where the others cut one. To one place the line as laid comes first.
    """
    design, field, grid = found.design, found.field, found.lot.grid
    need = needed(field, sought.wanted)
    below_m = design.section.below_invert_m
    way = cheapest(field, found.seeds, need, sought.wanted, field.run_out_m, sought.aim, below_m)
    straight = () if sought.place is None else _straight_to(found, sought.place, sought.end)
    if way is None:
        return straight
    laid = _as_laid(found, int(way.points[-1]), sought.end)
    line = np.vstack([found.start[None], grid.xy(*row_and_column(grid, way.points))])
    if sought.end is not None:
        exact = np.vstack([line[:-1], found.lot.to_plane(np.array([sought.end]))])
        if found.bounds.allows(exact[-2:]):
            line = exact
    end = int(way.points[-1])
    design = _ending_at(design, field, end)
    lowest_m = float(field.lowest_end_m[end])

    def margin_of(line: Floats) -> float:
        return margin_along(
            line,
            found.lot.ground_m(line),
            grid,
            found.lot.triangles,
            found.marks_m,
            design,
            lowest_m,
            changes=found.changes,
        )

    for base_line in (*laid, line):
        base = try_route(grid, _bent(design), base_line, margin_of)
        if base is not None and (base.margin_m >= 0 or base_line is line):
            few = straighten(base_line, _serves(found, _bent(design), base, sought, margin_of))
            return *straight, few, *laid, line
    return *straight, *laid, line


def _as_laid(found: Searched, at: int, end: XY | None) -> tuple[Floats, ...]:
    """The line that was laid to a point (flat), to `end` where that is told."""
    grid = found.lot.grid
    row, column = row_and_column(grid, np.array([at]))
    which = found.line[int(row[0]), int(column[0])]
    if which == 0:
        return ()
    there = grid.xy(row, column)
    if which == STRAIGHT:
        line = np.vstack([found.start[None], there])
    else:
        line = np.vstack([found.start[None], grid.xy(*row_and_column(grid, _way(found, at)))])
    if end is not None:
        exact = np.vstack([line[:-1], found.lot.to_plane(np.array([end]))])
        line = exact if found.bounds.allows(exact[-2:]) else line
    return (line,) if found.bounds.allows(line) and over_known(grid, line) else ()


def _straight_to(found: Searched, at: int, end: XY | None) -> tuple[Floats, ...]:
    """The straight line to a point (flat), or to `end`, where nothing is in its way."""
    there = found.lot.grid.xy(*row_and_column(found.lot.grid, np.array([at])))
    if end is not None:
        there = found.lot.to_plane(np.array([end]))
    line = np.vstack([found.start[None], there])
    free = planar_legs(line)[0] > LEAST_LEG_M and found.bounds.allows(line)
    return (line,) if free else ()


def _way(found: Searched, at: int) -> Indices:
    """The corners (flat) of the way that the search found to one.

    Points between two steps of one direction are left out, as where the line was laid: a plan's
    ground is taken from corner to corner.
    """
    reached = found.reached
    turn = int(reached.turn[at])
    points = back_from(reached.before, turn)
    back = int(found.field.steps.offset[reached.turn_way[at]])
    if turn != at:
        points = np.concatenate([points, np.arange(turn - back, at - back, -back)])
    turns = np.diff(np.diff(points)) != 0
    return points[np.concatenate([[True], turns, [True]])] if len(points) > 1 else points


def _ending_at(design: Design, field: Field, end: int) -> Design:
    """With the depth that the ground lets an outlet have at one point (flat)."""
    if design.outlet.by == "invert":
        return design
    most_m = float(field.surface_m[end] - field.lowest_end_m[end])
    return replace(design, outlet=replace(design.outlet, most_m=most_m))


def _serves(
    found: Searched,
    design: Design,
    base: Trial,
    sought: Sought,
    margin_of: Callable[[Floats], float],
) -> Callable[[Floats], bool]:
    least_m = margin_kept(base, sought.keep_m)
    most_m2 = base.area_m2 * DIG_GROWS if sought.aim == "dig" else np.inf

    def serves(line: Floats) -> bool:
        deadline.check()
        if not found.bounds.allows(line) or not over_known(found.lot.grid, line):
            return False
        trial = try_route(found.lot.grid, design, line, margin_of)
        return trial is not None and trial.margin_m >= least_m and trial.area_m2 <= most_m2

    return serves


def _bent(design: Design) -> Design:
    return replace(design, grading=replace(design.grading, shape="least_dig"))
