"""The best routes over a searched lot, straightened and planned."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely

from yardfall import workflow
from yardfall.core import deadline
from yardfall.core.bends import Trial, margin_kept, straighten, try_route
from yardfall.core.decision import Design
from yardfall.core.errors import InputError
from yardfall.core.grid import flat_index, row_and_column
from yardfall.core.lot import XY, ReachRequest
from yardfall.core.reach import NEVER, needed, wanted_ends
from yardfall.core.request import PlanRequest
from yardfall.core.route import Floats
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
        line = _line(request, found, sought)
        if line is None:
            continue
        shape = shapely.LineString(line)
        alike = [i for i, other in enumerate(lines) if shape.hausdorff_distance(other) <= ALIKE_M]
        if alike:
            first = routes[alike[0]]
            routes[alike[0]] = replace(first, kinds=(*first.kinds, sought.kind))
            continue
        lines.append(shape)
        routes.append(_planned(request, found, sought, line, rasters))
    return tuple(routes)


def _sought(request: ReachRequest, found: Searched, ends: Floats) -> list[_Sought]:
    """What routes to look for: to the point asked, then the best of each kind."""
    design, field, grid = request.plan.design, found.field, found.lot.grid
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
    wanted = wanted_ends(field, design, ~found.may_end, reserve_m)
    roomy = wanted_ends(field, design, ~found.may_end, best_m * DIG_KEEPS)
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


def _line(request: ReachRequest, found: Searched, sought: _Sought) -> Floats | None:
    """The route in the plane with few bends; None where there is no way."""
    design, field, grid = request.plan.design, found.field, found.lot.grid
    taper_m, below_m = design.limits.outlet_taper_m, design.section.below_invert_m
    need = needed(field, sought.wanted, taper_m)
    way = cheapest(field, found.seeds, need, sought.wanted, taper_m, sought.aim, below_m)
    if way is None:
        return None
    line = np.vstack([found.start[None], grid.xy(*row_and_column(grid, way.points))])
    if sought.end is not None:
        exact = np.vstack([line[:-1], found.lot.to_plane(np.array([sought.end]))])
        if found.bounds.allows(exact[-2:]):
            line = exact
    design = _bent(design)
    base = try_route(grid, design, line)
    if base is None:
        return line
    return straighten(line, _serves(found, design, base, sought))


def _serves(
    found: Searched, design: Design, base: Trial, sought: _Sought
) -> Callable[[Floats], bool]:
    least_m = margin_kept(base, sought.keep_m)
    most_m2 = base.area_m2 * DIG_GROWS if sought.aim == "dig" else np.inf

    def serves(line: Floats) -> bool:
        deadline.check()
        if not found.bounds.allows(line):
            return False
        trial = try_route(found.lot.grid, design, line)
        return trial is not None and trial.margin_m >= least_m and trial.area_m2 <= most_m2

    return serves


def _bent(design: Design) -> Design:
    return replace(design, grading=replace(design.grading, shape="least_dig"))


def _planned(
    request: ReachRequest, found: Searched, sought: _Sought, line: Floats, rasters: RasterStore
) -> RouteFound:
    """The route planned as a drawn one: one straight grade if that does, else with changes."""
    spec = request.plan.survey.route
    crs = find_crs(spec.crs)
    digits = map_digits(geographic=crs is not None and crs.is_geographic)
    on_map = np.round(found.lot.to_map(line), digits)
    on_map[0] = request.start
    survey = replace(request.plan.survey, route=replace(spec, line=on_map))
    asked = replace(request.plan, survey=survey, explain=False)
    tree = workflow.plan(asked, rasters)
    if request.may_bend and not tree.plan.decision.yes:
        grading = replace(asked.design.grading, shape="least_dig", max_breaks=MOST_BREAKS)
        bent = replace(asked, design=replace(asked.design, grading=grading))
        other = workflow.plan(bent, rasters)
        if other.plan.decision.margin_m > tree.plan.decision.margin_m:
            asked, tree = bent, other
    row, column, _ = found.lot.grid.nearest(line[-1:])
    spare = found.spare_m[int(row[0]), int(column[0])]
    return RouteFound((sought.kind,), on_map, asked, tree, float(spare))


def map_digits(*, geographic: bool) -> int:
    """Decimals of a coordinate: about a millimetre."""
    return 8 if geographic else 3
