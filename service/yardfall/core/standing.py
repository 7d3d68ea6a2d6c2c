"""Water that stands in a pipe laid along a line of inverts that is not everywhere downhill.

The only way out is downstream, so that at a point of level z the water stands up to the highest
invert further down: depth = max(0, highest invert downstream − z). Between points the invert is a
straight line.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from yardfall.core.flow import wetted_area
from yardfall.core.route import Floats

READING_SLACK_M: Final = 1e-6
"""A micron: answers are given to a millionth of a unit, and nobody reads a tape so fine."""


@dataclass(frozen=True)
class Pond:
    """Standing water from `from_m` to `to_m`, held by the sill at `sill_at_m`."""

    from_m: float
    to_m: float
    depth_m: float
    deepest_at_m: float
    sill_at_m: float

    @property
    def length_m(self) -> float:
        """How far along the pipe the water stands."""
        return self.to_m - self.from_m


def standing_water(at_m: Floats, invert_m: Floats) -> tuple[Pond, ...]:
    """Every pond in a pipe with inverts (n,) at increasing stations (n,), from upstream on."""
    sill_m = np.maximum.accumulate(invert_m[::-1])[::-1]
    ponds: list[Pond] = []
    i, last = 0, len(at_m) - 1
    while i < last:
        level_m = float(sill_m[i + 1])
        if level_m - min(invert_m[i], invert_m[i + 1]) <= READING_SLACK_M:
            i += 1
            continue
        begins_m = float(at_m[i])
        if invert_m[i] > level_m:  # the water's edge lies on a stretch that still falls
            share = (invert_m[i] - level_m) / (invert_m[i] - invert_m[i + 1])
            begins_m += float(share * (at_m[i + 1] - at_m[i]))
        sill = i + 1 + int(np.flatnonzero(invert_m[i + 1 :] >= level_m)[0])
        deepest = i + int(np.argmin(invert_m[i:sill]))
        ponds.append(
            Pond(
                begins_m,
                float(at_m[sill]),
                level_m - float(invert_m[deepest]),
                float(at_m[deepest]),
                float(at_m[sill]),
            )
        )
        i = sill
    return tuple(ponds)


def depth_at_points(invert_m: Floats) -> Floats:
    """Depth of the standing water at each point (n,)."""
    depth_m = np.maximum.accumulate(invert_m[::-1])[::-1] - invert_m
    return np.where(depth_m > READING_SLACK_M, depth_m, 0.0)


@dataclass(frozen=True)
class LeftWet:
    """Water that stays in a pipe below a level: over what length, how deep, and how much."""

    length_m: float
    depth_m: float
    volume_m3: float


def left_wet(at_m: Floats, invert_m: Floats, level_m: float, inside_m: float) -> LeftWet:
    """What a pipe of inverts (n,) that falls to a closed end keeps below the level at that end.

    Such a level is a pop-up's lid. The wet area of the round bore (`flow.wetted_area`) summed along
    the pipe, straight between the points: the depth there is what the invert lies below the level,
    the bore full where that is more than `inside_m`. Still water; plane geometry.

    >>> wet = left_wet(np.array([0.0, 30.0]), np.array([0.4, 0.1]), 0.3, 0.1)
    >>> round(wet.length_m, 3), round(wet.depth_m, 3), round(wet.volume_m3, 4)
    (20.0, 0.2, 0.1178)
    """
    below_m = level_m - invert_m
    step_m, rise_m = np.diff(at_m), np.diff(below_m)
    level = np.abs(rise_m) <= READING_SLACK_M
    per_m = np.where(level, 0.0, step_m / np.where(level, 1.0, rise_m))
    middle_m = (below_m[1:] + below_m[:-1]) / 2
    wet_m = np.where(middle_m > READING_SLACK_M, step_m, 0.0)
    length_m = np.where(level, wet_m, per_m * np.diff(np.maximum(below_m, 0.0)))
    in_level = step_m * wetted_area(np.clip(middle_m, 0.0, inside_m), inside_m)
    volume_m3 = np.where(level, in_level, per_m * np.diff(_area_below(below_m, inside_m)))
    return LeftWet(float(length_m.sum()), max(0.0, float(below_m.max())), float(volume_m3.sum()))


def _area_below(depth_m: Floats, inside_m: float) -> Floats:
    """∫ of the wet area from no depth to depths (n,), in m³.

    With R = D/2 and u = 1 − y/R it is R³ (√(1 − u²) − u·acos u − √(1 − u²)³ / 3); above the bore
    the area is the full one.
    """
    radius_m = inside_m / 2
    u = 1 - np.clip(depth_m, 0.0, inside_m) / radius_m
    half_chord = np.sqrt(np.maximum(1 - u**2, 0.0))
    within: Floats = radius_m**3 * (half_chord - u * np.arccos(u) - half_chord**3 / 3)
    return within + np.pi * radius_m**2 * np.maximum(depth_m - inside_m, 0.0)
