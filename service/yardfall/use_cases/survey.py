"""A request's route and ground: stations, elevations, and what looks wrong about them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.core.errors import InputError, Problem, under
from yardfall.core.ground.closure import closing_remarks
from yardfall.core.ground.even_slope import even_slope, pipe_line
from yardfall.core.ground.level_book import from_level_book
from yardfall.core.ground.level_line import from_level_line
from yardfall.core.ground.profile import GroundProfile, from_elevations, from_slopes
from yardfall.core.ground.route import (
    SAME_STATION_M,
    Route,
    drawn,
    merge_stations,
    regular_stations,
    taped,
)
from yardfall.core.ground.steps import from_steps
from yardfall.core.ground.tin import fall_around as spots_around
from yardfall.core.ground.tin import from_spots
from yardfall.core.remarks import Remark
from yardfall.core.request import (
    LOCAL,
    CellGround,
    ElevationGround,
    GroundSpec,
    LengthAndDropGround,
    LevelBookGround,
    LevelLineGround,
    RouteSpec,
    SlopeGround,
    SpotGround,
    StepGround,
    SurveyRequest,
)
from yardfall.core.uncertainty.lidar import Cells
from yardfall.core.uncertainty.pinned import HandReadings, Pinned, pin
from yardfall.core.warnings.plausibility import doubtful_ground
from yardfall.geo.crs import find_crs, leg_lengths_m, to_plane_m
from yardfall.geo.raster_ground import fall_around, ground_over
from yardfall.geo.search_grid import SPOT_CELL_M
from yardfall.store.uploads.rasters import RasterStore
from yardfall.use_cases.grounds import elevations_of

KEPT: Final = 32
KEPT_READINGS: Final = 60
"""So many surveys by hand are kept for the next request, of so many readings or fewer: while
someone moves the pipe, the ground stays the same."""
TAPE_DISAGREES = 0.05
"""A tape this share off the drawn length draws a warning."""
BEYOND_M = 0.01
"""A reading this far beyond the route's end draws a warning."""
TIE_GAP_M = 0.00635
"""Two ties of one line that differ from their mean by over 1/4 in draw a warning (common
practice, no source)."""


@dataclass(frozen=True, eq=False)
class Survey:
    """A route with its ground and the stations asked for (n,).

    `cells` are those of the raster that the ground was read from, `pinned` what hand readings made
    of it. `kept`: the next request with the same route and readings gets this very object.
    """

    asked: SurveyRequest
    route: Route
    ground: GroundProfile
    asked_m: Floats
    warnings: tuple[Remark, ...]
    cells: Cells | None = None
    pinned: Pinned | None = None
    kept: bool = False

    def pinned_by(self, pinned: Pinned) -> Survey:
        """The same on ground that was pinned along with other lines'."""
        ground = replace(pinned.ground, around=self.ground.around)
        return replace(self, ground=ground, pinned=pinned)


def survey(request: SurveyRequest, rasters: RasterStore, ditch_m: float | None = None) -> Survey:
    """Station the route and find the ground along it, and around its end as far as `ditch_m`.

    Raises InputError with pointers into the request, GroundGap where ground is not known.
    """
    told = _told(request)
    if told is not None:
        return _kept_survey(_ByHand(request, told))
    return _survey(request, rasters, ditch_m)


class _ByHand:
    """A request whose ground was read by hand along the line: equal to another with the same."""

    def __init__(self, request: SurveyRequest, told: tuple[object, ...]) -> None:
        self.request, self.told = request, told

    def __hash__(self) -> int:
        return hash(self.told)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _ByHand) and self.told == other.told


def _told(request: SurveyRequest) -> tuple[object, ...] | None:
    """All of a request that reads its ground by hand along the line; None: it does not, or by too
    many readings to be kept."""
    route, ground = request.route, request.ground
    match ground:
        case LevelLineGround(readings=parts) | SlopeGround(runs=parts) | StepGround(steps=parts):
            read: object = (parts, getattr(ground, "turned", False))
        case ElevationGround(at_m=parts):
            read = (ground.at_m.tobytes(), ground.elevation_m.tobytes())
        case _:
            return None
    if len(parts) > KEPT_READINGS or len(request.at_m) > KEPT_READINGS:
        return None
    line = None if route.line is None else (route.line.tobytes(), route.crs, route.local_unit_m)
    taped = (route.length_m, route.tape_length_m)
    return taped, line, type(ground).__name__, read, request.every_m, request.at_m


@lru_cache(maxsize=KEPT)
def _kept_survey(by_hand: _ByHand) -> Survey:
    return replace(_survey(by_hand.request, None, None), kept=True)


def _survey(request: SurveyRequest, rasters: RasterStore | None, ditch_m: float | None) -> Survey:
    with under("/route"):
        route, crs = _route(request.route)
    try:
        with under("/stations"):
            asked_m = _asked_stations(request, route)
    except InputError:
        _require_ground(request, route, crs, rasters)
        raise
    with under("/ground"):
        ground, cells = _ground(request, route, crs, asked_m, rasters, ditch_m or 0.0)
    ground.require_reach(route.length_m)
    pinned = _pinned(_read_over(request.ground, route), ground, cells)
    ground = pinned.ground if pinned else ground
    if ditch_m is not None:
        ground = _with_fall_around(request, route, crs, ground, rasters, ditch_m)
    warnings = _survey_warnings(route, request.ground, ground)
    warnings += pinned.remarks if pinned else ()
    return Survey(request, route, ground, asked_m, warnings, cells, pinned)


def _read_over(spec: GroundSpec, route: Route) -> HandReadings | None:
    """What was read by hand on a route over a raster or a source; None: nothing."""
    hand = spec.hand if isinstance(spec, CellGround) else None
    return hand.within(route.length_m) if hand else None


def _pinned(hand: HandReadings | None, ground: GroundProfile, cells: Cells | None) -> Pinned | None:
    return pin(ground, cells, hand) if hand and cells else None


def _with_fall_around(
    request: SurveyRequest,
    route: Route,
    crs: str,
    ground: GroundProfile,
    rasters: RasterStore | None,
    ditch_m: float,
) -> GroundProfile:
    spec, here = request.ground, find_crs(crs)
    if isinstance(spec, SpotGround) and route.xy is not None:
        unit_m, origin = request.route.local_unit_m, route.xy[0]
        end_m = to_plane_m(route.xy[-1:], here, unit_m, origin)[0]
        spots_m = np.column_stack([to_plane_m(spec.xy, here, unit_m, origin), spec.z_m])
        around = spots_around(end_m, spots_m, SPOT_CELL_M, ditch_m, route.length_m)
        return replace(ground, around=around)
    if not isinstance(spec, CellGround) or here is None:
        return ground
    around = fall_around(elevations_of(spec, rasters), route, here, ditch_m)
    return replace(ground, around=around)


def _require_ground(
    request: SurveyRequest, route: Route, crs: str, rasters: RasterStore | None
) -> None:
    """Raise where ground is not known: a length that it does not reach is often a wrong unit, and
    the nearer fault than the stations that it brings."""
    ends_m = np.array([0.0, route.length_m])
    with under("/ground"):
        ground, _ = _ground(request, route, crs, ends_m, rasters)
    ground.require_reach(route.length_m)


def _route(spec: RouteSpec) -> tuple[Route, str]:
    if spec.line is None:
        return taped(float(spec.length_m or 0)), LOCAL
    legs_m = leg_lengths_m(spec.line, find_crs(spec.crs), spec.local_unit_m)
    return drawn(spec.line, legs_m, spec.tape_length_m), spec.crs


def _asked_stations(request: SurveyRequest, route: Route) -> Floats:
    ends = np.array([0.0, route.length_m])
    regular = regular_stations(route.length_m, request.every_m) if request.every_m else ends
    beyond = [
        Problem(f"/at/{i}", "This station lies beyond the end of the route.")
        for i, at_m in enumerate(request.at_m)
        if at_m > route.length_m + SAME_STATION_M
    ]
    if beyond:
        raise InputError(*beyond)
    return merge_stations(regular, np.array(request.at_m)) if request.at_m else regular


def _ground(
    request: SurveyRequest,
    route: Route,
    crs: str,
    asked_m: Floats,
    rasters: RasterStore | None,
    margin_m: float = 0.0,
) -> tuple[GroundProfile, Cells | None]:
    """The ground, and the cells it was read from; `margin_m` is asked for about it later."""
    spec = request.ground
    if isinstance(spec, CellGround) and (here := find_crs(crs)) is not None:
        hand = _read_over(spec, route)
        asked_m = merge_stations(asked_m, hand.at_m) if hand else asked_m
        return ground_over(elevations_of(spec, rasters), route, here, asked_m, margin_m)
    return _ground_of_readings(request, route, crs, asked_m), None


def _ground_of_readings(
    request: SurveyRequest, route: Route, crs: str, asked_m: Floats
) -> GroundProfile:
    spec = request.ground
    match spec:
        case LevelLineGround():
            return from_level_line(spec.readings)
        case LevelBookGround():
            return from_level_book(
                spec.benchmark,
                spec.benchmark_m,
                spec.shots,
                spec.known_m,
                spec.distance_m,
                spec.rod_step_m,
            )
        case ElevationGround():
            return from_elevations(spec.at_m, spec.elevation_m)
        case SlopeGround():
            return from_slopes(spec.runs)
        case StepGround():
            return from_steps(spec.steps)
        case LengthAndDropGround(of="pipe"):
            return pipe_line(route.length_m, spec.drop_m, spec.start_m)
        case LengthAndDropGround():
            return even_slope(route.length_m, spec.drop_m, spec.hump)
        case SpotGround() if route.xy is not None:
            found = find_crs(crs)
            unit_m = request.route.local_unit_m
            line_m = to_plane_m(route.xy, found, unit_m, route.xy[0])
            spots_m = to_plane_m(spec.xy, found, unit_m, route.xy[0])
            return from_spots(route, line_m, np.column_stack([spots_m, spec.z_m]), asked_m)
    raise InputError.at(
        "/kind",
        "This ground needs a route drawn on a map: give route.line with its crs instead of a "
        "length or a local plan.",
    )


def _survey_warnings(route: Route, spec: GroundSpec, ground: GroundProfile) -> tuple[Remark, ...]:
    """What a careful surveyor would look at again."""
    found = []
    off_m = route.length_m - route.drawn_length_m
    if abs(off_m) > TAPE_DISAGREES * route.drawn_length_m:
        found.append(
            Remark(
                "tape_disagrees",
                "/route/tape_length",
                {"drawn_m": route.drawn_length_m, "tape_m": route.length_m},
            )
        )
    if isinstance(spec, LevelBookGround):
        found += closing_remarks(spec.benchmark, spec.known_m, spec.shots, ground.closure)
    if isinstance(spec, LengthAndDropGround):
        code = "even_slope_taken" if spec.hump is None else "even_slopes_taken"
        values: dict[str, float | str] = {
            "from_station_m": 0.0,
            "to_station_m": route.length_m,
            "drop_m": spec.drop_m,
        }
        if spec.hump is not None:
            values["station_m"] = spec.hump.at_m
        found.append(Remark(code if ground.known else "ground_not_known", "/ground", values))
    for line, gap_m in ground.tie_gaps_m.items():
        if gap_m > TIE_GAP_M:
            found.append(
                Remark("lines_disagree", "/ground/readings", {"line": line, "gap_m": gap_m})
            )
    last_m = float(ground.at_m[-1])
    if isinstance(spec, CellGround) and spec.hand:
        last_m = float(spec.hand.at_m.max())
    if last_m > route.length_m + BEYOND_M:
        found.append(Remark("beyond_the_route", "/ground", {"at_m": last_m}))
    if isinstance(spec, SlopeGround) and all(run.percent > 0 for run in spec.runs):
        found.append(Remark("slopes_rise", "/ground/runs", {}))
    return (*found, *(doubtful_ground(ground, route.length_m) if ground.known else ()))
