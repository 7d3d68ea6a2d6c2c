"""The use cases, free of flask: what the web, the command line and the tests call.

Everything here is SI; the callers convert.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from typing import BinaryIO

import numpy as np
import pyproj

from yardfall.core.accuracy import (
    INSTRUMENTS,
    Accuracy,
    ErrorModel,
    cell_errors,
    point_errors,
    reading_errors,
    spot_errors,
)
from yardfall.core.alignment import align, stations_of
from yardfall.core.blunders import Readings
from yardfall.core.cautions import PUMP
from yardfall.core.decision import Remark
from yardfall.core.errors import InputError, NotFoundError, Problem
from yardfall.core.ground import GroundProfile, from_elevations, from_slopes
from yardfall.core.head import Head, find_head
from yardfall.core.infiltration import size_well
from yardfall.core.level_book import from_level_book
from yardfall.core.level_line import LineReading, from_level_line
from yardfall.core.pipes import Pipe
from yardfall.core.plan import Plan, Verdict, make_plan, special_stations, water_level_m
from yardfall.core.pressure import check_pump
from yardfall.core.request import (
    BranchRequest,
    ElevationGround,
    LevelBookGround,
    LevelLineGround,
    PlanRequest,
    RasterGround,
    RouteSpec,
    SlopeGround,
    SpotGround,
    SurveyRequest,
)
from yardfall.core.route import (
    SAME_STATION_M,
    Floats,
    Route,
    drawn,
    merge_stations,
    regular_stations,
    taped,
)
from yardfall.core.stations import GradeRun
from yardfall.core.surface import from_spots
from yardfall.core.tree import highest_end_m, usual_drop_m
from yardfall.core.trench import Join, Outlet
from yardfall.core.water import Inflow, Water, water_in
from yardfall.geo.crs import LOCAL, find_crs, leg_lengths_m, to_plane_m
from yardfall.geo.raster import RasterFacts, ground_from_raster, inspect_raster
from yardfall.geo.relief import draw_relief
from yardfall.store.rasters import RasterRecord, RasterStore

VERDICTS: tuple[Verdict, ...] = ("no", "too_close", "yes")
TAPE_DISAGREES = 0.05
"""A tape this share off the drawn length draws a warning."""
BEYOND_M = 0.01
"""A reading this far beyond the route's end draws a warning."""
TIE_GAP_M = 0.00635
"""Two ties of one line that differ from their mean by over 1/4 in draw a warning (common
practice, no source)."""


@dataclass(frozen=True, eq=False)
class Survey:
    """A route with its ground and the stations asked for (n,)."""

    route: Route
    ground: GroundProfile
    asked_m: Floats
    warnings: tuple[Remark, ...]


def survey(request: SurveyRequest, rasters: RasterStore) -> Survey:
    """Station the route and find the ground along it.

    Raises InputError with pointers into the request, GroundGap where ground is not known.
    """
    with _under("/route"):
        route, crs = _route(request.route)
    with _under("/stations"):
        asked_m = _asked_stations(request, route)
    with _under("/ground"):
        ground = _ground(request, route, crs, asked_m, rasters)
    ground.require_reach(route.length_m)
    return Survey(route, ground, asked_m, _survey_warnings(route, ground))


@dataclass(frozen=True, eq=False)
class Tree:
    """A planned line and the branches that join it, each a tree of its own."""

    plan: Plan
    branches: tuple[BranchTree, ...] = ()

    @property
    def verdict(self) -> Verdict:
        """Yes only if every line is."""
        verdicts = {self.plan.verdict, *(b.tree.verdict for b in self.branches)}
        return next(v for v in VERDICTS if v in verdicts)


@dataclass(frozen=True, eq=False)
class BranchTree:
    """A branch's request, its tree, and the level the main left it at the join (own datum)."""

    request: BranchRequest
    tree: Tree
    drop_m: float


@dataclass(frozen=True, eq=False)
class _Surveyed:
    """A request with its ground, and its branches', before anything is planned."""

    request: PlanRequest
    survey: Survey
    branches: tuple[tuple[BranchRequest, _Surveyed, float, float], ...]


def plan(request: PlanRequest, rasters: RasterStore) -> Tree:
    """Survey the ground and plan the pipe and its branches on it. Raises what `survey` raises."""
    return _planned(_surveyed(request, rasters), rasters)


def _surveyed(request: PlanRequest, rasters: RasterStore) -> _Surveyed:
    """From the leaves: each branch gives the line it joins one more upper limit."""
    found = survey(request.survey, rasters)
    branches, joins = [], []
    for i, branch in enumerate(request.branches):
        with _under(f"/branches/{i}"):
            below = _surveyed(branch.request, rasters)
            if branch.joins_at_m > found.route.length_m + SAME_STATION_M:
                raise InputError.at("/joins_at", "The join lies beyond the end of the line.")
            offset_m = 0.0
            if branch.own_datum:
                end_m = below.survey.ground.elevation_at(below.survey.route.length_m)
                offset_m = end_m - found.ground.elevation_at(branch.joins_at_m)
            design, route = below.request.design, below.survey.route
            shown_m = stations_of(
                route, below.survey.ground, below.survey.asked_m, special_stations(design)
            )
            points = align(
                below.survey.ground, shown_m, route.length_m, design.limits.outlet_taper_m
            )
            drop_m = branch.drop_m
            if drop_m is None:
                drop_m = usual_drop_m(design.pipe, request.design.pipe)
            highest_m = highest_end_m(design, points) - drop_m - offset_m
        joins.append(Join(branch.joins_at_m, branch.name, highest_m))
        branches.append((branch, below, drop_m, offset_m))
    joined = replace(request, design=replace(request.design, joins=tuple(joins)))
    return _Surveyed(joined, found, tuple(branches))


def _planned(surveyed: _Surveyed, rasters: RasterStore) -> Tree:
    """From the outlet: plan the line, then each branch to the level the line has at its join."""
    own = _plan_line(surveyed, rasters)
    trees = []
    for i, (branch, below, drop_m, offset_m) in enumerate(surveyed.branches):
        main_m = float(np.interp(branch.joins_at_m, own.points.at_m, own.decision.invert_m))
        outlet = Outlet("tie_in", "invert", main_m + drop_m + offset_m)
        design = replace(below.request.design, outlet=outlet)
        request = replace(below.request, design=design)
        with _under(f"/branches/{i}"):
            tree = _planned(replace(below, request=request), rasters)
        trees.append(BranchTree(branch, tree, drop_m))
    return Tree(own, tuple(trees))


def _plan_line(surveyed: _Surveyed, rasters: RasterStore) -> Plan:
    request, found = surveyed.request, surveyed.survey
    readings, errors = _quality(request, found, rasters)
    planned = make_plan(
        found.route,
        found.ground,
        request.design,
        found.asked_m,
        request.tape_step_m,
        found.warnings,
        errors,
        readings,
    )
    inflows = (*request.inflows, *_from_branches(surveyed))
    if inflows:
        with _under("/inflows"):
            water = water_in(inflows, request.design.pipe, planned.runs)
        pumped = [PUMP] if any(i.kind == "pump" for i in inflows) else []
        planned = replace(planned, water=water, cautions=(*pumped, *planned.cautions))
    if request.pump is not None:
        duty = request.pump
        planned = replace(planned, pump=check_pump(duty.head_m, duty.leg, duty.flow_m3s))
    if request.storm is not None:
        planned = replace(planned, well=size_well(request.storm))
    if request.openings:
        head = _head(request, planned, inflows)
        planned = replace(planned, head=head)
        if head.spare_m < 0:
            values: dict[str, float | str] = {
                "opening": head.opening.what,
                "short_m": -head.spare_m,
            }
            remark = Remark("head_short", "/head/openings", values)
            planned = replace(planned, warnings=(*planned.warnings, remark))
    return planned


def _from_branches(surveyed: _Surveyed) -> list[Inflow]:
    """Everything that enters a branch, at the station where it joins."""
    return [
        replace(inflow, at_m=branch.joins_at_m)
        for branch, below, _, _ in surveyed.branches
        for inflow in (*below.request.inflows, *_from_branches(below))
    ]


def _head(request: PlanRequest, planned: Plan, inflows: tuple[Inflow, ...]) -> Head:
    """Head at the house at the flow stated for it, or at all the inflows together."""
    flow_m3s = request.head_flow_m3s
    if flow_m3s is None:
        flow_m3s = sum(inflow.flow_m3s for inflow in inflows)
    return find_head(
        request.openings,
        water_level_m(planned),
        flow_m3s,
        request.design.pipe,
        planned.route.length_m,
        request.head_margin_m,
    )


def carry(inflows: tuple[Inflow, ...], pipe: Pipe, grade: float) -> Water:
    """All the inflows in one pipe at one grade."""
    return water_in(
        [replace(i, at_m=None) for i in inflows], pipe, [GradeRun(0.0, 1.0, grade, 0.0)]
    )


def add_raster(stream: BinaryIO, name: str, rasters: RasterStore) -> RasterRecord:
    """Keep an uploaded raster. Raises FileRefusedError or TooLargeError; then nothing is kept."""
    with rasters.incoming(stream) as part:
        return rasters.keep(part, name, asdict(inspect_raster(part)))


def relief(key: str, rasters: RasterStore) -> bytes:
    """The shaded relief of a kept raster as PNG, drawn once."""
    record = rasters.get(key)
    drawn_before = record.relief_path
    if not drawn_before.exists():
        picture = draw_relief(record.path, facts_of(record))
        rasters.keep_relief(record, picture)
        return picture
    return drawn_before.read_bytes()


def facts_of(record: RasterRecord) -> RasterFacts:
    """The facts as they were read at upload."""
    facts = dict(record.facts)
    for name in ("bounds", "metres_per_unit", "cell_m"):
        facts[name] = tuple(facts[name])
    return RasterFacts(**facts)


class _under:  # noqa: N801 - reads as a phrase where it is used
    """Turn the pointers of an InputError raised inside into pointers below `prefix`."""

    def __init__(self, prefix: str) -> None:
        self.prefix = prefix

    def __enter__(self) -> None:
        return None

    def __exit__(self, _kind: object, error: BaseException | None, _trace: object) -> None:
        if isinstance(error, InputError):
            raise InputError(
                *(Problem(self.prefix + p.pointer, p.detail) for p in error.problems)
            ) from error


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
    return merge_stations(regular, np.array(request.at_m, dtype=np.float64))


def _ground(
    request: SurveyRequest, route: Route, crs: str, asked_m: Floats, rasters: RasterStore
) -> GroundProfile:
    spec = request.ground
    match spec:
        case LevelLineGround():
            return from_level_line(spec.readings)
        case LevelBookGround():
            return from_level_book(
                spec.benchmark, spec.benchmark_m, spec.shots, spec.known_m, spec.distance_m
            )
        case ElevationGround():
            return from_elevations(spec.at_m, spec.elevation_m)
        case SlopeGround():
            return from_slopes(spec.runs)
        case SpotGround() if route.xy is not None:
            found = find_crs(crs)
            unit_m = request.route.local_unit_m
            line_m = to_plane_m(route.xy, found, unit_m, route.xy[0])
            spots_m = to_plane_m(spec.xy, found, unit_m, route.xy[0])
            return from_spots(route, line_m, np.column_stack([spots_m, spec.z_m]), asked_m)
        case RasterGround() if (here := find_crs(crs)) is not None:
            return _raster_ground(spec, route, here, asked_m, rasters)
    raise InputError.at(
        "/kind",
        "This ground needs a route drawn on a map: give route.line with its crs instead of a "
        "length or a local plan.",
    )


def _raster_ground(
    spec: RasterGround, route: Route, crs: pyproj.CRS, asked_m: Floats, rasters: RasterStore
) -> GroundProfile:
    try:
        record = rasters.get(spec.raster)
    except NotFoundError as error:
        raise InputError.at(
            "/raster", f"{error} Upload it first, or pick one of those kept."
        ) from error
    return ground_from_raster(
        record.path, facts_of(record), route, crs, asked_m, spec.vertical_unit
    )


def _survey_warnings(route: Route, ground: GroundProfile) -> tuple[Remark, ...]:
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
    closure = ground.closure
    if closure and abs(closure.misclosure_m) > closure.limit_m:
        found.append(
            Remark(
                "does_not_close",
                "/ground/shots",
                {"misclosure_m": closure.misclosure_m, "limit_m": closure.limit_m},
            )
        )
    for line, gap_m in ground.tie_gaps_m.items():
        if gap_m > TIE_GAP_M:
            found.append(
                Remark("lines_disagree", "/ground/readings", {"line": line, "gap_m": gap_m})
            )
    if ground.at_m[-1] > route.length_m + BEYOND_M:
        found.append(Remark("beyond_the_route", "/ground", {"at_m": float(ground.at_m[-1])}))
    return tuple(found)


def _quality(
    request: PlanRequest, found: Survey, rasters: RasterStore
) -> tuple[list[Readings], ErrorModel | None]:
    """Hand readings to look for slips in, and how well the ground is known (None: unknown)."""
    spec, ground, accuracy = request.survey.ground, found.ground, request.accuracy
    match spec:
        case LevelLineGround(readings=lines):
            return _line_quality(lines, ground, accuracy)
        case LevelBookGround():
            return _book_quality(spec, ground, accuracy)
        case _ if accuracy is None:
            return [], None
        case RasterGround():
            cell_m = min(facts_of(rasters.get(spec.raster)).cell_m)
            return [], cell_errors(accuracy, ground, cell_m)
        case SpotGround() if found.route.xy is not None:
            crs, unit_m = find_crs(request.survey.route.crs), request.survey.route.local_unit_m
            origin = found.route.xy[0]
            along = found.route.position(ground.at_m)
            spots_m = to_plane_m(spec.xy, crs, unit_m, origin)
            assert along is not None
            return [], spot_errors(
                accuracy, ground, spots_m, to_plane_m(along, crs, unit_m, origin)
            )
        case ElevationGround():
            order = np.argsort(spec.at_m, kind="stable")
            return [], point_errors(accuracy, ground, [f"/ground/points/{i}" for i in order])
    return [], point_errors(accuracy, ground, ["/ground/runs"] * len(ground.at_m))


def _line_quality(
    lines: tuple[LineReading, ...], ground: GroundProfile, accuracy: Accuracy | None
) -> tuple[list[Readings], ErrorModel | None]:
    at_m = np.array([r.at_m for r in lines])
    down_m = np.array([r.down_m for r in lines])
    pointers = tuple(f"/ground/readings/{i}" for i in range(len(lines)))
    strung = accuracy is not None and accuracy.label == INSTRUMENTS["line_level"].label
    groups = []
    for name in dict.fromkeys(r.line for r in lines):
        its = [i for i, r in enumerate(lines) if r.line == name]
        where = tuple(pointers[i] + "/down" for i in its)
        groups.append(Readings(at_m[its], down_m[its], where, strung=strung))

    def reduce(down: Floats) -> Floats:
        changed = [replace(r, down_m=float(d)) for r, d in zip(lines, down, strict=True)]
        return from_level_line(changed).elevation_m

    if accuracy is None:
        return groups, None
    return groups, reading_errors(accuracy, ground, down_m, at_m, pointers, reduce)


def _book_quality(
    spec: LevelBookGround, ground: GroundProfile, accuracy: Accuracy | None
) -> tuple[list[Readings], ErrorModel | None]:
    rod_m = np.array([s.rod_m for s in spec.shots])
    stations = [s.at_m for s in spec.shots]
    pointers = tuple(f"/ground/shots/{i}" for i in range(len(spec.shots)))
    groups: list[Readings] = []
    its: list[int] = []
    for i, shot in enumerate([*spec.shots, Shot("BS", 0.0)]):
        if shot.sight == "BS" and its:
            where = tuple(pointers[k] + "/rod" for k in its)
            at = np.array([stations[k] for k in its], dtype=np.float64)
            groups.append(Readings(at, rod_m[its], where))
            its = []
        elif shot.sight != "BS" and shot.at_m is not None:
            its.append(i)

    def reduce(rods: Floats) -> Floats:
        shots = [replace(s, rod_m=float(r)) for s, r in zip(spec.shots, rods, strict=True)]
        return from_level_book(
            spec.benchmark, spec.benchmark_m, shots, spec.known_m, spec.distance_m
        ).elevation_m

    if accuracy is None:
        return groups, None
    at_m = np.array([0.0 if x is None else x for x in stations])
    return groups, reading_errors(accuracy, ground, rod_m, at_m, pointers, reduce)
