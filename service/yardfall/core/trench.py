"""The pipe in the ground, and the limits a trench must keep.

g ground, z invert (lowest inside point), t wall, D outside diameter, b bedding:

    trench bottom = z − t − b      top of pipe = z − t + D
    dig depth = g − (z − t − b)    cover = g − (z − t + D)
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from yardfall.core.band import Band
from yardfall.core.pipes import Pipe
from yardfall.core.route import SAME_STATION_M, Floats
from yardfall.core.units import FOOT_M, INCH_M

OutletKind = Literal["daylight", "pop_up", "curb", "dry_well", "tie_in"]
SURFACE_OUTLETS: Final = ("daylight", "pop_up", "curb")


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
class Limits:
    """Least cover, greatest depth (None: no limit) and where the cover limit ends.

    On the last `outlet_taper_m` the least cover no longer holds; there the trench bottom may
    rise to the surface, not above it.
    """

    min_cover_m: float
    max_depth_m: float | None
    outlet_taper_m: float
    bedding_m: float = 0.0


def default_outlet(kind: OutletKind, outside_m: float) -> Outlet | None:
    """Usual depths of an outlet kind (common practice, no source); None where it must be told.

    A pop-up's lid stands 7 to 10 in above the bottom of a 4 in pipe, so much more above a larger
    one; a daylight end lies with its top no lower than the ground; a dry well sets no limit.
    """
    if kind == "daylight":
        return Outlet(kind, "depth", 0.0, outside_m)
    if kind == "pop_up":
        larger_m = max(0.0, outside_m - 4.6 * INCH_M)
        return Outlet(kind, "depth", 7 * INCH_M + larger_m, 10 * INCH_M + larger_m)
    return Outlet(kind) if kind == "dry_well" else None


DEFAULT_MIN_COVER_M: Final = 6 * INCH_M
"""Least cover under lawn (common practice, no source)."""
DEFAULT_TAPER_M: Final = 10 * FOOT_M
"""Length before a surface outlet on which the cover may run out (common practice, no source)."""


def make_band(
    at_m: Floats,
    ground_m: Floats,
    section: Section,
    start: Start,
    limits: Limits,
    outlet: Outlet,
    least_grade: float,
    greatest_grade: float,
) -> Band:
    """Every limit as a bound on the invert at stations (n,); the tightest one names each side.

    The start stands for its own range: from the stated invert up to the highest it may take.
    """
    end_m = float(at_m[-1])
    covered = at_m <= end_m - limits.outlet_taper_m + SAME_STATION_M
    hi = np.where(
        covered,
        section.invert_at_cover(ground_m, limits.min_cover_m),
        section.invert_at_depth(ground_m, 0.0),
    )
    hi_why = ["least cover" if c else "ground surface" for c in covered]
    lo = np.full(len(at_m), -np.inf)
    if limits.max_depth_m is not None:
        lo = np.asarray(section.invert_at_depth(ground_m, limits.max_depth_m))
    lo_why = ["greatest depth"] * len(at_m)

    def tighten(i: int, lowest_m: float, highest_m: float, why: str) -> None:
        if highest_m <= hi[i]:
            hi[i], hi_why[i] = highest_m, why
        if lowest_m >= lo[i]:
            lo[i], lo_why[i] = lowest_m, why

    tighten(-1, *outlet.invert_range_m(float(ground_m[-1]), section), f"outlet {outlet.by}")
    tighten(
        0,
        start.invert_m(float(ground_m[0]), section),
        start.highest_m(float(ground_m[0]), section),
        f"start {start.by}",
    )
    return Band(at_m, hi, lo, tuple(hi_why), tuple(lo_why), least_grade, greatest_grade)


def section_of(pipe: Pipe, limits: Limits) -> Section:
    """The pipe's section on its bedding."""
    return Section(pipe.outside_m, pipe.wall_m, limits.bedding_m)
