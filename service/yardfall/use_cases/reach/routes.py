"""The best routes over a searched lot, straightened and planned."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely

from yardfall.core import deadline
from yardfall.core.arrays import Floats
from yardfall.core.design import Design, Grading
from yardfall.core.easing.conditions import conditions_of
from yardfall.core.errors import GroundGap, InputError
from yardfall.core.ground.route import planar_legs
from yardfall.core.reach.field import wanted_ends
from yardfall.core.reach.grid import flat_index, row_and_column
from yardfall.core.reach.request import XY, ReachRequest
from yardfall.core.reach.simplify import LEAST_LEG_M
from yardfall.core.request import PlanRequest
from yardfall.geo.crs import find_crs
from yardfall.store.uploads.rasters import RasterStore
from yardfall.use_cases import workflow
from yardfall.use_cases.reach.lines import Sought, lines_to, only
from yardfall.use_cases.reach.search import Searched
from yardfall.use_cases.trees import Tree

RESERVE_M: Final = 0.025
"""The shortest route keeps an inch to spare, or half the most there is if that is less."""
DIG_KEEPS: Final = 0.5
"""The route with least digging keeps this share of the most spare, so that it is no stub."""
SAME_M: Final = 0.001
"""The spare that the map tells of a place and that of the route to it agree so far, or better."""
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

    @property
    def yes(self) -> bool:
        """Whether its plan has a line, by the readings as they stand."""
        return self.tree.plan.judged.decision.yes


@dataclass(frozen=True)
class PlacePlan:
    """What a plan to a place says: fall to spare, yes, whether nothing gives way; its request."""

    spare_m: float
    yes: bool
    plain: bool
    asked: PlanRequest


def find_routes(
    request: ReachRequest,
    found: Searched,
    ends: Floats,
    best: tuple[int, int] | None,
    rasters: RasterStore,
) -> tuple[RouteFound, ...]:
    """The routes asked for; where any is a yes by the readings, none that is a no.

    `best` is the place, row and column, with the most fall to spare; None: the pipe comes nowhere.
    """
    routes: list[RouteFound] = []
    lines: list[shapely.LineString] = []
    for sought in _sought(request, found, ends, best):
        deadline.check()
        planned = None
        if sought.place is not None:
            planned = _best_plan(request, found, sought, rasters)
        straightened: tuple[Floats, ...] = lines_to(found, sought)
        if planned is not None and planned.asked.survey.route.line is not None:
            straightened = (found.lot.to_plane(planned.asked.survey.route.line),)
        if not straightened:
            continue
        shape = shapely.LineString(straightened[0])
        alike = [i for i, other in enumerate(lines) if shape.hausdorff_distance(other) <= ALIKE_M]
        if alike:
            first = routes[alike[0]]
            kept = first
            if sought.kind == "most_spare" and planned is not None:
                kept = _planned_route(found, sought.kind, planned, rasters)
            routes[alike[0]] = replace(kept, kinds=(*first.kinds, sought.kind))
            continue
        if planned is not None:
            new: RouteFound | None = _planned_route(found, sought.kind, planned, rasters)
        else:
            new = _first_yes(request, found, sought, straightened, rasters)
        if new is not None:
            lines.append(shape)
            routes.append(new)
    if request.routes and best is not None and all("asked" in route.kinds for route in routes):
        at = int(flat_index(found.lot.grid, np.array([best[0]]), np.array([best[1]]))[0])
        planned = _best_plan(request, found, _to(found, "most_spare", at), rasters)
        if planned is not None:
            routes.append(_planned_route(found, "most_spare", planned, rasters))
    if any(route.yes for route in routes):
        routes = [route for route in routes if route.yes or "asked" in route.kinds]
    else:
        routes.sort(key=_missing)
    return tuple(routes)


def _missing(route: RouteFound) -> tuple[bool, float]:
    """Of routes that all fail the nearest first, behind the one asked for."""
    return "asked" not in route.kinds, -route.tree.plan.judged.decision.margin_m


def _first_yes(
    request: ReachRequest,
    found: Searched,
    sought: Sought,
    lines: tuple[Floats, ...],
    rasters: RasterStore,
) -> RouteFound | None:
    """The first of the lines that is a yes by its own plan, else the first that has one."""
    planned = None
    for line in lines:
        route = _planned(request, found, sought, line, rasters)
        if route is not None and route.yes:
            return route
        planned = planned or route
    return planned


def plan_to(
    request: ReachRequest,
    found: Searched,
    row: int,
    column: int,
    rasters: RasterStore,
    end: XY | None = None,
) -> PlacePlan | None:
    """The plan of the best line to one place, its grade changing as may be; None: no line there.

    `end` is the point itself where it is no point of the grid.
    """
    at = int(flat_index(found.lot.grid, np.array([row]), np.array([column]))[0])
    return _best_plan(request, found, _to(found, "asked", at, end), rasters)


def _to(found: Searched, kind: str, at: int, end: XY | None = None) -> Sought:
    """A route to one place (flat) that keeps what the map promises there."""
    row, column = row_and_column(found.lot.grid, np.array([at]))
    spare = found.spare_m[int(row[0]), int(column[0])]
    keep_m = float(spare) - SAME_M if spare >= 0 else -np.inf
    return Sought(kind, "length", only(found, at), keep_m, end, at)


def _best_plan(
    request: ReachRequest, found: Searched, sought: Sought, rasters: RasterStore
) -> PlacePlan | None:
    """Of the lines to a place: a yes that keeps what the map promises, with nothing given way if
    that can be, and as much to spare as any such.

    Of those alike the one with the fewest bends.
    """
    plans = []
    for line in lines_to(found, sought):
        on_map = _on_map(request, found, line)
        if on_map is None:
            continue
        asked = _asking(request, on_map)
        with suppress(GroundGap):
            its = [_laid_plan(asked, rasters)]
            if not its[0].yes:
                its += [_laid_plan(bent, rasters) for bent in _with_more_changes(request, asked)]
            plans.append(max(its, key=lambda one: (one.yes, one.spare_m)))
    if not plans:
        return None

    def rank(one: PlacePlan) -> tuple[bool, bool, bool]:
        return one.yes, one.spare_m >= sought.keep_m, one.plain

    best = max(plans, key=lambda one: (*rank(one), one.spare_m))
    alike = (one for one in plans if rank(one) == rank(best))
    return next(one for one in alike if one.spare_m >= best.spare_m - SAME_M)


def _laid_plan(asked: PlanRequest, rasters: RasterStore) -> PlacePlan:
    laid = workflow.lay_line(asked, rasters)
    decision = laid.judged.decision
    plain = not conditions_of(asked.design, laid.eased)
    return PlacePlan(decision.margin_m, decision.yes, plain and decision.yes, asked)


def _sought(
    request: ReachRequest, found: Searched, ends: Floats, best_at: tuple[int, int] | None
) -> list[Sought]:
    """What routes to look for: to the point asked, then the best of each kind."""
    field, grid = found.field, found.lot.grid
    sought: list[Sought] = []
    if request.to is not None:
        row, column, on = grid.nearest(np.nan_to_num(found.lot.to_plane(np.array([request.to]))))
        if not on[0]:
            raise InputError.at("/to", "This point lies off the ground that was searched.")
        at = int(flat_index(grid, row, column)[0])
        sought.append(_to(found, "asked", at, request.to))
    if not request.routes or best_at is None:
        return sought
    best_m = float(ends[best_at])
    best = int(flat_index(grid, np.array([best_at[0]]), np.array([best_at[1]]))[0])
    if best_m < 0:
        return [*sought, _to(found, "nearest_miss", best)]
    reserve_m = min(RESERVE_M, best_m / 2)
    ends_here = found.may_end & found.comes_out
    if not ends_here.any():
        ends_here = found.may_end
    wanted = wanted_ends(field, ~ends_here, reserve_m)
    roomy = wanted_ends(field, ~ends_here, best_m * DIG_KEEPS)
    kinds = [
        Sought("shortest", "length", wanted, reserve_m / 2),
        _to(found, "most_spare", best),
        Sought("least_dig", "dig", roomy, best_m * DIG_KEEPS * 0.9),
    ]
    return [*sought, *kinds[: request.routes]]


def _stating_shape(design: Design, grading: Grading) -> Design:
    free = None if design.open is None else replace(design.open, shape=False)
    return replace(design, grading=grading, open=free)


def _planned(
    request: ReachRequest, found: Searched, sought: Sought, line: Floats, rasters: RasterStore
) -> RouteFound | None:
    """The route planned as a drawn one; None where the ground under it is not known after all."""
    on_map = _on_map(request, found, line)
    if on_map is None:
        return None
    asked = _asking(request, on_map)
    try:
        asked, tree = _with_changes(request, asked, workflow.plan(asked, rasters), rasters)
    except GroundGap:
        return None
    return _route(found, sought.kind, asked, tree)


def _planned_route(
    found: Searched, kind: str, planned: PlacePlan, rasters: RasterStore
) -> RouteFound:
    return _route(found, kind, planned.asked, workflow.plan(planned.asked, rasters))


def _route(found: Searched, kind: str, asked: PlanRequest, tree: Tree) -> RouteFound:
    on_map = asked.survey.route.line
    assert on_map is not None
    row, column, _ = found.lot.grid.nearest(found.lot.to_plane(on_map[-1:]))
    spare = found.spare_m[int(row[0]), int(column[0])]
    return RouteFound((kind,), on_map, asked, tree, float(spare))


def _with_changes(
    request: ReachRequest, asked: PlanRequest, tree: Tree, rasters: RasterStore
) -> tuple[PlanRequest, Tree]:
    """A route with more changes of grade, where it is a no without and may have them."""
    if tree.plan.decision.yes:
        return asked, tree
    for bent in _with_more_changes(request, asked):
        other = workflow.plan(bent, rasters)
        if other.plan.judged.decision.margin_m > tree.plan.judged.decision.margin_m:
            return bent, other
    return asked, tree


def _with_more_changes(request: ReachRequest, asked: PlanRequest) -> tuple[PlanRequest, ...]:
    """The same with more changes of grade, where those are left open."""
    if not request.may_bend:
        return ()
    grading = replace(asked.design.grading, shape="least_dig", max_breaks=MOST_BREAKS)
    return (replace(asked, design=_stating_shape(asked.design, grading)),)


def _on_map(request: ReachRequest, found: Searched, line: Floats) -> Floats | None:
    """A line of the plane in the caller's coordinates; None where nothing is left of it."""
    crs = find_crs(request.plan.survey.route.crs)
    digits = map_digits(geographic=crs is not None and crs.is_geographic)
    on_map = np.round(found.lot.to_map(line), digits)
    on_map[0] = request.start
    on_map = _each_once(on_map, found.lot.to_plane(on_map))
    return on_map if len(on_map) > 1 else None


def _asking(request: ReachRequest, on_map: Floats) -> PlanRequest:
    """The plan of a route."""
    route = replace(request.plan.survey.route, line=on_map)
    survey = replace(request.plan.survey, route=route)
    return replace(request.plan, survey=survey, explain=False)


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
