"""What is asked of the pipe: section, start, outlet, limits, grades, and what lies in its way.

g ground, z invert (lowest inside point), t wall, D outside diameter, b bedding:

    trench bottom = z − t − b      top of pipe = z − t + D
    dig depth = g − (z − t − b)    cover = g + f − (z − t + D)

with f the soil laid on the ground there (`core.fill`): what is dug counts from the ground as it
lies, what lies over the pipe to the finished ground.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from yardfall.core.arrays import Floats
from yardfall.core.fill import Fill, fill_at
from yardfall.core.pipes import Pipe
from yardfall.core.usual import Open

Shape = Literal["straight", "least_dig"]


@dataclass(frozen=True)
class Grading:
    """How the grade is chosen. Grades are ratios; `fall_step_m` rounds the whole fall up."""

    min_grade: float
    max_grade: float = np.inf
    shape: Shape = "straight"
    max_breaks: int = 2
    fall_step_m: float | None = None
    aim: Literal["least_fall", "outlet_depth"] = "least_fall"


@dataclass(frozen=True)
class Design:
    """What is to be planned on a known ground.

    `open` names the limits that nobody stated: their values here only hold a place until
    `core.easing` has seen the ground. None: every limit stands as it is.
    """

    pipe: Pipe
    start: Start
    grading: Grading
    limits: Limits
    outlet: Outlet
    crossings: tuple[Crossing, ...] = ()
    joins: tuple[Join, ...] = ()
    open: Open | None = None

    @property
    def straight(self) -> bool:
        """Whether it is held to one straight grade."""
        return self.grading.shape == "straight"

    @property
    def one_change(self) -> bool:
        """Whether it may change grade once at the most, so that its margin is told exactly."""
        return not self.straight and self.grading.max_breaks <= 1

    @cached_property
    def section(self) -> Section:
        """The pipe's section in the trench."""
        return Section(self.pipe.outside_m, self.pipe.wall_m, self.limits.bedding_m)

    @property
    def start_fill_m(self) -> float:
        """Soil laid on the ground at the start."""
        return float(self.limits.fill_m(np.zeros(1))[0])

    def start_invert_m(self, ground_m: float) -> float:
        """The stated start's invert over ground at `ground_m`, with the soil laid on it."""
        return self.start.invert_m(ground_m, self.section, self.start_fill_m)

    def start_highest_m(self, ground_m: float) -> float:
        """The highest invert the start may be raised to, with the soil laid on it."""
        return self.start.highest_m(ground_m, self.section, self.start_fill_m)

    def cover_m(self, at_m: Floats, ground_m: Floats, invert_m: Floats) -> Floats:
        """Soil over the pipe at stations (n,), counted to the finished ground."""
        top_m = invert_m + self.section.above_invert_m
        return ground_m + self.limits.fill_m(at_m) - top_m


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

    def invert_m(self, ground_m: float, section: Section, fill_m: float = 0.0) -> float:
        """The stated start's invert over ground at `ground_m` with `fill_m` of soil laid on it."""
        if self.by == "cover":
            return float(section.invert_at_cover(ground_m + fill_m, self.value_m))
        if self.by == "depth":
            return float(section.invert_at_depth(ground_m, self.value_m))
        return self.value_m

    def highest_m(self, ground_m: float, section: Section, fill_m: float = 0.0) -> float:
        """The highest invert the start may be raised to."""
        stated_m = self.invert_m(ground_m, section, fill_m)
        if self.shallowest_cover_m is None:
            return stated_m
        finished_m = ground_m + fill_m
        return max(stated_m, float(section.invert_at_cover(finished_m, self.shallowest_cover_m)))


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
    `fills` are soil to be laid: every cover counts to the finished ground.
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
    fills: tuple[Fill, ...] = ()

    def fill_m(self, at_m: Floats) -> Floats:
        """How deep soil is laid at stations (n,)."""
        return fill_at(self.fills, at_m)

    def edges_m(self, length_m: float) -> tuple[float, ...]:
        """Stations at which a cover limit begins, ends or turns on a line of `length_m`."""
        run_out_m = max(0.0, length_m - self.outlet_taper_m)
        edges = [run_out_m]
        if self.run_out_cover_m is not None:
            edges.append(max(run_out_m, length_m - self.open_end_m))
        if self.run_in_m:
            edges.append(min(self.run_in_m, length_m))
        for stretch in self.covers:
            edges += [min(max(x, 0.0), length_m) for x in (stretch.from_m, stretch.to_m)]
        for fill in self.fills:
            edges += [min(max(x, 0.0), length_m) for x in fill.corners_m]
        return tuple(edges)


@dataclass(frozen=True)
class Crossing:
    """Something the pipe must pass: its top `top_depth_m` below the ground, `size_m` high.

    The pipe's outside keeps `clearance_m` from it, as separations are stated. `exposed`: it was dug
    up by hand and its depth measured there, so that it is no longer as its marks or papers say.
    """

    at_m: float
    what: str
    top_depth_m: float
    size_m: float
    clearance_m: float
    passing: Literal["over", "under", "either"] = "either"
    exposed: bool = False

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

    @cached_property
    def changes_at(self) -> NDArray[np.int64]:
        """The points (k,) where the grade may change."""
        return np.flatnonzero(self.is_station[1:-1]) + 1
