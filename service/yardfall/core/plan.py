"""The plan: a graded pipe along a route, its stations, the answer, and what would mend it."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from yardfall.core import deadline
from yardfall.core.arrays import Floats
from yardfall.core.cautions import Caution, cautions_for
from yardfall.core.chance.chance import FIRST_DRAWS, Chance, draw, draws_of
from yardfall.core.chance.scenario import Case
from yardfall.core.chance.verdict import Verdict, chance_of, on_drawn_points, verdict_of
from yardfall.core.design import Alignment, Design
from yardfall.core.easing.conditions import Condition, conditions_of
from yardfall.core.easing.easing import Eased
from yardfall.core.easing.lay import Judged, lay, with_open_end
from yardfall.core.errors import TooLargeError
from yardfall.core.fixes.carrying_on import carried_on_m
from yardfall.core.fixes.fix_pair import best_pair
from yardfall.core.fixes.fixes import Fix, order_of, single_fixes
from yardfall.core.fixes.nearest import Nearest, nearest_of
from yardfall.core.fixes.soil import soil_fixes
from yardfall.core.grade_runs import GradeRun, grade_runs
from yardfall.core.grading.decision import Decision, dig_gap, least_dig_line
from yardfall.core.ground.even_slope import ToMeasure
from yardfall.core.ground.profile import GroundProfile
from yardfall.core.ground.route import Route
from yardfall.core.hydraulics.backwater import Tailwater
from yardfall.core.hydraulics.capacity import Water
from yardfall.core.hydraulics.dry_well import DryWell
from yardfall.core.hydraulics.head import Head
from yardfall.core.hydraulics.hydraulic_grade_line import End
from yardfall.core.hydraulics.pump_leg import PumpCheck
from yardfall.core.plausibility import GROUND_CODES, doubtful_grades, doubtful_pipe
from yardfall.core.quantities.bill import Bill
from yardfall.core.quantities.earthwork import side_area_m2
from yardfall.core.remarks import Remark
from yardfall.core.stakeout.stations import Station, make_stations
from yardfall.core.stakeout.tape_marks import TapeMarks
from yardfall.core.uncertainty.accuracy import ErrorModel

BREAKS_SHOWN: Final = (0, 1, 2, 3)
MENDING: Final = 0.5
"""What would mend a "no" is searched for in this share of the time that is left for an answer."""


@dataclass(frozen=True)
class Comparison:
    """What a number of grade changes buys: bank volume of the trench, None where no line fits.

    `gap` bounds how much less any such line could dig, as a share: 0 where proven.
    """

    breaks: int
    volume_m3: float | None
    gap: float = 0.0


@dataclass(frozen=True, eq=False)
class Plan:
    """The whole answer in SI.

    `design` is what was `asked` with what was taken for its usual values (`eased`), `decision` its
    line; `judged` tells whether there is a line at all, with every usual value at its last.
    `fixes` and `pair` (the best two changes together, when no single one does it) are for an
    answer that is not a plain yes; `further_m` is how much further the line comes out, by the
    slope of the ground before its end; `nearest` is what comes nearest where neither mends it.
    `chance` is None where the ground's errors are not known.
    `drawn_on` are the points on which it was drawn, None: those judged.
    `explained` is false where the caller asked for the answer alone: no fixes, nothing compared.
    """

    route: Route
    ground: GroundProfile
    asked: Design
    design: Design
    points: Alignment
    decision: Decision
    judged: Judged
    eased: Eased
    conditions: tuple[Condition, ...]
    verdict: Verdict
    chance: Chance | None
    fixes: tuple[Fix, ...]
    pair: tuple[Fix, Fix] | None
    further_m: float | None
    nearest: Nearest | None
    comparisons: tuple[Comparison, ...]
    volume_m3: float
    head: Head | None
    water: Water | None
    pump: PumpCheck | None
    well: DryWell | None
    bill: Bill | None
    stations: tuple[Station, ...]
    runs: tuple[GradeRun, ...]
    marks: TapeMarks
    warnings: tuple[Remark, ...]
    cautions: tuple[Caution, ...]
    drawn_on: Alignment | None = None
    explained: bool = True
    to_measure: tuple[ToMeasure, ...] = ()


def make_plan(
    route: Route,
    ground: GroundProfile,
    design: Design,
    asked_m: Floats,
    tape_step_m: float,
    warnings: tuple[Remark, ...] = (),
    errors: ErrorModel | None = None,
    slips: Sequence[Remark] = (),
    judged: Design | None = None,
    *,
    explain: bool = True,
    ends_free: bool = True,
    served_m: float = 0.0,
) -> Plan:
    """Plan `design` on `ground`. `asked_m` are the stations the caller wants shown.

    `warnings` of the survey go before those found here. `errors` is how well the ground is
    known; `slips` are what looks like one in hand readings. `judged` is the design whose
    chance is taken, where it is not `design`: a branch, whose main can give way. `ends_free` is
    false for a line that joins another; no fix ends the line within its first `served_m`. Without
    `explain` the line and the verdict are the same, but what would mend it is not searched for.
    Raises GroundGap where the ground does not reach the whole route, InputError for a crossing
    beyond its end.
    """
    laid = lay(route, ground, design, asked_m)
    shown_m, points, decision, asked = laid.shown_m, laid.points, laid.decision, design
    design, held = laid.design, laid.judged
    most = draws_of(len(ground.at_m))
    draws = None if errors is None else draw(errors, min(FIRST_DRAWS, most))
    free = held
    if judged is not None:
        free = with_open_end(judged, laid, ground, route.length_m)
    case = Case(
        free.design,
        ground,
        shown_m,
        free.points,
        draws,
        route.xy is None,
        ends_free,
        served_m,
        asked=judged or asked,
    )
    chance = None
    if draws is not None:
        case = on_drawn_points(case, route.length_m)
        chance = chance_of(case, free.decision, retake=False)
        surely = free.decision.yes and chance.chance == 1.0
        if errors is not None and not (surely or (chance.clear and not explain)):
            case = replace(case, draws=draw(errors, most))
            chance = chance_of(case, free.decision, retake=explain)
    verdict = verdict_of(
        held.decision.yes,
        None if chance is None else chance.chance,
        blocked=held.blocked,
    )
    mend = explain and verdict != "yes"
    mended = _mended(case, decision) if mend else Mended()
    runs = grade_runs(points.at_m, decision.invert_m)
    stations, marks = make_stations(
        route, ground, design, shown_m, points, decision.invert_m, runs, asked_m, tape_step_m
    )
    steep_told = any(remark.code in GROUND_CODES for remark in warnings)
    doubts = doubtful_grades(design.pipe, design.grading, runs, steep_told=steep_told)
    slips = (*slips, *doubtful_pipe(design.pipe), *doubts)
    return Plan(
        route=route,
        ground=ground,
        asked=asked,
        design=design,
        points=points,
        decision=decision,
        judged=held,
        eased=laid.eased,
        conditions=conditions_of(asked, laid.eased),
        verdict=verdict,
        chance=chance,
        fixes=mended.fixes,
        pair=mended.pair,
        further_m=mended.further_m,
        nearest=mended.nearest,
        comparisons=compare_breaks(design, points, decision) if explain else (),
        volume_m3=volume_of(design, points, decision.invert_m),
        head=None,
        water=None,
        pump=None,
        well=None,
        bill=None,
        stations=stations,
        runs=runs,
        marks=marks,
        warnings=(*warnings, *slips, *decision.remarks, *mended.remarks),
        cautions=cautions_for(
            design.outlet.kind,
            max(s.dig_depth_m for s in stations),
            flattens=any(b.grade < a.grade - 1e-9 for a, b in itertools.pairwise(runs)),
            crossings=bool(design.crossings),
        ),
        drawn_on=None if draws is None else case.points,
        explained=explain,
    )


@dataclass(frozen=True)
class Mended:
    """What would mend an answer that is no plain yes, and what must be said of the search."""

    fixes: tuple[Fix, ...] = ()
    pair: tuple[Fix, Fix] | None = None
    further_m: float | None = None
    nearest: Nearest | None = None
    remarks: tuple[Remark, ...] = ()


def _mended(case: Case, decision: Decision) -> Mended:
    """What would mend it; what was found by then, where the time does not reach to try all."""
    fixes: list[Fix] = []
    pair = further_m = nearest = None
    remarks: tuple[Remark, ...] = ()
    try:
        with deadline.at_most(MENDING):
            for fix in itertools.chain(single_fixes(case), soil_fixes(case)):
                fixes.append(fix)
            if not fixes:
                pair = best_pair(case)
            if not fixes and pair is None and not decision.yes:
                nearest = nearest_of(case)
            if not decision.yes:
                further_m = carried_on_m(case)
    except TooLargeError:
        deadline.check()
        remarks = (Remark("not_all_tried", "/explain"),)
    return Mended(tuple(sorted(fixes, key=order_of)), pair, further_m, nearest, remarks)


def lid_m(plan: Plan) -> float | None:
    """The lid of a pop-up, level with the ground; None for an open end."""
    return float(plan.points.ground_m[-1]) if plan.design.outlet.kind == "pop_up" else None


def tailwater_m(plan: Plan, tailwater: Tailwater | None) -> float:
    """The water stated to stand where the pipe ends; -inf where none was stated."""
    return -math.inf if tailwater is None else tailwater.level_m(float(plan.points.ground_m[-1]))


def water_level_m(plan: Plan, tailwater: Tailwater | None = None) -> float:
    """Level at which water leaves: the lid or the top of the pipe's end, or the water over it."""
    end = End(lid_m(plan), tailwater_m(plan, tailwater))
    return end.level_m(float(plan.decision.invert_m[-1]) + plan.design.pipe.inside_m)


def ditch_of(plan: Plan) -> float | None:
    """Length of the level ditch that leads out from a daylight end; None: no ditch."""
    if plan.design.outlet.kind != "daylight" or not plan.decision.yes:
        return None
    bottom_m = float(plan.decision.invert_m[-1]) - plan.design.section.below_invert_m
    length_m = plan.eased.site.ditch_m(float(plan.points.ground_m[-1]) - bottom_m)
    return length_m if np.isfinite(length_m) else None


def volume_of(design: Design, points: Alignment, invert_m: Floats) -> float:
    """Bank volume of the trench in m³: width × depth along the true ground."""
    depth_m = points.ground_m - invert_m + design.section.below_invert_m
    return side_area_m2(points.at_m, depth_m) * design.limits.trench_width_m


def compare_breaks(design: Design, points: Alignment, decision: Decision) -> tuple[Comparison, ...]:
    """Volumes of the least-digging line with 0, 1, 2 and 3 changes of grade, side by side.

    Only where grade changes were asked for. All from the start that the plan uses.
    """
    if design.grading.shape != "least_dig":
        return ()
    start_m = float(decision.invert_m[0])
    band = decision.band.from_start(start_m) if decision.yes else decision.band
    lines = [(k, least_dig_line(design.grading, band, points, k)) for k in BREAKS_SHOWN]
    return tuple(
        Comparison(k, None)
        if line is None
        else Comparison(
            k, volume_of(design, points, line.invert_m), dig_gap(line, design.section, points)
        )
        for k, line in lines
    )
