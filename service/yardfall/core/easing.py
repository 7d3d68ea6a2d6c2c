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
from typing import Final, Literal

import numpy as np

from yardfall.core.decision import Decision, Design, decide
from yardfall.core.ground import GroundProfile
from yardfall.core.route import Floats
from yardfall.core.trench import SURFACE_OUTLETS, Alignment, Limits, Outlet, OutletKind
from yardfall.core.usual import US_USUAL, Open, Usual

Eases = Literal["run_out", "outlet_depth", "shape"]
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
SAME_M: Final = 1e-9


@dataclass(frozen=True, eq=False)
class Site:
    """What easing asks of the ground: its level at the start, and how it falls beyond the end.

    `fall_m` (k,) is the most that the ground has fallen within `beyond_m` (k,) of the end, both
    from 0 on. Between them it falls evenly, or, for `sampled` ground, not before the next.
    `measured_m` is as far as it was measured.
    """

    start_ground_m: float
    beyond_m: Floats
    fall_m: Floats
    measured_m: float
    sampled: bool = False

    def fall_within(self, distance_m: float) -> float:
        """The most that the ground falls within a distance past the end."""
        if not self.sampled:
            return float(np.interp(distance_m, self.beyond_m, self.fall_m))
        near = int(np.searchsorted(self.beyond_m, distance_m + SAME_M))
        return float(self.fall_m[near - 1])

    def ditch_m(self, depth_m: float) -> float:
        """Length of the level ditch that leads out from so deep; inf where none does."""
        if depth_m > self.fall_m[-1] + SAME_M:
            return math.inf
        k = int(np.argmax(self.fall_m >= depth_m - SAME_M))
        if k == 0 or self.sampled:
            return float(self.beyond_m[k])
        one_m, two_m = self.fall_m[k - 1], self.fall_m[k]
        share = min(1.0, (depth_m - one_m) / (two_m - one_m))
        return float(self.beyond_m[k - 1] + share * (self.beyond_m[k] - self.beyond_m[k - 1]))


ANYWHERE_M: Final = 1e6
"""Longer than any run: what eases along the whole run eases everywhere."""
FAR_M: Final = 60.0
"""How far past the end the last stretch's slope is carried on."""


def level_site(start_ground_m: float) -> Site:
    """A site where nothing is known of the ground beyond an end."""
    return Site(start_ground_m, np.array([0.0, FAR_M]), np.zeros(2), 0.0)


def site_of(ground: GroundProfile, length_m: float, chord_m: float) -> Site:
    """What easing asks of the ground under a line of `length_m`.

    A raster tells how the ground falls around the end. Else it is that of the route past the end,
    and past what is known it goes on at the slope of the last stretch: from the last point at
    least `chord_m` before the end of what is known.
    """
    around = ground.around
    if around is not None and abs(around.end_m - length_m) <= SAME_M:
        reach_m = float(around.distance_m[-1])
        start_m = ground.elevation_at(0.0)
        return Site(start_m, around.distance_m, around.fall_m, reach_m, sampled=True)
    end_m = ground.elevation_at(length_m)
    known_m = max(length_m, float(ground.at_m[-1]))
    last_m = ground.elevation_at(known_m)
    back = ground.at_m[ground.at_m <= known_m - chord_m + SAME_M]
    back_m = float(back[-1]) if len(back) else float(ground.at_m[0])
    slope = 0.0
    if known_m > back_m:
        slope = (ground.elevation_at(back_m) - last_m) / (known_m - back_m)
    later = ground.at_m[(ground.at_m > length_m + SAME_M) & (ground.at_m < known_m)]
    at_m = np.unique(np.concatenate([[length_m], later, [known_m]]))
    fall_m = np.append(end_m - ground.elevation(at_m), end_m - last_m + slope * FAR_M)
    return Site(
        ground.elevation_at(0.0),
        np.append(at_m - length_m, known_m - length_m + FAR_M),
        np.maximum.accumulate(np.maximum(fall_m, 0.0)),
        known_m - length_m,
    )


@dataclass(frozen=True)
class Given:
    """How far the usual values have given way; None: not at all.

    `branches`: so have those of the lines that join this one.
    """

    nominal: bool = False
    run_out_m: float | None = None
    outlet_m: float | None = None
    bends: bool = False
    branches: bool = False


@dataclass(frozen=True)
class UsualCover:
    """The usual cover on a line, and what the start leaves of it on the run-in (None: all)."""

    cover_m: float
    run_in_m: float | None


def values_of(design: Design) -> Usual:
    """The usual values of a design's unit system."""
    return US_USUAL if design.open is None else design.open.values


def ending_in(design: Design, kind: OutletKind) -> Design | None:
    """As asked, with an outlet of another kind at its usual depth; None where it must be told."""
    values = values_of(design)
    outlet = usual_outlet(kind, design.pipe.outside_m, values)
    if outlet is None:
        return None
    free = replace(design.open or Open(values), outlet_depth=True)
    return replace(design, outlet=outlet, open=free)


def usual_cover(design: Design, values: Usual, site: Site) -> UsualCover:
    """The usual cover as a stated start lowers it."""
    highest_m = design.start.highest_m(site.start_ground_m, design.section)
    start_m = site.start_ground_m - highest_m - design.section.above_invert_m
    if start_m >= values.cover_m - SAME_M:
        return UsualCover(values.cover_m, None)
    if start_m >= values.lowest_cover_m - SAME_M:
        return UsualCover(start_m, None)
    return UsualCover(values.lowest_cover_m, start_m)


def given(design: Design, site: Site, how: Given) -> Design:
    """The design with the values that nobody stated put in, as far as they have given way."""
    if how.branches:
        joins = (replace(j, highest_m=max(j.highest_m, j.last_m)) for j in design.joins)
        design = replace(design, joins=tuple(joins))
    free = design.open
    if free is None:
        return design
    values = free.values
    return replace(
        design,
        limits=_limits(design, values, free, site, how),
        outlet=replace(
            design.outlet,
            most_m=first_depth_m(design, site) if how.outlet_m is None else how.outlet_m,
        )
        if free.outlet_depth
        else design.outlet,
        grading=replace(design.grading, shape="least_dig", max_breaks=1)
        if how.bends
        else design.grading,
    )


def _limits(design: Design, values: Usual, free: Open, site: Site, how: Given) -> Limits:
    limits = design.limits
    if free.cover:
        cover = usual_cover(design, values, site)
        held_m = cover.cover_m
        if how.nominal:
            dip_m = values.cover_m - values.nominal_cover_m
            held_m = max(min(held_m, values.lowest_cover_m), held_m - dip_m)
        limits = replace(limits, min_cover_m=held_m)
        if cover.run_in_m is not None:
            limits = replace(limits, run_in_m=values.run_in_m, run_in_cover_m=cover.run_in_m)
    if free.run_out:
        surface = design.outlet.kind in SURFACE_OUTLETS
        limits = replace(limits, outlet_taper_m=values.run_out_m if surface else 0.0)
        if how.run_out_m is not None:
            limits = replace(
                limits,
                outlet_taper_m=how.run_out_m,
                run_out_cover_m=min(values.thin_cover_m, limits.min_cover_m),
                open_end_m=values.run_out_m,
            )
    return limits


def usual_outlet(kind: OutletKind, outside_m: float, values: Usual) -> Outlet | None:
    """An outlet of a kind at its usual least depth; None where its level must be told.

    The greatest depth is open until the ground is known (`first_depth_m`). A pop-up's lid stands
    so much above the bottom of a small pipe, and so much more above that of a larger one; a
    daylight end comes up to the surface at the most; a dry well sets no limit.
    """
    if kind == "daylight":
        return Outlet(kind, "depth", 0.0)
    if kind == "pop_up":
        return Outlet(kind, "depth", values.pop_up_least_m + _larger_m(outside_m, values))
    return Outlet(kind) if kind == "dry_well" else None


def _larger_m(outside_m: float, values: Usual) -> float:
    return max(0.0, outside_m - values.small_pipe_m)


def first_depth_m(design: Design, site: Site) -> float:
    """The greatest depth at the outlet, first value."""
    free, kind = design.open, design.outlet.kind
    if free is None or kind == "dry_well":
        return math.inf
    values, pipe_m = free.values, design.pipe.outside_m
    if kind == "daylight":
        return site.fall_within(values.ditch_m)
    cover_m = usual_cover(design, values, site).cover_m if free.cover else values.cover_m
    bend_m = values.pop_up_most_m + _larger_m(pipe_m, values)
    return max(bend_m, cover_m + pipe_m + design.limits.bedding_m)


def last_depth_m(design: Design, site: Site) -> float:
    """The greatest depth at the outlet, last value."""
    free = design.open
    first_m = first_depth_m(design, site)
    if free is None or design.outlet.kind == "dry_well":
        return first_m
    if design.outlet.kind == "daylight":
        bank_m = design.pipe.outside_m + design.limits.bedding_m
        return max(first_m, site.fall_within(free.values.last_ditch_m), bank_m)
    return max(first_m, free.values.pop_up_last_m)


def eases_of(design: Design, site: Site, length_m: float) -> frozenset[Eases]:
    """Which usual values can give way at all."""
    free = design.open
    if free is None:
        return frozenset()
    found: set[Eases] = set()
    surface = design.outlet.kind in SURFACE_OUTLETS
    if free.run_out and free.cover and surface and length_m > free.values.run_out_m + SAME_M:
        found.add("run_out")
    if free.outlet_depth and last_depth_m(design, site) > first_depth_m(design, site) + SAME_M:
        found.add("outlet_depth")
    if free.shape:
        found.add("shape")
    return frozenset(found)


def last_given(
    design: Design,
    site: Site,
    length_m: float,
    group: frozenset[Eases],
    *,
    branches: bool = False,
) -> Given:
    """The values of a group at their last, the others at their first."""
    return Given(
        branches=branches,
        nominal=True,
        run_out_m=length_m if "run_out" in group else None,
        outlet_m=last_depth_m(design, site) if "outlet_depth" in group else None,
        bends="shape" in group,
    )


def at_last(design: Design, site: Site, length_m: float) -> Design:
    """The design with every usual value at its last."""
    group = eases_of(design, site, length_m)
    return given(design, site, last_given(design, site, length_m, group, branches=True))


def at_last_anywhere(design: Design, start_ground_m: float) -> Design:
    """The design with every usual value at its last, for a run of any length to anywhere.

    A daylight end's depth is the pipe's own height: what the ground allows besides is the
    search's to find (`core.reach`).
    """
    site = level_site(start_ground_m)
    group = eases_of(design, site, ANYWHERE_M)
    return given(design, site, last_given(design, site, ANYWHERE_M, group - {"shape"}))


def at_first_anywhere(design: Design, start_ground_m: float) -> Design:
    """The same with every usual value at its first; no deeper than needs no word."""
    site = level_site(start_ground_m)
    plain = given(design, site, Given(nominal=True))
    if design.open is None or not design.open.max_depth:
        return plain
    return replace(plain, limits=replace(plain.limits, max_depth_m=design.open.values.deep_m))


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

    open_here = eases_of(design, site, length_m)
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
        for group in GROUPS:
            if not group <= open_here:
                continue
            how = last_given(design, site, length_m, group, branches=branches)
            if serves(how):
                return tried(_least(design, site, length_m, how, serves))
    if design.open is None:
        return first
    how = last_given(design, site, length_m, open_here, branches=branches_give)
    return tried(replace(how, bends=False))


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
