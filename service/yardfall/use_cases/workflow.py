"""The use cases, free of flask, all in SI: what the web, the command line and the tests call."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection
from contextlib import suppress
from dataclasses import asdict, replace
from pathlib import Path
from typing import IO, Any

import numpy as np

from yardfall.core.asbuilt.check import Check, check_trench
from yardfall.core.asbuilt.dug_readings import AsDug
from yardfall.core.cautions import PUMP
from yardfall.core.design import Alignment, Design, Join, Outlet
from yardfall.core.easing.lay import Laid, lay, special_stations
from yardfall.core.easing.usual_limits import Given, given, site_for
from yardfall.core.errors import InputError, NotFoundError, NotYoursError, under
from yardfall.core.fixes.to_measure import still_to_measure
from yardfall.core.grade_runs import GradeRun
from yardfall.core.grading.alignment import align, stations_of
from yardfall.core.grading.decision import Decision
from yardfall.core.ground.placement import MapTie, Placement, check_placement
from yardfall.core.ground.route import SAME_STATION_M, turns_deg
from yardfall.core.hazards import harm_told, special_cautions
from yardfall.core.hydraulics.capacity import Inflow, Water, cautious, water_in
from yardfall.core.hydraulics.dry_well import size_well
from yardfall.core.hydraulics.head import Head, find_head
from yardfall.core.hydraulics.pump_leg import check_pump
from yardfall.core.network.tree import highest_end_m, usual_drop_m
from yardfall.core.pipes import Pipe
from yardfall.core.plan import Plan, make_plan, water_level_m
from yardfall.core.quantities.bill import Bill, make_bill
from yardfall.core.remarks import Remark
from yardfall.core.request import BranchRequest, LengthAndDropGround, PlanRequest
from yardfall.core.units import UnitName
from yardfall.geo.crs import CRS84, find_crs
from yardfall.geo.raster import RasterFacts
from yardfall.geo.relief import draw_relief
from yardfall.geo.sandbox import examine
from yardfall.geo.site_plan import draw_sheet
from yardfall.sentences import say
from yardfall.store.jobs import JobStore
from yardfall.store.rasters import RasterRecord, RasterStore
from yardfall.store.site_plans import SitePlanRecord, SitePlanStore
from yardfall.use_cases.quality import quality_of
from yardfall.use_cases.survey import facts_of, survey
from yardfall.use_cases.trees import (
    BranchTree,
    Surveyed,
    Tree,
    inflows_of,
    refuse_openings_beyond,
    with_chance,
    with_water,
)


def plan(request: PlanRequest, rasters: RasterStore) -> Tree:
    """Survey the ground and plan the pipe and its branches on it. Raises what `survey` raises."""
    surveyed = _surveyed(request, rasters)
    planned = _planned(surveyed)
    return with_water(surveyed, with_chance(surveyed, planned))


def _surveyed(request: PlanRequest, rasters: RasterStore) -> Surveyed:
    """From the leaves: each branch gives the line it joins one more upper limit."""
    found = survey(request.survey, rasters, _ditch_m(request.design))
    refuse_openings_beyond(request.openings, found.route)
    branches, joins = [], []
    for i, branch in enumerate(request.branches):
        with under(f"/branches/{i}"):
            below = replace(_surveyed(branch.request, rasters), joins_another=True)
            if branch.joins_at_m > found.route.length_m + SAME_STATION_M:
                raise InputError.at("/joins_at", "The join lies beyond the end of the line.")
            offset_m = 0.0
            if branch.own_datum:
                end_m = below.survey.ground.elevation_at(below.survey.route.length_m)
                offset_m = end_m - found.ground.elevation_at(branch.joins_at_m)
            drop_m = branch.drop_m
            if drop_m is None:
                drop_m = usual_drop_m(below.request.design.pipe, request.design.pipe)
            first_m, last_m = (end_m - drop_m - offset_m for end_m in _highest_ends_m(below))
        joins.append(Join(branch.joins_at_m, branch.name, first_m, last_m))
        branches.append((branch, below, drop_m, offset_m))
    if joins:
        request = replace(request, design=replace(request.design, joins=tuple(joins)))
    return Surveyed(request, found, tuple(branches))


def _ditch_m(design: Design) -> float | None:
    """How far around the end the ground is asked about, where nobody stated how deep it may lie."""
    free = design.open
    if free is None or not free.outlet_depth or design.outlet.kind != "daylight":
        return None
    return free.values.last_ditch_m


def _highest_ends_m(branch: Surveyed) -> tuple[float, float]:
    """The highest invert of a branch's end: by its usual values as they are, and at their last."""
    design, route, ground = branch.request.design, branch.survey.route, branch.survey.ground
    shown_m = stations_of(route, ground, branch.survey.asked_m, special_stations(design))
    site = site_for(design, ground, route.length_m)
    first = given(design, site, Given(nominal=True))
    points = align(ground, shown_m, route.length_m, first.limits)
    last = given(design, site, Given(nominal=True, branches=True))
    return highest_end_m(first, points), highest_end_m(last, points)


def _planned(surveyed: Surveyed, judged: Design | None = None) -> Tree:
    """From the outlet: plan the line, then each branch to the level the line has at its join.

    Where the line fits it could give way to a branch, so a branch's chance is judged with its end
    open.
    """
    own = _plan_line(surveyed, judged)
    trees = []
    for i, (branch, below, drop_m, offset_m) in enumerate(surveyed.branches):
        with under(f"/branches/{i}"):
            free = below.request.design if own.decision.yes else None
            tied = _tied(branch, below, drop_m + offset_m, own.points, own.decision)
            tree = _planned(tied, free)
        trees.append(BranchTree(branch, tree, drop_m, offset_m))
    return Tree(own, tuple(trees))


def _tied(
    branch: BranchRequest, below: Surveyed, above_m: float, points: Alignment, main: Decision
) -> Surveyed:
    """A branch that ends `above_m` over the invert the main has at its join."""
    main_m = float(np.interp(branch.joins_at_m, points.at_m, main.invert_m))
    outlet = Outlet("tie_in", "invert", main_m + above_m)
    design = replace(below.request.design, outlet=outlet)
    return replace(below, request=replace(below.request, design=design))


def check_grade(request: PlanRequest, as_dug: AsDug, rasters: RasterStore) -> Check:
    """Hold a trench against its plan. Raises what `survey` and `check_trench` raise, and InputError
    for an unknown branch."""
    with under("/plan"):
        surveyed = _surveyed(request, rasters)
        if not surveyed.survey.ground.known:
            raise InputError.at("/ground/of", say("even_slope.pipe_drop.check"))
        laid = _laid(surveyed)
        found = (surveyed, laid) if as_dug.branch is None else None
        found = found or _laid_branch(surveyed, laid, as_dug.branch)
    if found is None:
        raise InputError.at("/branch", f"The plan has no branch named {as_dug.branch!r}.")
    surveyed, laid = found
    with under("/as_dug"):
        return check_trench(laid.design, surveyed.survey.ground, laid, as_dug)


def lay_line(request: PlanRequest, rasters: RasterStore) -> Laid:
    """The line of a request without branches, decided; raises what `survey` raises."""
    return _laid(_surveyed(request, rasters))


def _laid(surveyed: Surveyed) -> Laid:
    found = surveyed.survey
    return lay(found.route, found.ground, surveyed.request.design, found.asked_m)


def _laid_branch(surveyed: Surveyed, main: Laid, name: str | None) -> tuple[Surveyed, Laid] | None:
    """The branch of that name, laid to its join, on whatever line it joins."""
    for i, (branch, below, drop_m, offset_m) in enumerate(surveyed.branches):
        with under(f"/branches/{i}"):
            tied = _tied(branch, below, drop_m + offset_m, main.points, main.decision)
            laid = _laid(tied)
            found = (tied, laid) if branch.name == name else _laid_branch(tied, laid, name)
        if found is not None:
            return found
    return None


def _plan_line(surveyed: Surveyed, judged: Design | None) -> Plan:
    request, found = surveyed.request, surveyed.survey
    slips, errors = quality_of(request, found)
    planned = make_plan(
        found.route,
        found.ground,
        request.design,
        found.asked_m,
        request.tape_step_m,
        found.warnings,
        errors,
        slips,
        judged,
        explain=request.explain,
        ends_free=not surveyed.joins_another,
        served_m=_served_m(request),
    )
    inflows = inflows_of(surveyed)
    more: dict[str, Any] = {"bill": _bill(request, planned)}
    spec = request.survey.ground
    if isinstance(spec, LengthAndDropGround) and request.explain:
        more["to_measure"] = still_to_measure(
            found.route,
            found.ground,
            request.design if planned.conditions else replace(planned.design, open=None),
            found.asked_m,
            spec.every_m,
            request.tape_step_m,
        )
    if not found.ground.known:  # a change that needs no ground is left, and nothing is dug yet
        fixes = tuple(f for f in planned.fixes if f.change in ("pipe", "min_grade", "max_grade"))
        more |= {"bill": None, "fixes": fixes, "pair": None}
    if inflows:
        with under("/inflows"):
            more["water"] = water_in(inflows, request.design.pipe, planned.runs)
    pumped = any(i.kind == "pump" for i in inflows)
    pumped = pumped or (request.pump is not None and not surveyed.joins_another)
    more["cautions"] = (*([PUMP] if pumped else []), *planned.cautions, *special_cautions(planned))
    remarks = harm_told(planned, more.get("water"))
    if request.pump is not None:
        duty = request.pump
        more["pump"] = check_pump(duty.head_m, duty.leg, duty.flow_m3s)
    if request.storm is not None:
        more["well"] = size_well(request.storm)
    if request.openings and not surveyed.joins_another:
        head = more["head"] = _head(request, planned, inflows)
        if head.spare_m < 0:
            what: dict[str, float | str] = {"opening": head.opening.what, "short_m": -head.spare_m}
            remarks.append(Remark("head_short", "/head/openings", what))
    return replace(planned, **more, warnings=(*planned.warnings, *remarks))


def _served_m(request: PlanRequest) -> float:
    """How far along the line something lets water in, or out of the house."""
    inlets_m = [inflow.at_m or 0.0 for inflow in request.inflows]
    return max([*inlets_m, *(opening.at_m for opening in request.openings)], default=0.0)


def _bill(request: PlanRequest, planned: Plan) -> Bill:
    """What one line takes; its branches have bills of their own."""
    xy, turns = planned.route.xy, np.empty(0)
    if xy is not None and len(xy) > 2:
        geographic = request.survey.route.crs == CRS84
        turns = turns_deg(xy, math.cos(math.radians(float(xy[0, 1]))) if geographic else 1.0)
    return make_bill(
        request.design,
        planned.points,
        planned.decision.invert_m,
        sum(run.slope_length_m for run in planned.runs),
        [(inflow.kind, inflow.at_m or 0.0) for inflow in request.inflows],
        turns,
        request.supply,
    )


def _head(request: PlanRequest, planned: Plan, inflows: tuple[Inflow, ...]) -> Head:
    """Head at the house at the flow stated for it, or at all the inflows together."""
    flow_m3s = request.head_flow_m3s
    if flow_m3s is None:
        flow_m3s = sum(inflow.flow_m3s for inflow in inflows)
    return find_head(
        request.openings,
        water_level_m(planned, request.tailwater),
        flow_m3s,
        cautious(request.design.pipe),
        planned.route.length_m,
        request.head_margin_m,
    )


def carry(inflows: tuple[Inflow, ...], pipe: Pipe, grade: float) -> Water:
    """All the inflows in one pipe at one grade."""
    return water_in(
        [replace(i, at_m=None) for i in inflows], pipe, [GradeRun(0.0, 1.0, grade, 0.0)]
    )


def add_raster(
    stream: IO[bytes],
    name: str,
    rasters: RasterStore,
    look: Callable[[Path], RasterFacts] = examine,
) -> RasterRecord:
    """Keep an uploaded raster. Raises FileRefusedError or TooLargeError; then nothing is kept."""
    with rasters.incoming(stream) as part:
        return rasters.keep(part, name, asdict(look(part)))


def relief(key: str, rasters: RasterStore, units: UnitName | None = None) -> bytes:
    """The shaded relief of a kept raster as PNG, drawn once for each unit of its contours."""
    record = rasters.get(key)
    drawn_before = record.relief_path(units)
    if not drawn_before.exists():
        picture = draw_relief(record.path, facts_of(record), units)
        rasters.keep_relief(drawn_before, picture)
        return picture
    return drawn_before.read_bytes()


def delete_job(
    key: str,
    expected: Collection[str] | None,
    jobs: JobStore,
    files: Collection[RasterStore | SitePlanStore] = (),
) -> None:
    """Forget a job, and from `files` what no other job names. Raises NotFoundError, StaleError."""
    freed = jobs.delete(key, expected)
    for store in files:
        for file in freed:
            with suppress(NotFoundError, NotYoursError):
                store.delete(file)


def add_site_plan(
    stream: IO[bytes], name: str, page: int | None, site_plans: SitePlanStore
) -> SitePlanRecord:
    """Keep the picture of an uploaded site plan; when it is refused, nothing is kept.

    Raises FileRefusedError, TooLargeError, or InputError for a page that is not there.
    """
    with site_plans.incoming(stream) as (part, picture):
        return site_plans.keep(picture, name, asdict(draw_sheet(part, picture, page)))


def place_site_plan(
    key: str, placement: Placement, units: UnitName, site_plans: SitePlanStore
) -> SitePlanRecord:
    """Keep where a site plan lies, with the units that was said in.

    Raises NotFoundError, InputError.
    """
    facts = site_plans.get(key).facts
    check_placement(placement, facts["width"], facts["height"])
    if placement.on_map is not None:
        with under("/on_map"):
            find_crs(placement.on_map.crs)
    return site_plans.place(key, asdict(placement) | {"units": units})


def placement_of_record(record: SitePlanRecord) -> Placement:
    """Where a site plan that was placed lies."""
    kept = record.placement or {}
    (u1, v1), (u2, v2) = kept["points"]
    u0, v0 = kept["origin"]
    tie = kept["on_map"]
    return Placement(
        points=((u1, v1), (u2, v2)),
        distance_m=kept["distance_m"],
        origin=(u0, v0),
        turn_deg=kept["turn_deg"],
        north_deg=kept["north_deg"],
        on_map=MapTie(tie["crs"], (tie["origin"][0], tie["origin"][1])) if tie else None,
    )
