"""A design with the values put in that nobody stated, as far as each has given way."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any, Final, Literal

from yardfall.core.design import LIDDED_OUTLETS, SURFACE_OUTLETS, Design, Limits, Outlet, OutletKind
from yardfall.core.easing.site import SAME_M, Site, level_site, site_of
from yardfall.core.ground.profile import GroundProfile
from yardfall.core.usual import US_USUAL, Open, Usual

Eases = Literal["run_out", "outlet_depth", "shape"]
ANYWHERE_M: Final = 1e6
"""Longer than any run: what eases along the whole run eases everywhere."""


@dataclass(frozen=True)
class Given:
    """How far the usual values have given way; None: not at all.

    `branches`: those of the lines that join this one have given way too.
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


def site_for(design: Design, ground: GroundProfile, length_m: float) -> Site:
    """What easing asks of the ground of a line; how it falls past the end, for a daylight end."""
    if design.outlet.kind != "daylight":
        return level_site(ground.elevation_at(0.0))
    return site_of(ground, length_m, values_of(design).stretch_m)


def ending_in(design: Design, kind: OutletKind) -> Design | None:
    """As asked, with an outlet of another kind at its usual depth; None where it must be told."""
    values = values_of(design)
    outlet = usual_outlet(kind, design.pipe.outside_m, values)
    if outlet is None:
        return None
    free = replace(design.open or Open(values), outlet_depth=True)
    limits = replace(design.limits, end_cover_m=0.0 if kind in LIDDED_OUTLETS else None)
    return replace(design, outlet=outlet, limits=limits, open=free)


def usual_cover(design: Design, values: Usual, site: Site) -> UsualCover:
    """The usual cover as a stated start lowers it."""
    ground_m = site.start_ground_m
    finished_m, highest_m = ground_m + design.start_fill_m, design.start_highest_m(ground_m)
    start_m = finished_m - highest_m - design.section.above_invert_m
    if start_m >= values.cover_m - SAME_M:
        return UsualCover(values.cover_m, None)
    if start_m >= values.lowest_cover_m - SAME_M:
        return UsualCover(start_m, None)
    return UsualCover(values.lowest_cover_m, start_m)


def given(design: Design, site: Site, how: Given) -> Design:
    """The design with the values that nobody stated put in, as far as they have given way."""
    if how.branches and design.joins:
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
    taken: dict[str, Any] = {}
    min_cover_m = design.limits.min_cover_m
    if free.cover:
        cover = usual_cover(design, values, site)
        min_cover_m = cover.cover_m
        if how.nominal:
            dip_m = values.cover_m - values.nominal_cover_m
            min_cover_m = max(min(min_cover_m, values.lowest_cover_m), min_cover_m - dip_m)
        taken["min_cover_m"] = min_cover_m
        if cover.run_in_m is not None:
            taken |= {"run_in_m": values.run_in_m, "run_in_cover_m": cover.run_in_m}
    if free.run_out:
        surface = design.outlet.kind in SURFACE_OUTLETS
        # a lid's pipe lies in the ground
        taken["end_cover_m"] = None if design.outlet.kind == "daylight" else 0.0
        taken["outlet_taper_m"] = values.run_out_m if surface else 0.0
        if how.run_out_m is not None:
            taken |= {
                "outlet_taper_m": how.run_out_m,
                "run_out_cover_m": min(values.thin_cover_m, min_cover_m),
                "open_end_m": values.run_out_m,
            }
    return replace(design.limits, **taken)


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
    """The first value of the greatest depth at the outlet."""
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
    """The last value of the greatest depth at the outlet."""
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
    """The same with every usual value at its first, and no deeper than goes without a word."""
    site = level_site(start_ground_m)
    plain = given(design, site, Given(nominal=True))
    if design.open is None or not design.open.max_depth:
        return plain
    return replace(plain, limits=replace(plain.limits, max_depth_m=design.open.values.deep_m))
