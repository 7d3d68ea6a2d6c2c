"""Usual values give way where a plan needs it, each by the least that serves.

With every usual value at its first the plan is a plain yes. Where that has no line, the first of
GROUPS that has one gives way: the outlet's depth first, by the least, then the run-out. What is
stated stands. Whether there is a line at all is asked with every usual value at its last
(`judged`): the spare and the chance then tell of any line that a contractor would dig, not of the
one that was eased to fit.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from yardfall.core.design import Alignment, Design, Limits
from yardfall.core.easing.site import SAME_M, Site
from yardfall.core.easing.usual_limits import (
    Eases,
    Given,
    eases_of,
    first_depth_m,
    given,
    last_given,
)
from yardfall.core.grading.decision import Decision, decide, least_dig_line
from yardfall.core.usual import Usual

GROUPS: Final[tuple[frozenset[Eases], ...]] = (
    frozenset({"run_out"}),
    frozenset({"outlet_depth"}),
    frozenset({"shape"}),
    frozenset({"shape", "outlet_depth"}),
    frozenset({"shape", "run_out"}),
    frozenset({"run_out", "outlet_depth"}),
    frozenset({"shape", "run_out", "outlet_depth"}),
)
"""What gives way, the least burden to whoever lives there first (common practice, no source)."""
DRAWN_BREAKS: Final = 3
MOST_DRAWN: Final = 1000
"""With more points than this, a line that is only drawn gets few changes of grade and may dig more
than it must: to find the one that digs least would take a second."""
FREE_M: Final = 100.0
"""Lower limits this far below the upper ones hold no line."""


@dataclass(frozen=True, eq=False)
class Eased:
    """A design with what was taken for its usual values, and the line decided on it."""

    design: Design
    points: Alignment
    decision: Decision
    given: Given
    site: Site


def ease(
    design: Design, site: Site, length_m: float, points_of: Callable[[Limits], Alignment]
) -> Eased:
    """The design with its usual values as they must be, and its line; a no where none serves.

    `points_of` makes the points where limits are held. A no comes with every usual value at its
    last, but for the shape: the line drawn is straight.
    """

    def tried(how: Given, *, any_line: bool = False) -> Eased:
        whole = given(design, site, how)
        points = points_of(whole.limits)
        return Eased(whole, points, decide(whole, points, any_line=any_line), how, site)

    def serves(how: Given) -> bool:
        return tried(how, any_line=True).decision.yes

    usual_cover_open = design.open is not None and design.open.cover
    branches_give = any(join.last_m > join.highest_m for join in design.joins)
    for branches in (False, True) if branches_give else (False,):
        first = tried(Given(branches=branches))
        if first.decision.yes:
            return first
        if usual_cover_open:
            nominal = tried(Given(nominal=True, branches=branches))
            if nominal.decision.yes:
                return nominal
        open_here = eases_of(design, site, length_m)
        for group in GROUPS:
            if not group <= open_here:
                continue
            how = last_given(design, site, length_m, group, branches=branches)
            if serves(how):
                return tried(_least(design, site, length_m, how, serves))
    if design.open is None:
        return first
    how = last_given(design, site, length_m, open_here, branches=branches_give)
    nearest = tried(replace(how, bends=False))
    return nearest if "shape" not in open_here else _changing_grade(nearest)


def _changing_grade(nearest: Eased) -> Eased:
    """A no drawn with few changes of grade: the line that digs least were there no lower limits.

    One straight grade that a dip forces down would run on as steeply to its end.
    """
    decision = nearest.decision
    band, grading = (
        decision.band,
        replace(nearest.design.grading, shape="least_dig", max_breaks=DRAWN_BREAKS),
    )
    free_m = np.where(np.arange(len(band.at_m)) > 0, band.hi_m - FREE_M, band.lo_m)
    free = replace(band, lo_m=np.minimum(free_m, band.hi_m))
    line = least_dig_line(grading, free, nearest.points, any_line=len(band.at_m) > MOST_DRAWN)
    if line is None:
        return nearest
    return replace(nearest, decision=replace(decision, invert_m=line.invert_m))


def _least(
    design: Design, site: Site, length_m: float, how: Given, serves: Callable[[Given], bool]
) -> Given:
    """From values at their last to the least that serve: the outlet's depth, then the run-out."""
    free = design.open
    assert free is not None
    values = free.values
    if how.outlet_m is not None:
        for_depth = _depths(design, site, how.outlet_m, values)
        how = _first_that_serves([replace(how, outlet_m=m) for m in for_depth], serves)
    if how.run_out_m is not None:
        lengths = _steps(values.run_out_m, length_m, values.length_step_m)
        how = _first_that_serves([replace(how, run_out_m=m) for m in lengths], serves)
    return how


def _depths(design: Design, site: Site, last_m: float, values: Usual) -> list[float]:
    """Depths to try at the outlet, in the steps a person would say, up to the last.

    A daylight end's are those that ditches of whole steps lead out.
    """
    first_m = first_depth_m(design, site)
    if design.outlet.kind != "daylight":
        return _steps(first_m, last_m, values.depth_step_m)
    ditches = _steps(values.ditch_m, values.last_ditch_m, values.length_step_m)
    depths = [site.fall_within(ditch_m) for ditch_m in ditches]
    if last_m > depths[-1] + SAME_M:
        depths.append(last_m)
    return [depth_m for depth_m in depths if depth_m > first_m + SAME_M]


def _steps(first_m: float, last_m: float, step_m: float) -> list[float]:
    """Whole steps beyond a first value, up to the last, which ends them."""
    count = math.floor(first_m / step_m + 1e-6) + 1
    found = []
    while count * step_m < last_m - SAME_M:
        found.append(count * step_m)
        count += 1
    return [*found, last_m]


def _first_that_serves(candidates: list[Given], serves: Callable[[Given], bool]) -> Given:
    """The first candidate that serves; each allows all that those before it do, the last serves."""
    low, high = 0, len(candidates) - 1
    while low < high:
        middle = (low + high) // 2
        if serves(candidates[middle]):
            high = middle
        else:
            low = middle + 1
    return candidates[high]
