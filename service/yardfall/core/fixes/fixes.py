"""Every single change that alone turns a "no" into a "yes", each proven by running it again.

A no has every usual value at its last, so each change is to something stated, to the ground or to
the pipe, or goes past a last value. The margin of a plan is the optimum of a linear program in its
limits, so it is concave in each of them: from a failing value there is one first value that works,
and false position finds it. It is then rounded to what a person would say, and proven so.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.core.chance.scenario import Case, proven
from yardfall.core.design import Design, OutletKind
from yardfall.core.easing.usual_limits import ending_in, usual_outlet, values_of
from yardfall.core.fill import Fill
from yardfall.core.fixes.loosening import QUANTITIES, Change, Knob, knobs
from yardfall.core.fixes.outward import outward
from yardfall.core.fixes.turning import least_turn
from yardfall.core.grading.decision import Decision, decide
from yardfall.core.pipes import CATALOGUE, Pipe
from yardfall.core.units import FOOT_M

NEAREST_OUTLET_M: Final = 10 * FOOT_M
"""No fix ends the pipe nearer to its start. IRC R801.3 asks 5 ft from the foundation; the ground
beside a house falls over its first 10 ft (IRC R401.3)."""
MOST_BREAKS: Final = 5
ANYWHERE: Final[tuple[OutletKind, ...]] = ("daylight", "pop_up", "dry_well")
"""Outlets that need no place and no level of their own."""
PIT_M: Final = 2 * FOOT_M
"""How far the pit dug for an outlet reaches to either side of the end (common practice, no source):
no fix ends the pipe nearer than that to the clearance of something buried."""
RANKS: Final = {"end_at": 1, "outlet_kind": 1, "crossing": 0, "grade_changes": 3, "pipe": 3}
"""Places in the order; which way to pass something costs nothing to change."""
WELL_RANK: Final = 8
LESS_RANK: Final = 7
"""Of an end that leaves the water in a hollow, or short of what the line was to cross."""


@dataclass(frozen=True)
class Fix:
    """One change: what, from and to (metres, a ratio, or a name), and what it costs in digging.

    `rank` is its place in the order a contractor tries. `spare_m` is the spare after it, `area_m2`
    the trench's area along the route and `deepest_m` its deepest place. `where_m` is the station
    of a crossing that is passed the other way, or that an earlier end no longer passes: `what` it
    is then. `asked` is the design with the change in it, as someone would ask for it; `fill` the
    soil it lays, `ground_m` (n,) what the ground's own points are raised by (soil taken off:
    negative).
    """

    change: Change
    rank: int
    before: float | str
    after: float | str
    spare_m: float
    area_m2: float
    deepest_m: float
    asked: Design
    where_m: float | None = None
    ground_m: Floats | None = None
    values: dict[str, float] = field(default_factory=dict)
    what: str = ""
    fill: Fill | None = None
    hollow: bool = False
    """Whether the ground beyond the new end rises on all the rest of the line."""


def find_fixes(case: Case) -> tuple[Fix, ...]:
    """Every single change that alone settles it, in a contractor's order, least digging first."""
    return tuple(sorted(single_fixes(case), key=order_of))


def single_fixes(case: Case) -> Iterator[Fix]:
    """The same, each as soon as it is found."""
    yield from (fix for knob in knobs_of(case) if (fix := turned(case, knob)) is not None)
    for kind in (_other_pipes, _other_outlets, _other_ends, _other_passings, _more_breaks):
        yield from kind(case)


def order_of(fix: Fix) -> tuple[bool, int, float]:
    """As a contractor tries them: what takes an uncommon effort last."""
    return is_much(fix), fix.rank, fix.area_m2


DEEP_M: Final = 4 * FOOT_M
"""Digging deeper takes uncommon effort (common practice, no source; 29 CFR 1926.651(c)(2) asks
for a ladder from 4 ft on)."""


def is_much(fix: Fix) -> bool:
    """Whether it takes an uncommon effort."""
    deeper = fix.change in ("start_cover", "start_depth", "start_invert") and fix.rank > 2
    digs = deeper or fix.change in ("max_depth", "outlet_depth", "outlet_invert")
    return digs and fix.deepest_m > DEEP_M


def knobs_of(case: Case) -> list[Knob]:
    """The limits of a case that may be loosened."""
    length_m = float(case.points.at_m[-1])
    return knobs(case.as_it_is, case.design, case.site, length_m, ends_free=case.ends_free)


def turned(case: Case, knob: Knob) -> Fix | None:
    """The least turn of a knob that settles it, rounded outward and run again to prove it."""
    value = least_turn(case, knob)
    if value is None:
        return None
    quantity, units = QUANTITIES.get(knob.change, "depth"), values_of(case.design).units
    for after in outward(value, knob.before, knob.last, quantity, units):
        asked = knob.turned(after)
        fix = proven_fix(case.as_asked(asked), knob.change, knob.rank, knob.before, after)
        if fix is not None:
            return fix
    return None


def proven_fix(
    case: Case,
    change: Change,
    rank: int,
    before: float | str,
    after: float | str,
    where_m: float | None = None,
) -> Fix | None:
    """The fix if the case as changed passes; None otherwise."""
    decision = proven(case)
    return (
        None if decision is None else fix_of(case, decision, change, rank, before, after, where_m)
    )


def fix_of(
    case: Case,
    decision: Decision,
    change: Change,
    rank: int,
    before: float | str,
    after: float | str,
    where_m: float | None = None,
) -> Fix:
    """A fix by the case as changed, and its line."""
    depth_m = case.points.ground_m - decision.invert_m + case.design.section.below_invert_m
    area_m2 = float(np.trapezoid(depth_m, case.points.at_m))
    deepest_m = float(depth_m.max())
    spare_m, asked = decision.margin_m, case.as_it_is
    return Fix(change, rank, before, after, spare_m, area_m2, deepest_m, asked, where_m)


def with_flatter_pipes(design: Design) -> Iterator[Design]:
    """The design with each other pipe of the same nominal size that may lie flatter."""
    now = design.pipe
    if now.nominal_in is None:
        return
    for pipe in CATALOGUE.values():
        other = pipe.nominal_in == now.nominal_in and pipe.code != now.code
        if other and pipe.min_grade < design.grading.min_grade:
            yield _with_pipe(design, pipe)


def _with_pipe(design: Design, pipe: Pipe) -> Design:
    """The design with another pipe, at that pipe's own minimum grade."""
    grading = replace(design.grading, min_grade=pipe.min_grade)
    changed = replace(design, pipe=pipe, grading=grading)
    free, outlet = design.open, design.outlet
    if free is None or not free.outlet_depth:
        return changed
    usual = usual_outlet(outlet.kind, pipe.outside_m, free.values)
    return changed if usual is None else replace(changed, outlet=usual)


def _other_pipes(case: Case) -> Iterator[Fix]:
    was, rank = case.as_it_is.pipe, RANKS["pipe"]
    for asked in with_flatter_pipes(case.as_it_is):
        now = asked.pipe
        there = case.as_asked(asked)
        fix = proven_fix(there, "pipe", rank, was.code or was.name, now.code or now.name)
        if fix is not None:
            yield fix


def with_other_outlets(design: Design) -> Iterator[Design]:
    """The design with each other outlet that needs no level of its own, at its usual depth."""
    for kind in ANYWHERE:
        other = None if kind == design.outlet.kind else ending_in(design, kind)
        if other is not None:
            yield other


def outlets_of(case: Case) -> Iterator[tuple[Design, int]]:
    """The line asked for with each other outlet that it may have, and the rank of that."""
    free = case.ends_free and not is_filled(case, float(case.points.at_m[-1]))
    for asked in with_other_outlets(case.as_it_is) if free else ():
        yield asked, WELL_RANK if asked.outlet.kind == "dry_well" else RANKS["outlet_kind"]


def is_filled(case: Case, at_m: float) -> bool:
    """Whether soil is to be laid at a station: nothing comes out at the surface there."""
    return float(case.as_it_is.limits.fill_m(np.array([at_m]))[0]) > 0


def _other_outlets(case: Case) -> Iterator[Fix]:
    now = case.as_it_is.outlet.kind
    for asked, rank in outlets_of(case):
        fix = proven_fix(case.as_asked(asked), "outlet_kind", rank, now, asked.outlet.kind)
        if fix is not None:
            yield fix


def _other_ends(case: Case) -> Iterator[Fix]:
    """Ending the line at an earlier station, or going on over ground that is known."""
    end_m, outlet = float(case.points.at_m[-1]), case.as_it_is.outlet
    if outlet.by == "invert" or outlet.kind not in ANYWHERE or not case.ends_free:
        return  # a curb or a drain stands where it stands
    joins_m = [join.at_m for join in case.design.joins]
    least_m = max([NEAREST_OUTLET_M, case.served_m, *joins_m])  # no end that cuts a branch off
    earlier = [x for x in case.stations_m[::-1] if least_m <= x < end_m - 1e-6]
    later = [x for x in case.ground.at_m if x > end_m + 1e-6 and case.may_go_on]
    for candidates in (earlier, later):
        for at_m in candidates:
            fix = _ended(case, float(at_m), end_m) if _may_end(case, float(at_m)) else None
            if fix is not None:
                yield fix
                break


def _may_end(case: Case, at_m: float) -> bool:
    """Whether the pit of an end there stays clear of everything buried, and of soil to be laid."""
    crossings = case.as_it_is.crossings
    if is_filled(case, at_m):
        return False
    return all(abs(c.at_m - at_m) >= c.clearance_m + PIT_M - 1e-9 for c in crossings)


def _ended(case: Case, at_m: float, end_m: float) -> Fix | None:
    """The line ended there, with what it then does not cross and how the ground lies beyond."""
    rank = RANKS["end_at"]
    fix = proven_fix(case.ended_at(at_m), "end_at", rank, end_m, at_m)
    if fix is None:
        return None
    left = [c for c in case.as_it_is.crossings if at_m < c.at_m]
    beyond = case.points.at_m > at_m + 1e-6
    lets_out = case.as_it_is.outlet.kind in ("daylight", "pop_up")
    here_m = case.ground.elevation_at(at_m)
    hollow = lets_out and bool(beyond.any() and (case.points.ground_m[beyond] > here_m).all())
    if left:
        first = min(left, key=lambda c: c.at_m)
        fix = replace(fix, where_m=first.at_m, what=first.what)
    return replace(fix, hollow=hollow, rank=LESS_RANK if left or hollow else rank)


def _other_passings(case: Case) -> Iterator[Fix]:
    """Passing one crossing the other way."""
    crossings = case.as_it_is.crossings
    for i, crossing in enumerate(crossings):
        if crossing.passing == "either":
            continue
        other = replace(crossing, passing="over" if crossing.passing == "under" else "under")
        changed = replace(case.as_it_is, crossings=(*crossings[:i], other, *crossings[i + 1 :]))
        fix = proven_fix(
            case.as_asked(changed),
            "crossing",
            RANKS["crossing"],
            crossing.passing,
            other.passing,
            crossing.at_m,
        )
        if fix is not None:
            yield fix


def _more_breaks(case: Case) -> Iterator[Fix]:
    """Letting the grade change on the way, with the fewest changes that do."""
    grading, now = case.design.grading, case.as_it_is
    before = 0 if grading.shape == "straight" else grading.max_breaks

    def changing(breaks: int) -> Case:
        changed = replace(now.grading, shape="least_dig", max_breaks=breaks)
        free = now.open and replace(now.open, shape=False)
        return case.as_asked(replace(now, grading=changed, open=free))

    most = changing(MOST_BREAKS)
    if before >= MOST_BREAKS or not decide(most.design, most.points, any_line=True).yes:
        return
    for breaks in range(before + 1, MOST_BREAKS + 1):
        fix = proven_fix(
            changing(breaks), "grade_changes", RANKS["grade_changes"], float(before), float(breaks)
        )
        if fix is not None:
            yield fix
            return
