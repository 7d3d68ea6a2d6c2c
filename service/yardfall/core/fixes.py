"""Every single change that alone turns a "no" into a "yes", each proven by running it again.

The margin of a plan is the optimum of a linear program in its limits, so it is concave in each
of them: from a failing value there is one first value that works, and false position finds it.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from yardfall.core.band import DECISION_SLACK_M
from yardfall.core.case import Case, judge, proven
from yardfall.core.concave import first_that_works
from yardfall.core.decision import Design, decide
from yardfall.core.easing import ending_in
from yardfall.core.loosening import Change, Knob, knobs
from yardfall.core.pipes import CATALOGUE
from yardfall.core.trench import OutletKind
from yardfall.core.units import FOOT_M

NEAREST_OUTLET_M: Final = 10 * FOOT_M
"""No fix ends the pipe nearer to its start. IRC R801.3 asks 5 ft from the foundation; the ground
beside a house falls over its first 10 ft (IRC R401.3)."""
DRAWN_ROOT_M: Final = 1e-5
"""How close a fix that is judged by draws is found: the draws themselves are no finer."""
DRAWN_STEPS: Final = 12
PAIRS_PROVEN: Final = 4


@dataclass(frozen=True)
class Fix:
    """One change: what, from and to (metres, or a name), and what it costs in digging.

    `spare_m` is the spare after it, `area_m2` the trench's area along the route. `where_m` is
    the station of a crossing that is passed the other way.
    """

    change: Change
    before: float | str
    after: float | str
    spare_m: float
    area_m2: float
    where_m: float | None = None
    breaks: int | None = None


def find_fixes(case: Case) -> tuple[Fix, ...]:
    """Every single change that alone settles it, least digging first."""
    found = [
        *(f for knob in knobs(case.design) if (f := _turned(case, knob)) is not None),
        *_other_pipes(case),
        *_other_outlets(case),
        *_other_ends(case),
        *_other_passings(case),
        *_more_breaks(case),
    ]
    return tuple(sorted(found, key=lambda fix: fix.area_m2))


def _turned(case: Case, knob: Knob) -> Fix | None:
    """The least turn of a knob that settles it, run again to prove it.

    Found on the readings as they stand, then from there on some of the draws, then on all.
    """
    way = np.sign(knob.last_m - knob.before_m)
    most = abs(knob.last_m - knob.before_m)

    def design(x: float) -> Design:
        return knob.turned(float(knob.before_m + way * x))

    if not knob.widens and not _some_start_fits(case, knob):
        return None
    x = first_that_works(
        lambda x: decide(design(x), case.points, any_line=True).margin_m,
        0.0,
        most,
        rises=knob.widens,
    )
    if x is not None and case.draws is not None:
        rough = case.roughly
        for tried in (rough, case):
            if x is not None and judge(tried.with_design(design(x)))[0] < 0:
                x = first_that_works(
                    lambda x, tried=tried: judge(tried.with_design(design(x)))[0],  # type: ignore[misc]
                    x,
                    most,
                    DRAWN_ROOT_M,
                    DRAWN_STEPS,
                    rises=knob.widens,
                )
    if x is None:
        return None
    after_m = float(knob.before_m + way * x)
    return _proven(case.with_design(design(x)), knob.change, knob.before_m, after_m)


def _some_start_fits(case: Case, knob: Knob) -> bool:
    """Whether a line exists from any start between the ends of the knob of a start."""
    lowest, section = knob.turned(knob.before_m), case.design.section
    ground_m = float(case.points.ground_m[0])
    highest_m = knob.turned(knob.last_m).start.invert_m(ground_m, section)
    cover_m = ground_m - highest_m - section.above_invert_m
    free = replace(lowest, start=replace(lowest.start, shallowest_cover_m=cover_m))
    return decide(free, case.points, any_line=True).yes


def _proven(
    case: Case,
    change: Change,
    before: float | str,
    after: float | str,
    where_m: float | None = None,
    breaks: int | None = None,
) -> Fix | None:
    """The fix if the case as changed passes; None otherwise."""
    decision = proven(case)
    if decision is None:
        return None
    depth_m = case.points.ground_m - decision.invert_m + case.design.section.below_invert_m
    area_m2 = float(np.trapezoid(depth_m, case.points.at_m))
    return Fix(change, before, after, decision.margin_m, area_m2, where_m, breaks)


def _other_pipes(case: Case) -> Iterator[Fix]:
    """Pipes of the same nominal size that may lie flatter."""
    now = case.design
    if now.pipe.nominal_in is None:
        return
    for pipe in CATALOGUE.values():
        if pipe.nominal_in != now.pipe.nominal_in or pipe.min_grade >= now.grading.min_grade:
            continue
        grading = replace(now.grading, min_grade=pipe.min_grade)
        changed = case.with_design(replace(now, pipe=pipe, grading=grading))
        fix = _proven(changed, "pipe", now.pipe.code or now.pipe.name, pipe.code or pipe.name)
        if fix is not None:
            yield fix


def _other_outlets(case: Case) -> Iterator[Fix]:
    """Outlet kinds that need no level of their own, at their usual depths."""
    now = case.design
    kinds: tuple[OutletKind, ...] = ("daylight", "pop_up", "dry_well")
    for kind in kinds:
        asked = ending_in(case.asked or now, kind)
        if kind == now.outlet.kind or asked is None:
            continue
        fix = _proven(case.as_asked(asked), "outlet_kind", now.outlet.kind, kind)
        if fix is not None:
            yield fix


def _other_ends(case: Case) -> Iterator[Fix]:
    """Ending the line at an earlier station, or going on over ground that is known."""
    end_m = float(case.points.at_m[-1])
    if case.design.outlet.by == "invert":
        return  # a level measured at one place says nothing of another
    joins_m = [join.at_m for join in case.design.joins]
    least_m = max([NEAREST_OUTLET_M, *joins_m])  # no end that cuts a branch off
    earlier = [x for x in case.stations_m[::-1] if least_m <= x < end_m - 1e-6]
    later = [x for x in case.ground.at_m if x > end_m + 1e-6 and case.may_go_on]
    for candidates in (earlier, later):
        for at_m in candidates:
            fix = _proven(case.ended_at(float(at_m)), "end_at", end_m, float(at_m))
            if fix is not None:
                yield fix
                break


def _other_passings(case: Case) -> Iterator[Fix]:
    """Passing one crossing the other way."""
    crossings = case.design.crossings
    for i, crossing in enumerate(crossings):
        if crossing.passing == "either":
            continue
        other = replace(crossing, passing="over" if crossing.passing == "under" else "under")
        changed = replace(case.design, crossings=(*crossings[:i], other, *crossings[i + 1 :]))
        fix = _proven(
            case.with_design(changed), "crossing", crossing.passing, other.passing, crossing.at_m
        )
        if fix is not None:
            yield fix


def _more_breaks(case: Case) -> Iterator[Fix]:
    """Letting the grade change on the way, with the fewest changes that do."""
    grading = case.design.grading
    least = 1 if grading.shape == "straight" else grading.max_breaks + 1
    before = 0 if grading.shape == "straight" else grading.max_breaks
    for breaks in range(least, 4):
        changed = replace(grading, shape="least_dig", max_breaks=breaks)
        fix = _proven(
            case.with_design(replace(case.design, grading=changed)),
            "grade_changes",
            float(before),
            float(breaks),
            breaks=breaks,
        )
        if fix is not None:
            yield fix
            return


def best_pair(case: Case) -> tuple[Fix, Fix] | None:
    """Two limits to loosen together, least digging first, when no single change does it.

    One goes as far as it may, the other as far as it must. The pairs that serve on the readings
    as they stand are proven on the draws in order, PAIRS_PROVEN of them at the most.
    """
    options = knobs(case.design)
    if not _all_together(case, options):
        return None
    plain = replace(case, draws=None)
    found: list[tuple[float, Knob, Knob]] = []
    for one, two in _pairs(case, options):
        again = _same_knob(one.turned(one.last_m), two)
        fix = None if again is None else _turned(plain.with_design(one.turned(one.last_m)), again)
        if again is not None and fix is not None:
            found.append((fix.area_m2, one, again))
    for _, one, two in sorted(found, key=lambda pair: pair[0])[:PAIRS_PROVEN]:
        second = _turned(case.with_design(one.turned(one.last_m)), two)
        if second is not None:
            return replace(second, change=one.change, before=one.before_m, after=one.last_m), second
    return None


def _pairs(case: Case, options: list[Knob]) -> Iterator[tuple[Knob, Knob]]:
    """Every two limits in both orders, but for those that do not serve loosened all the way."""
    hopeless = [
        {one.change, two.change}
        for one, two in itertools.combinations(options, 2)
        if one.widens and two.widens and not _all_together(case, [one, two])
    ]
    for one, two in itertools.permutations(options, 2):
        if {one.change, two.change} not in hopeless:
            yield one, two


def _same_knob(design: Design, wanted: Knob) -> Knob | None:
    return next((knob for knob in knobs(design) if knob.change == wanted.change), None)


def _all_together(case: Case, options: list[Knob]) -> bool:
    """Whether a line exists with every limit loosened as far as it may be."""
    design = case.design
    for wanted in options:
        knob = _same_knob(design, wanted)
        design = design if knob is None else knob.turned(knob.last_m)
    return decide(design, case.points, any_line=True).margin_m >= -DECISION_SLACK_M
