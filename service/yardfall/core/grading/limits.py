"""The pipe in the ground, and the limits a trench must keep.

g ground, z invert (lowest inside point), t wall, D outside diameter, b bedding:

    trench bottom = z − t − b      top of pipe = z − t + D
    dig depth = g − (z − t − b)    cover = g − (z − t + D)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numba import njit
from numpy.typing import NDArray

from yardfall.core.grading.band import Band, Layers
from yardfall.core.ground.route import SAME_STATION_M, Floats

OutletKind = Literal["daylight", "pop_up", "curb", "dry_well", "tie_in"]
SURFACE_OUTLETS: Final = ("daylight", "pop_up", "curb")
LIDDED_OUTLETS: Final = ("pop_up", "curb")
"""Their pipe comes no higher than the surface."""
LEAST_COVER: Final = "least cover"
"""The name of the limit that keeps soil over the pipe."""


@dataclass(frozen=True)
class Section:
    """The pipe's section in the trench."""

    outside_m: float
    wall_m: float
    bedding_m: float

    @property
    def below_invert_m(self) -> float:
        """From the invert down to the trench bottom."""
        return self.wall_m + self.bedding_m

    @property
    def above_invert_m(self) -> float:
        """From the invert up to the top of the pipe."""
        return self.outside_m - self.wall_m

    def invert_at_depth(self, ground_m: Floats | float, depth_m: float) -> Floats | float:
        """Invert that puts the trench bottom `depth_m` below the ground."""
        return ground_m - depth_m + self.below_invert_m

    def invert_at_cover(self, ground_m: Floats | float, cover_m: float) -> Floats | float:
        """Invert that leaves `cover_m` of soil over the pipe."""
        return ground_m - cover_m - self.above_invert_m


@dataclass(frozen=True)
class Start:
    """Where the pipe begins: by cover, by depth to the trench bottom, or at an invert.

    `shallowest_cover_m` is how far it may be raised if that settles it.
    """

    by: Literal["cover", "depth", "invert"]
    value_m: float
    shallowest_cover_m: float | None = None

    def invert_m(self, ground_m: float, section: Section) -> float:
        """The stated start's invert over ground at `ground_m`."""
        if self.by == "cover":
            return float(section.invert_at_cover(ground_m, self.value_m))
        if self.by == "depth":
            return float(section.invert_at_depth(ground_m, self.value_m))
        return self.value_m

    def highest_m(self, ground_m: float, section: Section) -> float:
        """The highest invert the start may be raised to."""
        stated_m = self.invert_m(ground_m, section)
        if self.shallowest_cover_m is None:
            return stated_m
        return max(stated_m, float(section.invert_at_cover(ground_m, self.shallowest_cover_m)))


@dataclass(frozen=True)
class Outlet:
    """How the pipe ends: `by` depth to the trench bottom there, or by invert; inf leaves it open.

    `prefer_m` is the depth or invert aimed at when the grade is chosen for the outlet.
    """

    kind: OutletKind
    by: Literal["depth", "invert"] = "depth"
    least_m: float = -np.inf
    most_m: float = np.inf
    prefer_m: float | None = None

    def invert_range_m(self, ground_m: float, section: Section) -> tuple[float, float]:
        """Lowest and highest invert at the outlet over ground at `ground_m`."""
        if self.by == "invert":
            return self.least_m, self.most_m
        return (
            float(section.invert_at_depth(ground_m, self.most_m)),
            float(section.invert_at_depth(ground_m, self.least_m)),
        )

    def preferred_m(self, ground_m: float, section: Section) -> float | None:
        """The invert aimed at: the one stated, else the middle of a closed range."""
        if self.prefer_m is not None:
            if self.by == "invert":
                return self.prefer_m
            return float(section.invert_at_depth(ground_m, self.prefer_m))
        lowest, highest = self.invert_range_m(ground_m, section)
        return (lowest + highest) / 2 if np.isfinite(lowest + highest) else None


@dataclass(frozen=True)
class CoverStretch:
    """A stretch of the line that something bears on: a walk, a drive, a bed that is dug.

    `wheels`: cars pass over it.
    """

    from_m: float
    to_m: float
    cover_m: float
    what: str
    wheels: bool = False


@dataclass(frozen=True)
class Limits:
    """Least cover, greatest depth (None: no limit) and where the cover limit ends.

    On the last `outlet_taper_m`, the run-out, the least cover no longer holds. There
    `run_out_cover_m` is kept up to the last `open_end_m` (None: not at all); on what is left
    `end_cover_m` is (None: the trench bottom may rise to the surface, not above it). On the first
    `run_in_m` the cover may be as little as `run_in_cover_m`. `covers` hold wherever they lie.
    """

    min_cover_m: float
    max_depth_m: float | None
    outlet_taper_m: float
    bedding_m: float = 0.0
    trench_width_m: float = 0.0
    run_out_cover_m: float | None = None
    open_end_m: float = 0.0
    run_in_m: float = 0.0
    run_in_cover_m: float = 0.0
    covers: tuple[CoverStretch, ...] = ()
    end_cover_m: float | None = None

    def edges_m(self, length_m: float) -> tuple[float, ...]:
        """Stations at which a cover limit begins or ends on a line of `length_m`."""
        run_out_m = max(0.0, length_m - self.outlet_taper_m)
        edges = [run_out_m]
        if self.run_out_cover_m is not None:
            edges.append(max(run_out_m, length_m - self.open_end_m))
        if self.run_in_m:
            edges.append(min(self.run_in_m, length_m))
        for stretch in self.covers:
            edges += [min(max(x, 0.0), length_m) for x in (stretch.from_m, stretch.to_m)]
        return tuple(edges)


@dataclass(frozen=True)
class Crossing:
    """Something the pipe must pass: its top `top_depth_m` below the ground, `size_m` high.

    The pipe's outside keeps `clearance_m` from it, as separations are stated.
    """

    at_m: float
    what: str
    top_depth_m: float
    size_m: float
    clearance_m: float
    passing: Literal["over", "under", "either"] = "either"

    def lowest_over_m(self, ground_m: float, section: Section) -> float:
        """Lowest invert that passes over it; the trench does not cut into it."""
        apart_m = max(self.clearance_m, section.bedding_m)
        return ground_m - self.top_depth_m + apart_m + section.wall_m

    def highest_under_m(self, ground_m: float, section: Section) -> float:
        """Highest invert that passes under it."""
        lowest_part_m = ground_m - self.top_depth_m - self.size_m
        return lowest_part_m - self.clearance_m - section.above_invert_m


@dataclass(frozen=True)
class Join:
    """A branch that comes in: the invert here may be no higher than `highest_m`.

    `last_m` is the same with the branch's usual values at their last, where that is higher.
    """

    at_m: float
    branch: str
    highest_m: float
    last_m: float = -np.inf


@dataclass(frozen=True, eq=False)
class Alignment:
    """The route's points with their ground, where the limits are held, (n,) each.

    `is_station` marks those a crew sees; only there may the grade change.
    """

    at_m: Floats
    ground_m: Floats
    is_station: NDArray[np.bool_]


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
    length_m = float(at_m[-1])
    run_out_at_m = length_m - limits.outlet_taper_m
    thin_m, thin_to_m = limits.run_out_cover_m, length_m - limits.open_end_m
    hi, lo, hi_level, lo_level, covered = limits_of_ground(
        at_m,
        ground_m,
        run_out_at_m + SAME_STATION_M,
        limits.min_cover_m,
        -np.inf if thin_m is None else max(thin_to_m, run_out_at_m) + SAME_STATION_M,
        0.0 if thin_m is None else min(thin_m, limits.min_cover_m),
        limits.run_in_m - SAME_STATION_M,
        min(limits.run_in_cover_m, limits.min_cover_m),
        np.inf if limits.max_depth_m is None else limits.max_depth_m,
        section.above_invert_m,
        section.below_invert_m,
        highest_at_the_end_m(section, limits),
    )
    hi_why = [LEAST_COVER] * covered + ["ground surface"] * (n - covered)
    lo_why = ["greatest depth"] * n
    for stretch in limits.covers:
        _cover_stretch(stretch, at_m, ground_m - section.above_invert_m, hi, hi_why)

    def tighten(i: int, lowest_m: float, highest_m: float, why: str, *, level: bool) -> None:
        if highest_m <= min(hi[i], hi_level[i]):
            hi_why[i] = why
        if lowest_m >= max(lo[i], lo_level[i]):
            lo_why[i] = why
        upper, lower = (hi_level, lo_level) if level else (hi, lo)
        upper[i], lower[i] = min(upper[i], highest_m), max(lower[i], lowest_m)

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
    first_m = float(ground_m[0])
    stated_m, highest_m = start.invert_m(first_m, section), start.highest_m(first_m, section)
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
        np.flatnonzero(points.is_station[1:-1]) + 1,
    )


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
