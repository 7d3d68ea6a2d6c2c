"""The plan: a graded pipe along a route, its stations, the answer, and what would mend it."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from yardfall.core import deadline
from yardfall.core.arrays import Floats
from yardfall.core.cautions import PUMP, Caution, cautions_for
from yardfall.core.chance.chance import FIRST_DRAWS, Chance
from yardfall.core.chance.draws import draw, draws_of
from yardfall.core.chance.one_more import OneMore
from yardfall.core.chance.scenario import Case
from yardfall.core.chance.verdict import (
    Verdict,
    chance_of,
    on_drawn_points,
    reading_of,
    verdict_of,
)
from yardfall.core.design import Alignment, Design
from yardfall.core.easing.conditions import Condition, conditions_of
from yardfall.core.easing.easing import Eased
from yardfall.core.easing.lay import Judged, Laid, with_open_end
from yardfall.core.errors import TooLargeError
from yardfall.core.fixes.carrying_on import carried_on_m
from yardfall.core.fixes.fix_pair import best_pair
from yardfall.core.fixes.fixes import Fix, order_of, single_fixes
from yardfall.core.fixes.nearest import Nearest, nearest_of
from yardfall.core.fixes.soil import soil_fixes
from yardfall.core.grade_runs import GradeRun
from yardfall.core.grading.decision import Decision, dig_gap, least_dig_line
from yardfall.core.ground.even_slope import ToMeasure
from yardfall.core.ground.profile import GroundProfile
from yardfall.core.ground.route import Route
from yardfall.core.hydraulics.capacity import Water
from yardfall.core.hydraulics.dry_well import DryWell
from yardfall.core.hydraulics.head import Head
from yardfall.core.hydraulics.pump_leg import PumpCheck
from yardfall.core.quantities.bill import Bill
from yardfall.core.quantities.earthwork import side_area_m2
from yardfall.core.remarks import Remark
from yardfall.core.stakeout.sheet_marks import SheetMarks, sheet_marks, wanted_marks
from yardfall.core.stakeout.stations import Station, make_stations
from yardfall.core.uncertainty.accuracy import ErrorModel
from yardfall.core.units import Divisions
from yardfall.core.warnings.hazards import harm_told, special_cautions
from yardfall.core.warnings.plausibility import GROUND_CODES, doubtful_grades, doubtful_pipe

BREAKS_SHOWN: Final = (0, 1, 2, 3)
MENDING: Final = 0.5
"""What would mend a "no" is searched for in this share of the time that is left for an answer."""
GROUNDLESS: Final = ("pipe", "min_grade", "max_grade")
"""Changes that mend a pipe of which only the two ends are known, without its ground."""


@dataclass(frozen=True)
class Comparison:
    """What a number of grade changes buys: bank volume of the trench, None where no line fits.

    `gap` bounds how much less any such line could dig, as a share: 0 where proven.
    """

    breaks: int
    volume_m3: float | None
    gap: float = 0.0


@dataclass(frozen=True)
class Works:
    """What is worked out beside a line that is laid; None where nothing asks for it.

    `pumped`: a pump brings some of the water. `to_measure` is where ground that was taken to lie
    even is to be measured next.
    """

    bill: Bill | None = None
    water: Water | None = None
    pump: PumpCheck | None = None
    well: DryWell | None = None
    head: Head | None = None
    to_measure: tuple[ToMeasure, ...] = ()
    pumped: bool = False

    @property
    def remarks(self) -> tuple[Remark, ...]:
        """What must be said of them."""
        head = self.head
        if head is None or head.spare_m >= 0:
            return ()
        what: dict[str, float | str] = {"opening": head.opening.what, "short_m": -head.spare_m}
        code = "head_short" if head.backs_up else "water_near_opening"
        return (Remark(code, "/head/openings", what),)


NO_WORKS: Final = Works()


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
    one_more: OneMore | None
    nearest: Nearest | None
    comparisons: tuple[Comparison, ...]
    volume_m3: float
    stations: tuple[Station, ...]
    runs: tuple[GradeRun, ...]
    marks: SheetMarks
    warnings: tuple[Remark, ...]
    cautions: tuple[Caution, ...]
    drawn_on: Alignment | None
    explained: bool
    works: Works


def make_plan(
    laid: Laid,
    crew: Divisions,
    works: Works = NO_WORKS,
    warnings: tuple[Remark, ...] = (),
    errors: ErrorModel | None = None,
    slips: Sequence[Remark] = (),
    judged: Design | None = None,
    *,
    explain: bool = True,
    ends_free: bool = True,
    served_m: float = 0.0,
) -> Plan:
    """All that is to be said of a line that is laid, with the `works` beside it.

    `warnings` of the survey go before those found here. `errors` is how well the ground is
    known; `slips` are what looks like one in hand readings. `judged` is the design whose
    chance is taken, where it is not `design`: a branch, whose main can give way. `ends_free` is
    false for a line that joins another; no fix ends the line within its first `served_m`. Without
    `explain` the verdict is the same, but what would mend it is not searched for.
    """
    route, ground, shown_m = laid.route, laid.ground, laid.shown_m
    design, points, decision, held = laid.design, laid.points, laid.decision, laid.judged
    most = draws_of(len(ground.at_m))
    draws = None if errors is None else draw(errors, min(FIRST_DRAWS, most))
    free = held
    if judged is not None:
        free = with_open_end(judged, laid)
    case = Case(
        free.design,
        ground,
        shown_m,
        free.points,
        draws,
        route.xy is None,
        ends_free,
        served_m,
        asked=judged or laid.asked,
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
    one_more = None
    if chance is not None and explain and verdict == "too_close":
        one_more = reading_of(case, free.decision, chance)
    mended = _mended(case, decision) if mend else Mended()
    runs, invert_m = laid.runs, decision.invert_m
    wanted = wanted_marks(design, points, decision.band, invert_m, shown_m, crew.tape_m[0])
    marks = sheet_marks(ground, wanted, crew)
    stations = make_stations(
        route, ground, design, shown_m, points, invert_m, runs, laid.asked_m, marks
    )
    deepest_m = max(s.dig_depth_m for s in stations)
    steep_told = any(remark.code in GROUND_CODES for remark in warnings)
    doubts = doubtful_grades(design.pipe, design.grading, runs, steep_told=steep_told)
    slips = (*slips, *doubtful_pipe(design.pipe), *doubts)
    return Plan(
        route=route,
        ground=ground,
        asked=laid.asked,
        design=design,
        points=points,
        decision=decision,
        judged=held,
        eased=laid.eased,
        conditions=conditions_of(laid.asked, laid.eased),
        verdict=verdict,
        chance=chance,
        fixes=mended.fixes,
        pair=mended.pair,
        further_m=mended.further_m,
        one_more=one_more,
        nearest=mended.nearest,
        comparisons=compare_breaks(design, points, decision) if explain else (),
        volume_m3=volume_of(design, points, invert_m),
        stations=stations,
        runs=runs,
        marks=marks,
        warnings=(
            *warnings,
            *slips,
            *decision.remarks,
            *mended.remarks,
            *harm_told(laid, works.water),
            *works.remarks,
        ),
        cautions=(
            *([PUMP] if works.pumped else []),
            *cautions_for(
                design.outlet.kind,
                deepest_m,
                flattens=any(b.grade < a.grade - 1e-9 for a, b in itertools.pairwise(runs)),
                crossings=bool(design.crossings),
            ),
            *special_cautions(laid, deepest_m),
        ),
        drawn_on=None if draws is None else case.points,
        explained=explain,
        works=works,
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
            if all(fix.ground_m is not None for fix in fixes):  # a hump is advice, and no patch
                pair = best_pair(case)
            if not fixes and pair is None and not decision.yes:
                nearest = nearest_of(case)
            if not decision.yes:
                further_m = carried_on_m(case)
    except TooLargeError:
        deadline.check()
        remarks = (Remark("not_all_tried", "/explain"),)
    if not case.ground.known:
        fixes, pair = [fix for fix in fixes if fix.change in GROUNDLESS], None
    return Mended(tuple(sorted(fixes, key=order_of)), pair, further_m, nearest, remarks)


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
