"""Soil laid on low ground, or taken off a hump: what would mend a "no" by changing the ground.

Soil to lay is part of the design (`core.fill`), so laying it is proven like any other change. It
thins out straight to both sides. A hump taken off is another ground, known at the same points, and
its heap ends at points where the ground is known, so that the same readings tell it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.core.chance.scenario import Case, judge, proven
from yardfall.core.design import LEAST_COVER, Design
from yardfall.core.easing.usual_limits import values_of
from yardfall.core.fill import STRIP_M, Fill
from yardfall.core.fixes.fixes import Fix, fix_of, turned
from yardfall.core.fixes.loosening import Change, Knob
from yardfall.core.fixes.outward import FINEST, STEPS, outward, unit_of
from yardfall.core.fixes.turning import DRAWN_ROOT_M, DRAWN_STEPS
from yardfall.core.grading.decision import decide, margin_with_any_breaks
from yardfall.core.numerics.root_finding import first_that_works
from yardfall.core.units import FOOT_M, INCH_M, UnitName

RANK: Final = 5
MOST_M: Final[dict[UnitName, float]] = {"us": 12 * INCH_M, "si": 0.300}
"""No fix moves more soil than this deep (common practice, no source)."""
STEP_M: Final[dict[UnitName, float]] = {"us": FOOT_M, "si": 0.5}
"""Soil to lay begins and ends at whole steps of the tape."""
SIDES: Final = (1, 2, 4)
"""Lengths of a heap's side that are tried, in the usual length of a run-in."""
SURE_M: Final = 1e-6
"""Spare that a fix of the ground must leave: its readings are told to a millionth."""


@dataclass(frozen=True, eq=False)
class Hump:
    """Where soil is taken off: shares (n,) of its depth at the ground's points."""

    from_m: float
    peak_m: float
    to_m: float
    share: Floats


def soil_fixes(case: Case) -> Iterator[Fix]:
    """The shallowest move of soil of each kind that alone settles it, least soil first tried."""
    for change, fills in (("soil_start", _at_start(case)), ("soil_dip", _in_dip(case))):
        for fill in fills:
            fix = _laid(case, change, fill)  # type: ignore[arg-type]
            if fix is not None:
                yield fix
                break
    for hump in _off_hump(case):
        fix = _taken_off(case, hump)
        if fix is not None:
            yield fix
            break


def _at_start(case: Case) -> list[Fill]:
    """On the start, from where the house stands; it lifts a start that is told by its cover."""
    if case.as_it_is.start.by != "cover":
        return []
    return _fills(case, 0.0)


def _in_dip(case: Case) -> list[Fill]:
    """Over the low ground whose cover keeps the pipe down."""
    decision, at_m = decide(case.design, case.points, any_line=True), case.points.at_m
    pinch, band = decision.pinch, decision.band
    low = pinch.upstream if pinch.turns_on is None else pinch.turns_on
    if not 0 < low < len(at_m) - 1 or band.hi_why[low] != LEAST_COVER:
        return []
    return _fills(case, float(at_m[low]))


def _fills(case: Case, peak_m: float) -> list[Fill]:
    """Soil about a peak, from short to long, a depth of 1 m to be put in, on the line alone.

    At the surface the end keeps its own level, so it ends before that.
    """
    units = values_of(case.design).units
    step_m, side_m = STEP_M[units], values_of(case.design).run_in_m
    end_m = float(case.points.at_m[-1])
    last_m = math.floor(end_m / step_m + 1e-6) * step_m
    full_m = [round_to(peak_m / step_m) * step_m for round_to in (math.floor, math.ceil)]
    found: list[Fill] = []
    for times in SIDES:
        from_m, to_m = max(0.0, full_m[0] - times * side_m), full_m[1] + times * side_m
        if to_m > last_m:
            break
        first_m, *full, end = (_told(x, units) for x in (from_m, *full_m, to_m))
        found.append(Fill(first_m, full[0], full[1], end, 1.0, STRIP_M[units]))
    return found


def _told(at_m: float, units: UnitName) -> float:
    """A station as a request tells it."""
    unit_m = unit_of("length", units)
    return round(at_m / unit_m, FINEST) * unit_m


def _laid(case: Case, change: Change, fill: Fill) -> Fix | None:
    """The least depth of soil to lay that settles it, rounded outward and run again to prove it."""
    design = case.as_it_is

    def laid(depth_m: float) -> Design:
        fills = (*design.limits.fills, replace(fill, depth_m=depth_m))
        return replace(design, limits=replace(design.limits, fills=fills))

    most_m = MOST_M[values_of(case.design).units]
    most = case.as_asked(laid(most_m))
    if change == "soil_dip" and margin_with_any_breaks(most.design, most.points) < 0:
        return None  # told at once
    fix = turned(case, Knob(change, RANK, 0.0, most_m, laid, widens=change == "soil_dip"))
    if fix is None:
        return None
    return replace(fix, fill=fix.asked.limits.fills[-1])


def _off_hump(case: Case) -> list[Hump]:
    """Off the high ground under which the pipe would lie too deep."""
    decision, at_m = decide(case.design, case.points, any_line=True), case.points.at_m
    high = decision.pinch.downstream
    if not 0 < high < len(at_m) - 1 or decision.band.lo_why[high] != "greatest depth":
        return []
    return _humps(case, float(at_m[high]))


def _humps(case: Case, peak_m: float) -> list[Hump]:
    """Heaps about a peak, from short to long, each ending at points that are known."""
    at_m, end_m = case.ground.at_m, float(case.points.at_m[-1])
    side_m = values_of(case.design).run_in_m
    found: list[Hump] = []
    for times in SIDES:
        later = at_m[(at_m >= peak_m + times * side_m - 1e-6) & (at_m <= end_m + 1e-6)]
        earlier = at_m[(at_m <= peak_m - times * side_m + 1e-6) & (at_m >= -1e-6)]
        if not len(later) or not len(earlier):
            break
        from_m, to_m = float(earlier[-1]), float(later[0])
        if found and (from_m, to_m) == (found[-1].from_m, found[-1].to_m):
            continue
        share = np.interp(at_m, [from_m, peak_m, to_m], [0.0, 1.0, 0.0], left=0.0, right=0.0)
        found.append(Hump(from_m, peak_m, to_m, share))
    return found


def _taken_off(case: Case, hump: Hump) -> Fix | None:
    """The least depth to take off that settles it, rounded outward and run again to prove it."""
    units = values_of(case.design).units
    most_m = MOST_M[units]

    def at(depth_m: float, here: Case) -> Case:
        raised_m = here.ground.elevation_m - depth_m * hump.share
        return here.on_ground(replace(here.ground, elevation_m=raised_m))

    def most_margin(depth_m: float) -> float:
        there = at(depth_m, case)
        return margin_with_any_breaks(there.design, there.points)

    def margin(depth_m: float) -> float:
        there = at(depth_m, case)
        return decide(there.design, there.points, any_line=True).margin_m

    depth_m = first_that_works(most_margin, 0.0, most_m, DRAWN_ROOT_M)  # told at once
    if depth_m is not None:
        depth_m = first_that_works(margin, max(depth_m - DRAWN_ROOT_M, 0.0), most_m, DRAWN_ROOT_M)
    if depth_m is not None and case.draws is not None and judge(at(depth_m, case))[0] < 0:
        depth_m = first_that_works(
            lambda d: judge(at(d, case))[0], depth_m, most_m, DRAWN_ROOT_M, DRAWN_STEPS
        )
    if depth_m is None:
        return None
    step_m = STEPS[units]["depth"][0] * unit_of("depth", units)
    for least_m in (depth_m, depth_m + step_m):
        after_m = next(outward(least_m, 0.0, most_m, "depth", units), None)
        if after_m is None:
            break
        there = at(after_m, case)
        decision = proven(there)
        if decision is not None and decision.margin_m >= SURE_M:
            area_m2 = float(np.trapezoid(hump.share, case.ground.at_m)) * after_m
            values = {
                "from_m": hump.from_m,
                "peak_m": hump.peak_m,
                "to_m": hump.to_m,
                "width_m": STRIP_M[units],
                "volume_m3": area_m2 * STRIP_M[units],
            }
            fix = fix_of(there, decision, "soil_hump", RANK, 0.0, after_m)
            return replace(fix, ground_m=-after_m * hump.share, values=values)
    return None
