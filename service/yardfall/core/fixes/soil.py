"""Soil laid on low ground, or taken off a hump: what would mend a "no" by changing the ground.

A heap is straight on both sides of its peak and ends at points where the ground is known, so that
the same readings tell it. A start told by cover or depth comes up with its soil.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.core.chance.scenario import Case, judge, proven
from yardfall.core.design import LEAST_COVER
from yardfall.core.easing.usual_limits import values_of
from yardfall.core.fixes.fixes import Fix, fix_of
from yardfall.core.fixes.loosening import Change
from yardfall.core.fixes.outward import STEPS, outward, unit_of
from yardfall.core.fixes.turning import DRAWN_ROOT_M, DRAWN_STEPS
from yardfall.core.grading.decision import decide, margin_with_any_breaks
from yardfall.core.numerics.root_finding import first_that_works
from yardfall.core.units import FOOT_M, INCH_M, UnitName

RANK: Final = 5
MOST_M: Final[dict[UnitName, float]] = {"us": 12 * INCH_M, "si": 0.300}
"""No fix moves more soil than this deep (common practice, no source)."""
STRIP_M: Final[dict[UnitName, float]] = {"us": 6 * FOOT_M, "si": 2.0}
"""Width of the strip along the pipe on which soil is moved (common practice, no source)."""
SIDES: Final = (1, 2, 4)
"""Lengths of a heap's side that are tried, in the usual length of a run-in."""
SURE_M: Final = 1e-6
"""Spare that a fix of the ground must leave: its readings are told to a millionth."""


@dataclass(frozen=True, eq=False)
class Heap:
    """Where soil is laid (`sign` 1) or taken off (-1): shares (n,) of its depth at the points."""

    change: Change
    sign: int
    from_m: float
    peak_m: float
    to_m: float
    share: Floats


def soil_fixes(case: Case) -> Iterator[Fix]:
    """The shallowest move of soil of each kind that alone settles it, least soil first tried."""
    for heaps in (_at_start(case), _in_dip(case), _off_hump(case)):
        for heap in heaps:
            fix = _moved(case, heap)
            if fix is not None:
                yield fix
                break


def _at_start(case: Case) -> list[Heap]:
    if case.as_it_is.start.by == "invert":
        return []
    return _heaps(case, "soil_start", 1, 0.0, before=False)


def _in_dip(case: Case) -> list[Heap]:
    """Over the low ground whose cover keeps the pipe down."""
    decision, at_m = decide(case.design, case.points, any_line=True), case.points.at_m
    pinch, band = decision.pinch, decision.band
    low = pinch.upstream if pinch.turns_on is None else pinch.turns_on
    if not 0 < low < len(at_m) - 1 or band.hi_why[low] != LEAST_COVER:
        return []
    return _heaps(case, "soil_dip", 1, float(at_m[low]))


def _off_hump(case: Case) -> list[Heap]:
    """Off the high ground under which the pipe would lie too deep."""
    decision, at_m = decide(case.design, case.points, any_line=True), case.points.at_m
    high = decision.pinch.downstream
    if not 0 < high < len(at_m) - 1 or decision.band.lo_why[high] != "greatest depth":
        return []
    return _heaps(case, "soil_hump", -1, float(at_m[high]))


def _heaps(
    case: Case, change: Change, sign: int, peak_m: float, *, before: bool = True
) -> list[Heap]:
    """Heaps about a peak, from short to long, each ending at points that are known."""
    at_m, end_m = case.ground.at_m, float(case.points.at_m[-1])
    side_m = values_of(case.design).run_in_m
    found: list[Heap] = []
    for times in SIDES:
        later = at_m[(at_m >= peak_m + times * side_m - 1e-6) & (at_m <= end_m + 1e-6)]
        earlier = at_m[(at_m <= peak_m - times * side_m + 1e-6) & (at_m >= -1e-6)]
        if not len(later) or (before and not len(earlier)):
            break
        from_m, to_m = float(earlier[-1]) if before else peak_m, float(later[0])
        if found and (from_m, to_m) == (found[-1].from_m, found[-1].to_m):
            continue
        corners = [from_m, peak_m, to_m] if before else [peak_m, to_m]
        shares = [0.0, 1.0, 0.0] if before else [1.0, 0.0]
        share = np.interp(at_m, corners, shares, left=0.0, right=0.0)
        found.append(Heap(change, sign, from_m, peak_m, to_m, share))
    return found


def _moved(case: Case, heap: Heap) -> Fix | None:
    """The least depth of a heap that settles it, rounded outward and run again to prove it."""
    units = values_of(case.design).units
    most_m = MOST_M[units]

    def at(depth_m: float, here: Case) -> Case:
        raised_m = here.ground.elevation_m + heap.sign * depth_m * heap.share
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
            area_m2 = float(np.trapezoid(heap.share, case.ground.at_m)) * after_m
            values = {
                "from_m": heap.from_m,
                "peak_m": heap.peak_m,
                "to_m": heap.to_m,
                "width_m": STRIP_M[units],
                "volume_m3": area_m2 * STRIP_M[units],
            }
            fix = fix_of(there, decision, heap.change, RANK, 0.0, after_m)
            return replace(fix, ground_m=heap.sign * after_m * heap.share, values=values)
    return None
