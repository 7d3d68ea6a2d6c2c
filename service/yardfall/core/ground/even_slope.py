"""Ground known by its length and its drop alone, and a pipe known by its own two ends.

Between two ends the ground is taken as an even slope: g(x) = −drop·x/L, with a hump as a corner
of known height above that slope. Where the drop is the pipe's own, the ground is not known at
all: the profile then stands for the line from one invert to the other, `known` is false, and no
depth, cover or volume may be told from it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.core.errors import InputError
from yardfall.core.ground.profile import ASSUMED_DATUM, GroundProfile
from yardfall.core.ground.route import SAME_STATION_M

DropOf = Literal["ground", "pipe"]


@dataclass(frozen=True)
class Hump:
    """A place `height_m` above the even slope; negative: a dip."""

    at_m: float
    height_m: float


@dataclass(frozen=True)
class ToMeasure:
    """A place to measure the ground at, and the highest rise and deepest dip that leave a yes.

    None: none spoils it, or there is no yes to spoil (`fits` false).
    """

    at_m: float
    fits: bool
    rise_m: float | None = None
    dip_m: float | None = None
    first: bool = False


def even_slope(length_m: float, drop_m: float, hump: Hump | None = None) -> GroundProfile:
    """Ground that falls `drop_m` over the route, straight to a hump and from it.

    Raises InputError for a hump that does not lie between the two ends.
    """
    ends = GroundProfile(
        np.array([0.0, length_m]), np.array([0.0, -drop_m]), "given", ASSUMED_DATUM
    )
    if hump is None:
        return ends
    if not SAME_STATION_M < hump.at_m < length_m - SAME_STATION_M:
        raise InputError.at(
            "/hump/at", "The hump must stand between the start and the end of the run."
        )
    return raised(ends, (hump.at_m,), (hump.height_m,))


def raised(
    ground: GroundProfile, at_m: tuple[float, ...], by_m: tuple[float, ...]
) -> GroundProfile:
    """The ground with further points, each so much above where it was taken to lie."""
    stations = np.concatenate([ground.at_m, at_m])
    levels_m = np.concatenate([ground.elevation_m, ground.elevation(np.array(at_m)) + by_m])
    _, first = np.unique(np.round(stations[::-1] / SAME_STATION_M), return_index=True)
    order = len(stations) - 1 - first  # of two at one station, the one added
    return replace(ground, at_m=stations[order], elevation_m=levels_m[order])


def pipe_line(length_m: float, drop_m: float, start_m: float) -> GroundProfile:
    """The straight line between a pipe's inverts at its two ends, in place of unknown ground."""
    return GroundProfile(
        np.array([0.0, length_m]),
        np.array([start_m, start_m - drop_m]),
        "given",
        "levels as the pipe's start is given",
        known=False,
    )


def spread_of_ends(ground: GroundProfile) -> Floats:
    """How far each of k values moves each of the n points, (n, k): the ends, and a hump between.

    A hump's height is measured from the even slope, so it moves with both ends.
    """
    share = (ground.at_m - ground.at_m[0]) / (ground.at_m[-1] - ground.at_m[0])
    spread = np.eye(len(ground.at_m))
    spread[1:-1, 0], spread[1:-1, -1] = 1 - share[1:-1], share[1:-1]
    return spread
