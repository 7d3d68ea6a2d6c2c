"""Every limit that a trench must keep, as a bound on the invert at each point of the line."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numba import njit

from yardfall.core.arrays import Floats
from yardfall.core.design import (
    LEAST_COVER,
    Alignment,
    CoverStretch,
    Crossing,
    Join,
    Limits,
    Outlet,
    Section,
    Start,
)
from yardfall.core.grading.band import Band, Layers
from yardfall.core.ground.route import SAME_STATION_M


def make_band(
    points: Alignment,
    section: Section,
    start: Start,
    limits: Limits,
    outlet: Outlet,
    crossings: Sequence[tuple[Crossing, str]],
    joins: Sequence[Join],
    least_grade: float,
    greatest_grade: float,
) -> Band:
    """Every limit as a bound on the invert at the points; the tightest one names each side.

    The start stands for its own range: from the stated invert up to the highest it may take.
    `crossings` come with the way each is passed.
    """
    at_m, ground_m = points.at_m, points.ground_m
    n = len(at_m)
    hi, lo, hi_level, lo_level, covered = ground_limits(at_m, ground_m, section, limits)
    hi_why = [LEAST_COVER] * covered + ["ground surface"] * (n - covered)
    lo_why = ["greatest depth"] * n
    finished_m = ground_m + limits.fill_m(at_m)
    for stretch in limits.covers:
        _cover_stretch(stretch, at_m, finished_m - section.above_invert_m, hi, hi_why)

    def tighten(i: int, lowest_m: float, highest_m: float, why: str, *, level: bool) -> None:
        upper, lower = (hi_level, lo_level) if level else (hi, lo)
        if highest_m <= hi[i] and highest_m <= hi_level[i]:
            hi_why[i] = why
        if lowest_m >= lo[i] and lowest_m >= lo_level[i]:
            lo_why[i] = why
        if highest_m < upper[i]:
            upper[i] = highest_m
        if lowest_m > lower[i]:
            lower[i] = lowest_m

    for crossing, way in crossings:
        i = int(np.argmin(np.abs(at_m - crossing.at_m)))
        g = float(ground_m[i])
        if way == "over":
            lowest_m, highest_m = crossing.lowest_over_m(g, section), np.inf
        else:
            lowest_m, highest_m = -np.inf, crossing.highest_under_m(g, section)
        tighten(i, lowest_m, highest_m, f"{way} the {crossing.what}", level=False)
    for join in joins:
        i = int(np.argmin(np.abs(at_m - join.at_m)))
        tighten(i, -np.inf, join.highest_m, f"branch {join.branch}", level=True)
    over_end = float(min(hi[-1], hi_level[-1])), hi_why[-1]
    tighten(
        n - 1,
        *outlet.invert_range_m(float(ground_m[-1]), section),
        f"outlet {outlet.by}",
        level=outlet.by == "invert",
    )
    first_lo = float(max(lo[0], lo_level[0])), lo_why[0]
    first = float(ground_m[0]), section, float(finished_m[0] - ground_m[0])
    stated_m, highest_m = start.invert_m(*first), start.highest_m(*first)
    tighten(0, stated_m, highest_m, f"start {start.by}", level=start.by == "invert")
    return Band(
        at_m,
        np.minimum(hi, hi_level),
        np.maximum(lo, lo_level),
        tuple(hi_why),
        tuple(lo_why),
        least_grade,
        greatest_grade,
        Layers(hi, lo, hi_level, lo_level),
        first_lo,
        over_end,
        points.changes_at,
    )


def ground_limits(
    at_m: Floats, ground_m: Floats, section: Section, limits: Limits
) -> tuple[Floats, Floats, Floats, Floats, int]:
    """What cover, surface and greatest depth leave the invert at points (n,), as `limits_of_ground`
    tells it. Cover and surface count to the finished ground, the depth from the ground as it lies.
    """
    length_m = float(at_m[-1])
    run_out_at_m = length_m - limits.outlet_taper_m
    thin_m, thin_to_m = limits.run_out_cover_m, max(length_m - limits.open_end_m, run_out_at_m)
    hi_m, lo_m, hi_level_m, lo_level_m, covered = limits_of_ground(
        at_m,
        ground_m,
        held_to_m(run_out_at_m),
        limits.min_cover_m,
        -np.inf if thin_m is None else held_to_m(thin_to_m),
        0.0 if thin_m is None else min(thin_m, limits.min_cover_m),
        limits.run_in_m - SAME_STATION_M,
        min(limits.run_in_cover_m, limits.min_cover_m),
        np.inf if limits.max_depth_m is None else limits.max_depth_m,
        section.above_invert_m,
        section.below_invert_m,
        highest_at_the_end_m(section, limits),
    )
    return hi_m + limits.fill_m(at_m), lo_m, hi_level_m, lo_level_m, covered


@njit(cache=True, nogil=True)
def held_to_m(edge_m):  # type: ignore[no-untyped-def]
    """How far a cover holds that ends at an edge: where that is the start, nowhere.

    What is the last length of a run and as long as the run leaves nothing before it.
    """
    return edge_m + SAME_STATION_M if edge_m > SAME_STATION_M else -np.inf


def highest_at_the_end_m(section: Section, limits: Limits) -> float:
    """How far the invert may lie above the ground (below: negative) on the last stretch."""
    if limits.end_cover_m is None:
        return section.below_invert_m
    return -limits.end_cover_m - section.above_invert_m


def _cover_stretch(
    stretch: CoverStretch, at_m: Floats, top_m: Floats, hi: Floats, hi_why: list[str]
) -> None:
    """Hold a stretch's own cover where it lies; `top_m` (n,) is the invert with no cover."""
    first = int(np.searchsorted(at_m, stretch.from_m - SAME_STATION_M))
    last = int(np.searchsorted(at_m, stretch.to_m + SAME_STATION_M))
    for i in range(first, last):
        highest_m = float(top_m[i]) - stretch.cover_m
        if highest_m < hi[i]:
            hi[i], hi_why[i] = highest_m, f"cover under {stretch.what}"


def warm() -> None:
    """Compile the loop below, or load what was compiled before, so that no caller waits."""
    one = np.array([0.0, 1.0])
    held_to_m(1.0)
    limits_of_ground(one, one, 1.0, 0.1, 1.0, 0.1, 0.1, 0.1, 1.0, 0.1, 0.0, 0.0)


@njit(cache=True, nogil=True)
def limits_of_ground(  # type: ignore[no-untyped-def]
    at, ground, covered_to, cover, thin_to, thin, run_in, shallow, deepest, above, below, end
):
    """`Section`'s inverts at the least cover, else the surface, and at the greatest depth.

    With them the levels, all open, and how many points from the first on are covered.
    """
    n, covered = len(at), 0
    hi, lo = np.empty(n), np.empty(n)
    for i in range(n):
        if at[i] <= covered_to:
            covered = i + 1
            hi[i] = ground[i] - (shallow if at[i] < run_in else cover) - above
        elif at[i] <= thin_to:
            covered = i + 1
            hi[i] = ground[i] - (min(shallow, thin) if at[i] < run_in else thin) - above
        else:
            hi[i] = ground[i] + end
        lo[i] = ground[i] - deepest + below
    return hi, lo, np.full(n, np.inf), np.full(n, -np.inf), covered
