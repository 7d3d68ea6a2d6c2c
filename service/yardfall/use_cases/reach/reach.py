"""Reach: every place where gravity can bring a pipe out, and the best routes there.

The map comes from a search of the lot's grid (`core.reach`); each route is straightened and then
planned by the same `workflow.plan` as a drawn one, whose verdict is the one told.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
import shapely

from yardfall.core import deadline
from yardfall.core.arrays import Floats, Indices, Mask
from yardfall.core.design import Design, Section
from yardfall.core.errors import InputError, TooLargeError
from yardfall.core.reach.grid import REACHED, flat_index
from yardfall.core.reach.no_outlet import Loosened, Trials, loosenings
from yardfall.core.reach.request import XY, ReachRequest, Shape
from yardfall.core.request import SpotGround
from yardfall.geo.search_grid import Lot, cells_of, geometry
from yardfall.sentences import say
from yardfall.store.uploads.rasters import RasterStore
from yardfall.use_cases.reach.lot import lot_of
from yardfall.use_cases.reach.routes import RouteFound, find_routes, plan_to
from yardfall.use_cases.reach.search import (
    ANY_CHANGES,
    PAST_HOLES,
    Searched,
    best_of,
    kind_of,
    search,
)

MOST_TRIED: Final = 8
"""So many places are planned, from the best to the least, where the map's best is a no by its plan,
as rounded coordinates can make it."""
NEAR_TRIED: Final = 3
NEAR_APART_M: Final = 2.0
"""So many places, so far apart, are planned where the map has none: the way found there changes
grade as it likes, and its plan may be missing more than that of another place."""
MOST_LOOKED_AT: Final = 10_000
"""Places of a lot among which those are chosen."""
MENDING: Final = 0.5
"""Share of the time left that goes into what to loosen, at the most."""
MOST_PLACE_CELLS: Final = 30_000_000
"""Places asked about times cells of the lot: a line to each is looked for over all of the lot,
which takes a tenth of a second for a million cells."""


@dataclass(frozen=True)
class TargetFound:
    """A target: the most spare on it and where (in the caller's coordinates), None: not met.

    `kind` is what it is as `kind_of` says of a cell; where not met, what its most open cell is.
    """

    shape: Shape
    kind: str
    spare_m: float | None
    place: XY | None


@dataclass(frozen=True)
class Asked:
    """One point asked for; levels in metres, None where the pipe does not come.

    `invert_m` is the highest for a pipe that ends there, `passing_m` for one that runs on.
    """

    place: XY
    kind: str
    ground_m: float | None
    invert_m: float | None
    passing_m: float | None
    spare_m: float | None
    chance: float | None


@dataclass(frozen=True, eq=False)
class Outcome:
    """Everything that a reach answers, in SI."""

    searched: Searched
    best_m: float | None
    best_place: XY | None
    routes: tuple[RouteFound, ...]
    targets: tuple[TargetFound, ...]
    asked: tuple[Asked, ...]
    loosen: tuple[Loosened, ...]
    section: Section


def find_reach(request: ReachRequest, rasters: RasterStore) -> Outcome:
    """Search the lot, then plan the best routes that differ.

    Raises InputError with pointers into the request, TooLargeError for more places asked about
    than MOST_PLACE_CELLS allows.
    """
    lot = lot_of(request, rasters)
    _require_few_places(request, lot)
    found = search(request, lot)
    ends = _worth(found, found.may_end)
    planned = Planned(request, found, rasters)
    best_m, best_at = _best(planned, ends)
    best_place = None if best_at is None else _place(lot, *best_at)
    routes: tuple[RouteFound, ...] = ()
    if request.routes or request.to:
        routes = find_routes(request, found, ends, best_at, rasters)
    if best_m is not None and best_m < 0:
        best_m, best_place = _best_of_routes(routes, best_m, best_place)
        if best_m < 0:  # the lines laid over cells are no by all their plans
            never = np.zeros_like(found.comes_out)
            found = replace(found, comes_out=found.comes_out & ~found.may_end, plain=never)
    loosen: tuple[Loosened, ...] = ()
    if request.routes and not (best_m is not None and best_m >= 0) and not np.any(ends >= 0):
        loosen = _loosenings(request, found, rasters, best_m)
    return Outcome(
        found,
        best_m,
        best_place,
        routes,
        tuple(_target(found, planned, shape, i) for i, shape in enumerate(request.targets)),
        tuple(_asked(found, planned, xy, i) for i, xy in enumerate(request.ask)),
        loosen,
        request.plan.design.section,
    )


def _loosenings(
    request: ReachRequest, found: Searched, rasters: RasterStore, best_m: float | None
) -> tuple[Loosened, ...]:
    """What to loosen, as far as there is time to prove it by searching anew."""

    def proven(design: Design) -> float:
        changed = replace(request, plan=replace(request.plan, design=design), draws=0)
        there = search(changed, found.lot)
        ends = _worth(there, there.may_end)
        most_m = float(np.nanmax(ends)) if np.isfinite(ends).any() else None
        if most_m is not None and most_m >= 0:  # plans are dear, and a miss needs none
            most_m = _best(Planned(changed, there, rasters), ends)[0]
        return -np.inf if most_m is None else most_m

    trials = Trials(
        lambda design: best_of(found, design),
        proven,
        np.inf if best_m is None else -best_m,
        found.spare_m.size,
    )
    loosen: list[Loosened] = []
    with suppress(TooLargeError), deadline.at_most(MENDING):
        loosen.extend(loosenings(request.plan.design, found.design, trials))
    deadline.check()
    return tuple(loosen)


def _require_few_places(request: ReachRequest, lot: Lot) -> None:
    """Raise TooLargeError where too many places are asked about on so large a lot."""
    given, cells = len(request.targets) + len(request.ask), lot.grid.z_m.size
    most = MOST_PLACE_CELLS // cells
    if given > most:
        raise TooLargeError(
            say("bounds.lot_places", cells=f"{cells:,}", most=str(most), given=str(given))
        )


@dataclass(frozen=True)
class Told:
    """What is told of one place: its kind (`kind_of`) and fall to spare, None: no way there."""

    kind: str
    spare_m: float | None


@dataclass(frozen=True, eq=False)
class Planned:
    """Places of a lot told by the plan of a line to them, not by the search alone."""

    request: ReachRequest
    found: Searched
    rasters: RasterStore
    told: dict[tuple[int, int, XY | None], Told] = field(default_factory=dict)

    def at(self, row: int, column: int, end: XY | None = None) -> Told:
        """What is told of a place, `end` where it is no point of the grid; planned once."""
        if (row, column, end) not in self.told:
            self.told[row, column, end] = self._tell(row, column, end)
        return self.told[row, column, end]

    def _refused(self, end: XY) -> str | None:
        """Why no pipe may end just there; a cell about it may tell otherwise."""
        lot, bounds = self.found.lot, self.found.bounds
        there = lot.to_plane(np.array([end]))
        if not bounds.allows(np.vstack([there, there])):
            inside = bounds.within is None or bounds.within.covers(shapely.Point(*there[0]))
            return "avoided" if inside else "outside"
        if isinstance(self.request.plan.survey.ground, SpotGround):
            return None  # the triangles reach further than whole cells
        return None if np.isfinite(lot.grid.ground_m(there)[0]) else "unknown"

    def _tell(self, row: int, column: int, end: XY | None) -> Told:
        found = self.found
        kind, spare_m = kind_of(found, row, column), float(found.spare_m[row, column])
        comes = np.isfinite(spare_m)
        refused = None if end is None else self._refused(end)
        if refused is not None:
            return Told(refused, None)
        if end is None and not comes:
            return Told(kind, spare_m if comes else None)
        plan = plan_to(self.request, found, row, column, self.rasters, end)
        if plan is None:
            return Told(ANY_CHANGES if spare_m >= 0 else kind, spare_m if comes else None)
        if not plan.yes and spare_m >= 0:
            return Told(ANY_CHANGES, plan.spare_m)
        if not plan.yes:
            return Told(kind, plan.spare_m if comes else None)
        return Told("outlet" if plan.plain else "conditional", plan.spare_m)


def _best(planned: Planned, ends: Floats) -> tuple[float | None, tuple[int, int] | None]:
    """The most fall to spare by the plan of a place, and its row and column; None: nowhere."""
    found = planned.found
    order = np.argsort(-ends, axis=None)[: np.isfinite(ends).sum()]
    if not len(order):
        return None, None
    promised = order[(ends.flat[order] >= 0) & found.comes_out.flat[order]]
    tries = promised[np.linspace(0, len(promised) - 1, min(len(promised), MOST_TRIED)).astype(int)]
    best_m: float | None = None
    best_at: tuple[int, int] | None = None
    for at in [*_near(found, order, ends), *tries]:
        row, column = (int(one) for one in np.unravel_index(at, ends.shape))
        spare_m = planned.at(row, column).spare_m
        if best_m is None or (spare_m is not None and spare_m > best_m):
            best_m, best_at = spare_m, (row, column)
        if best_m is not None and best_m >= 0:
            break
    return best_m, best_at


def _near(found: Searched, order: Indices, ends: Floats) -> list[int]:
    """The best place (flat), and where it is a miss the next best that lie apart from it."""
    if ends.flat[order[0]] >= 0:
        return [int(order[0])]
    kept: list[int] = []
    order = order[:: max(1, len(order) // MOST_LOOKED_AT)]
    row, column = np.unravel_index(order, ends.shape)
    xy = found.lot.grid.xy(row, column)
    free = np.ones(len(order), dtype=bool)
    while free.any() and len(kept) < NEAR_TRIED:
        first = int(np.argmax(free))
        kept.append(int(order[first]))
        free &= np.hypot(*(xy - xy[first]).T) > NEAR_APART_M
    return kept


def _best_of_routes(
    routes: tuple[RouteFound, ...], best_m: float, best_place: XY | None
) -> tuple[float, XY | None]:
    """The most fall to spare of the routes by their plans, and where, if it is more."""
    for route in routes:
        spare_m = route.tree.plan.judged.decision.margin_m
        if "asked" not in route.kinds and spare_m > best_m:
            best_m, best_place = (
                float(spare_m),
                (float(route.line[-1, 0]), float(route.line[-1, 1])),
            )
    return best_m, best_place


def _worth(found: Searched, where: Mask) -> Floats:
    """Fall to spare (rows, columns) where lines of the shape asked for come out; if they nowhere
    do, what the search alone promises."""
    ends = np.where(where, found.spare_m, np.nan)
    sure = where & found.comes_out
    return np.where(sure, ends, np.nan) if sure.any() else ends


def _place(lot: Lot, row: int, column: int) -> XY:
    x, y = lot.to_map(lot.grid.xy(np.array([row]), np.array([column])))[0]
    return float(x), float(y)


def _asked(found: Searched, planned: Planned, xy: XY, i: int) -> Asked:
    grid = found.lot.grid
    plane = found.lot.to_plane(np.array([xy]))
    inside = np.isfinite(plane).all()
    row, column, on = grid.nearest(np.nan_to_num(plane))
    if not inside or not on[0]:
        raise InputError.at(f"/ask/{i}", "This point lies off the ground that was searched.")
    at = flat_index(grid, row, column)[0]
    r, c = int(row[0]), int(column[0])

    def level(value: float) -> float | None:
        return float(value) if value > REACHED else None

    told, ground = planned.at(r, c, xy), grid.z_m[r, c]
    chance = None if found.chance is None else found.chance[r, c]
    return Asked(
        xy,
        told.kind,
        float(ground) if np.isfinite(ground) else None,
        level(found.reached.end_m[at]),
        level(found.reached.level_m[at]),
        told.spare_m,
        None if chance is None or not np.isfinite(chance) else float(chance),
    )


def _target(found: Searched, planned: Planned, shape: Shape, i: int) -> TargetFound:
    cells = cells_of(found.lot, [geometry(found.lot, shape, f"/targets/{i}")])
    spare = _worth(found, cells & found.may_end)
    if not np.isfinite(spare).any():
        return TargetFound(shape, _why_not(found, cells), None, None)
    row, column = np.unravel_index(int(np.nanargmax(spare)), spare.shape)
    place = _place(found.lot, int(row), int(column))
    told = planned.at(int(row), int(column))
    return TargetFound(shape, told.kind, told.spare_m, place)


def _why_not(found: Searched, cells: Mask) -> str:
    """Why the pipe comes out at none of these cells; off the grid lies outside the lot line."""
    known, open_here = found.lot.grid.known, ~found.closed
    reasons = (
        ("near_start", np.isfinite(found.spare_m)),
        ("too_deep", found.deeper),
        (PAST_HOLES, found.past_holes),
        ("closed_off", known & open_here),
        ("avoided", known & found.closed & ~found.outside),
        ("unknown", ~known & ~found.outside),
    )
    if not cells.any() and not found.outside.any():
        return "unknown"
    return next((kind for kind, where in reasons if (cells & where).any()), "outside")
