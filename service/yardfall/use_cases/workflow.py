"""The use cases, free of flask, all in SI: what the web, the command line and the tests call."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Final

import numpy as np

from yardfall.core.asbuilt.check import Check, check_trench
from yardfall.core.asbuilt.dug_readings import AsDug
from yardfall.core.design import Alignment, Design, Outlet
from yardfall.core.easing.conditions import conditions_of
from yardfall.core.easing.lay import Laid, lay
from yardfall.core.errors import InputError, under
from yardfall.core.fixes.to_measure import still_to_measure
from yardfall.core.grade_runs import GradeRun
from yardfall.core.grading.decision import Decision
from yardfall.core.ground.even_slope import ToMeasure
from yardfall.core.ground.route import turns_deg
from yardfall.core.hydraulics.capacity import Inflow, Water, cautious, water_in
from yardfall.core.hydraulics.dry_well import size_well
from yardfall.core.hydraulics.head import Head, find_head
from yardfall.core.hydraulics.hydraulic_grade_line import WetLine, at_openings, grade_line
from yardfall.core.hydraulics.pump_leg import check_pump
from yardfall.core.outlet_levels import water_level_m
from yardfall.core.pipes import Pipe
from yardfall.core.plan import Plan, Works, make_plan
from yardfall.core.quantities.bill import Bill, make_bill
from yardfall.core.quantities.parts import step_piece_m
from yardfall.core.request import BranchRequest, LengthAndDropGround, PlanRequest
from yardfall.geo.crs import CRS84
from yardfall.sentences import say
from yardfall.store.uploads.rasters import RasterStore
from yardfall.use_cases.quality import quality_of
from yardfall.use_cases.tree_survey import survey_lines
from yardfall.use_cases.trees import (
    BranchTree,
    Surveyed,
    Tree,
    inflows_of,
    with_chance,
    with_water,
)

SAME_LEVEL_M: Final = 1e-3
"""A step that any joint takes up."""


def plan(request: PlanRequest, rasters: RasterStore) -> Tree:
    """Survey the ground and plan the pipe and its branches on it. Raises what `survey` raises."""
    surveyed = survey_lines(request, rasters)
    planned = _planned(surveyed)
    return with_water(surveyed, with_chance(surveyed, planned))


def _planned(surveyed: Surveyed, judged: Design | None = None, laid: Laid | None = None) -> Tree:
    """From the outlet: plan the line, then each branch to the level the line has at its join.

    Where the line fits it could give way to a branch, so a branch's chance is judged with its end
    open.
    """
    own = _plan_line(surveyed, judged, laid)
    trees = []
    for i, (branch, below, drop_m, offset_m) in enumerate(surveyed.branches):
        with under(f"/branches/{i}"):
            free = below.request.design if own.decision.yes else None
            tied, laid = _tied(branch, below, drop_m + offset_m, own.points, own.decision)
            tree = _planned(tied, free, laid)
        over_m = _end_over_m(branch, tree.plan, own.points, own.decision) - offset_m
        trees.append(BranchTree(branch, tree, over_m, offset_m, tied.steps_down_m))
    return Tree(own, tuple(trees))


def _tied(
    branch: BranchRequest, below: Surveyed, above_m: float, points: Alignment, main: Decision
) -> tuple[Surveyed, Laid]:
    """A branch that ends `above_m` over the invert the main has at its join, and its line.

    It falls right there where it can for nothing more than it needs in any case. Elsewhere it ends
    higher, as its limits leave it, and steps down the rest. That it can end so low is never asked
    of it: the judgement is that of a line that may end higher.
    """
    end_m = float(np.interp(branch.joins_at_m, points.at_m, main.invert_m)) + above_m
    asked = below.request.design
    loose = _ending_in(below, Outlet("tie_in", "invert", end_m))
    laid = _laid(loose)
    if not (main.yes and laid.decision.yes):
        return loose, laid
    exact = _laid(_ending_in(below, Outlet("tie_in", "invert", end_m, end_m)))
    needed = {condition.code for condition in conditions_of(asked, laid.eased)}
    if exact.decision.yes and needed >= {c.code for c in conditions_of(asked, exact.eased)}:
        return loose, replace(exact, asked=laid.asked, judged=laid.judged)
    down_m = float(laid.decision.invert_m[-1]) - end_m
    return replace(loose, steps_down_m=down_m if down_m > SAME_LEVEL_M else 0.0), laid


def _end_over_m(branch: BranchRequest, its: Plan, points: Alignment, main: Decision) -> float:
    """The invert of a branch's end over that of the main at its join, each as told."""
    main_m = float(np.interp(branch.joins_at_m, points.at_m, main.invert_m))
    return float(its.decision.invert_m[-1]) - main_m


def _ending_in(below: Surveyed, outlet: Outlet) -> Surveyed:
    design = replace(below.request.design, outlet=outlet)
    return replace(below, request=replace(below.request, design=design))


def check_grade(request: PlanRequest, as_dug: AsDug, rasters: RasterStore) -> Check:
    """Hold a trench against its plan. Raises what `survey` and `check_trench` raise, and InputError
    for an unknown branch."""
    with under("/plan"):
        surveyed = survey_lines(request, rasters)
        if not surveyed.survey.ground.known:
            raise InputError.at("/ground/of", say("even_slope.pipe_drop.check"))
        laid = _laid(surveyed)
        found = (surveyed, laid) if as_dug.branch is None else None
        found = found or _laid_branch(surveyed, laid, as_dug.branch)
    if found is None:
        raise InputError.at("/branch", f"The plan has no branch named {as_dug.branch!r}.")
    surveyed, laid = found
    design = laid.design
    if surveyed.joins_another:  # as low as planned is how it is laid, no limit of what was dug
        design = replace(design, outlet=surveyed.request.design.outlet)
    with under("/as_dug"):
        return check_trench(design, surveyed.survey.ground, laid, as_dug)


def lay_line(request: PlanRequest, rasters: RasterStore) -> Laid:
    """The line of a request without branches, decided; raises what `survey` raises."""
    return _laid(survey_lines(request, rasters))


def _laid(surveyed: Surveyed) -> Laid:
    found = surveyed.survey
    return lay(found.route, found.ground, surveyed.request.design, found.asked_m)


def _laid_branch(surveyed: Surveyed, main: Laid, name: str | None) -> tuple[Surveyed, Laid] | None:
    """The branch of that name, laid to its join, on whatever line it joins."""
    for i, (branch, below, drop_m, offset_m) in enumerate(surveyed.branches):
        with under(f"/branches/{i}"):
            tied, laid = _tied(branch, below, drop_m + offset_m, main.points, main.decision)
            found = (tied, laid) if branch.name == name else _laid_branch(tied, laid, name)
        if found is not None:
            return found
    return None


def _plan_line(surveyed: Surveyed, judged: Design | None, laid: Laid | None) -> Plan:
    request, found = surveyed.request, surveyed.survey
    slips, errors = quality_of(request, found)
    laid = laid or _laid(surveyed)
    return make_plan(
        laid,
        request.crew,
        _works(surveyed, laid),
        found.warnings,
        errors,
        slips,
        judged,
        explain=request.explain,
        ends_free=not surveyed.joins_another,
        served_m=_served_m(request),
    )


def _works(surveyed: Surveyed, laid: Laid) -> Works:
    """What a line's request asks for beside it; what serves the house, of the main line alone."""
    request, inflows = surveyed.request, inflows_of(surveyed)
    main, duty, water = not surveyed.joins_another, request.pump, None
    if inflows:
        with under("/inflows"):
            water = water_in(inflows, request.design.pipe, laid.runs)
    return Works(
        bill=_bill(request, laid, surveyed.steps_down_m) if laid.ground.known else None,
        water=water,
        pump=None if duty is None else check_pump(duty.head_m, duty.leg, duty.flow_m3s),
        well=None if request.storm is None else size_well(request.storm),
        head=_head(request, laid, inflows) if request.openings and main else None,
        to_measure=_to_measure(request, laid),
        pumped=any(i.kind == "pump" for i in inflows) or (duty is not None and main),
    )


def _to_measure(request: PlanRequest, laid: Laid) -> tuple[ToMeasure, ...]:
    """Where ground is to be measured that was taken to lie even; none in a brief answer."""
    spec = request.survey.ground
    if not isinstance(spec, LengthAndDropGround) or not request.explain:
        return ()
    gave_way = conditions_of(laid.asked, laid.eased)
    return still_to_measure(
        laid.route,
        laid.ground,
        laid.asked if gave_way else replace(laid.design, open=None),
        laid.asked_m,
        spec.every_m,
        request.crew.tape_m[0],
    )


def _served_m(request: PlanRequest) -> float:
    """How far along the line something lets water in, or out of the house."""
    inlets_m = [inflow.at_m or 0.0 for inflow in request.inflows]
    return max([*inlets_m, *(opening.at_m for opening in request.openings)], default=0.0)


def _bill(request: PlanRequest, laid: Laid, steps_down_m: float) -> Bill:
    """What one line takes; its branches have bills of their own."""
    xy, turns = laid.route.xy, np.empty(0)
    if xy is not None and len(xy) > 2:
        geographic = request.survey.route.crs == CRS84
        turns = turns_deg(xy, math.cos(math.radians(float(xy[0, 1]))) if geographic else 1.0)
    return make_bill(
        request.design,
        laid.points,
        laid.decision.invert_m,
        sum(run.slope_length_m for run in laid.runs) + step_piece_m(steps_down_m),
        [(inflow.kind, inflow.at_m or 0.0) for inflow in request.inflows],
        turns,
        request.supply,
        steps_down=steps_down_m > 0,
    )


def _head(request: PlanRequest, laid: Laid, inflows: tuple[Inflow, ...]) -> Head:
    """Head at the house at the flow stated for it, or at all the inflows together."""
    flow_m3s = request.head_flow_m3s
    if flow_m3s is None:
        flow_m3s = sum(inflow.flow_m3s for inflow in inflows)
    end_m, pipe = water_level_m(laid, request.tailwater), request.design.pipe
    whole = (Inflow("other", flow_m3s, 0.0),)
    line = WetLine(pipe, laid.points.at_m, laid.decision.invert_m, laid.runs, whole, ())
    at_m = np.array([opening.at_m for opening in request.openings])
    own_m = grade_line(line, pipe, end_m, at_m, flowing=True)
    return find_head(
        request.openings,
        end_m,
        flow_m3s,
        cautious(pipe),
        laid.route.length_m,
        request.head_margin_m,
        at_openings(line, pipe, at_m, own_m).tolist() if flow_m3s > 0 else None,
    )


def carry(inflows: tuple[Inflow, ...], pipe: Pipe, grade: float) -> Water:
    """All the inflows in one pipe at one grade."""
    return water_in(
        [replace(i, at_m=None) for i in inflows], pipe, [GradeRun(0.0, 1.0, grade, 0.0)]
    )
