"""The best routes over a searched lot, straightened and planned."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely

from yardfall import workflow
from yardfall.core import deadline
from yardfall.core.bends import (
    LEAST_LEG_M,
    Trial,
    margin_kept,
    over_known,
    straighten,
    try_route,
)
from yardfall.core.decision import Design, Grading
from yardfall.core.errors import GroundGap, InputError
from yardfall.core.grid import flat_index, row_and_column
from yardfall.core.lot import XY, ReachRequest
from yardfall.core.reach import NEVER, Field, needed, wanted_ends
from yardfall.core.request import PlanRequest
from yardfall.core.route import Floats, planar_legs
from yardfall.core.way import Aim, cheapest
from yardfall.geo.crs import find_crs
from yardfall.store.rasters import RasterStore
from yardfall.trees import Tree
from yardfall.yard_search import Searched

RESERVE_M: Final = 0.025
"""The shortest route keeps an inch to spare, or half the most there is if that is less."""
DIG_KEEPS: Final = 0.5
"""The route with least digging keeps this share of the most spare, so that it is no stub."""
KEPT_M: Final = 0.005
"""How much of its spare the route with the most may lose to run straighter."""
ASKED_KEEPS: Final = 0.9
"""The route to a place asked for keeps this share of what is to spare there."""
DIG_GROWS: Final = 1.03
ALIKE_M: Final = 2.0
"""Routes nowhere further apart are one route."""
MOST_BREAKS: Final = 3


@dataclass(frozen=True, eq=False)
class RouteFound:
    """A planned route: what it is best at, its line (k, 2) in the caller's coordinates."""

    kinds: tuple[str, ...]
    line: Floats
    request: PlanRequest
    tree: Tree
    map_spare_m: float


@dataclass(frozen=True, eq=False)
class _Sought:
    """A route to look for: what it is best at, the ends wanted (flat), and what it must keep."""

    kind: str
    aim: Aim
    wanted: Floats
    keep_m: float
    end: XY | None = None


def find_routes(
    request: ReachRequest, found: Searched, ends: Floats, rasters: RasterStore
) -> tuple[RouteFound, ...]:
    routes: list[RouteFound] = []
    lines: list[shapely.LineString] = []
    for sought in _sought(request, found, ends):
        deadline.check()
        straightened = _lines(found, sought)
        if not straightened:
            continue
        shape = shapely.LineString(straightened[0])
        alike = [i for i, other in enumerate(lines) if shape.hausdorff_distance(other) <= ALIKE_M]
        if alike:
            first = routes[alike[0]]
            routes[alike[0]] = replace(first, kinds=(*first.kinds, sought.kind))
            continue
        for line in straightened:
            route = _planned(request, found, sought, line, rasters)
            if route is not None:
                lines.append(shape)
                routes.append(route)
                break
    return tuple(routes)


def _sought(request: ReachRequest, found: Searched, ends: Floats) -> list[_Sought]:
    """What routes to look for: to the point asked, then the best of each kind."""
    field, grid = found.field, found.lot.grid
    sought: list[_Sought] = []
    if request.to is not None:
        row, column, on = grid.nearest(np.nan_to_num(found.lot.to_plane(np.array([request.to]))))
        if not on[0]:
            raise InputError.at("/to", "This point lies off the ground that was searched.")
        at = int(flat_index(grid, row, column)[0])
        spare = found.spare_m[int(row[0]), int(column[0])]
        keep_m = ASKED_KEEPS * float(spare) if spare >= 0 else -np.inf
        sought.append(_Sought("asked", "length", _only(found, at), keep_m, request.to))
    if not request.routes or not np.isfinite(ends).any():
        return sought
    row_, column_ = np.unravel_index(int(np.nanargmax(ends)), ends.shape)
    best_m = float(ends[row_, column_])
    best = int(flat_index(grid, np.array([row_]), np.array([column_]))[0])
    if best_m < 0:
        return [*sought, _Sought("nearest_miss", "length", _only(found, best), -np.inf)]
    reserve_m = min(RESERVE_M, best_m / 2)
    wanted = wanted_ends(field, ~found.may_end, reserve_m)
    roomy = wanted_ends(field, ~found.may_end, best_m * DIG_KEEPS)
    kinds = [
        _Sought("shortest", "length", wanted, reserve_m / 2),
        _Sought("most_spare", "length", _only(found, best), best_m - KEPT_M),
        _Sought("least_dig", "dig", roomy, best_m * DIG_KEEPS * 0.9),
    ]
    return [*sought, *kinds[: request.routes]]


def _only(found: Searched, at: int) -> Floats:
    """One end alone, at nearly the highest level that reaches it."""
    wanted = np.full(len(found.reached.end_m), -NEVER)
    if found.reached.end_m[at] > NEVER / 2:
        wanted[at] = found.reached.end_m[at] - KEPT_M / 2
    return wanted


def _lines(found: Searched, sought: _Sought) -> tuple[Floats, ...]:
    """The route in the plane with few bends, then as it was found; none where there is no way.

    The one that was found keeps off holes by a cell, so it stands in where the other cuts one.
    """
    design, field, grid = found.design, found.field, found.lot.grid
    need = needed(field, sought.wanted)
    below_m = design.section.below_invert_m
    way = cheapest(field, found.seeds, need, sought.wanted, field.run_out_m, sought.aim, below_m)
    if way is None:
        return ()
    line = np.vstack([found.start[None], grid.xy(*row_and_column(grid, way.points))])
    if sought.end is not None:
        exact = np.vstack([line[:-1], found.lot.to_plane(np.array([sought.end]))])
        if found.bounds.allows(exact[-2:]):
            line = exact
    design = _bent(_ending_at(design, field, int(way.points[-1])))
    base = try_route(grid, design, line)
    if base is None:
        return (line,)
    return straighten(line, _serves(found, design, base, sought)), line


def _ending_at(design: Design, field: Field, end: int) -> Design:
    """With the depth that the ground lets an outlet have at one point (flat)."""
    if design.outlet.by == "invert":
        return design
    most_m = float(field.surface_m[end] - field.lowest_end_m[end])
    return replace(design, outlet=replace(design.outlet, most_m=most_m))


def _serves(
    found: Searched, design: Design, base: Trial, sought: _Sought
) -> Callable[[Floats], bool]:
    least_m = margin_kept(base, sought.keep_m)
    most_m2 = base.area_m2 * DIG_GROWS if sought.aim == "dig" else np.inf

    def serves(line: Floats) -> bool:
        deadline.check()
        if not found.bounds.allows(line) or not over_known(found.lot.grid, line):
            return False
        trial = try_route(found.lot.grid, design, line)
        return trial is not None and trial.margin_m >= least_m and trial.area_m2 <= most_m2

    return serves


def _bent(design: Design) -> Design:
    return replace(design, grading=replace(design.grading, shape="least_dig"))


def _stating_shape(design: Design, grading: Grading) -> Design:
    free = None if design.open is None else replace(design.open, shape=False)
    return replace(design, grading=grading, open=free)


def _planned(
    request: ReachRequest, found: Searched, sought: _Sought, line: Floats, rasters: RasterStore
) -> RouteFound | None:
    """The route planned as a drawn one; None where the ground under it is not known after all."""
    spec = request.plan.survey.route
    crs = find_crs(spec.crs)
    digits = map_digits(geographic=crs is not None and crs.is_geographic)
    on_map = np.round(found.lot.to_map(line), digits)
    on_map[0] = request.start
    on_map = _each_once(on_map, found.lot.to_plane(on_map))
    if len(on_map) < 2:
        return None
    survey = replace(request.plan.survey, route=replace(spec, line=on_map))
    asked = replace(request.plan, survey=survey, explain=False)
    try:
        asked, tree = _with_changes(request, asked, workflow.plan(asked, rasters), rasters)
    except GroundGap:
        return None
    row, column, _ = found.lot.grid.nearest(line[-1:])
    spare = found.spare_m[int(row[0]), int(column[0])]
    return RouteFound((sought.kind,), on_map, asked, tree, float(spare))


def _with_changes(
    request: ReachRequest, asked: PlanRequest, tree: Tree, rasters: RasterStore
) -> tuple[PlanRequest, Tree]:
    """A route with more changes of grade, where it is a no without and may have them."""
    if not request.may_bend or tree.plan.decision.yes:
        return asked, tree
    grading = replace(asked.design.grading, shape="least_dig", max_breaks=MOST_BREAKS)
    bent = replace(asked, design=_stating_shape(asked.design, grading))
    other = workflow.plan(bent, rasters)
    better = other.plan.judged.decision.margin_m > tree.plan.judged.decision.margin_m
    return (bent, other) if better else (asked, tree)


def _each_once(on_map: Floats, plane_m: Floats) -> Floats:
    """Points of a route (k, 2) without those that lie on the one before; its end stays."""
    keep = np.concatenate([[True], planar_legs(plane_m) > LEAST_LEG_M])
    if not keep[-1] and keep[1:].any():
        keep[np.flatnonzero(keep)[-1]] = False
        keep[-1] = True
    return on_map[keep]


def map_digits(*, geographic: bool) -> int:
    """Decimals of a coordinate: about a millimetre."""
    return 8 if geographic else 3
