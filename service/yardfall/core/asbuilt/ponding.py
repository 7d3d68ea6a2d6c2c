"""Water that stands in a pipe laid along a line of inverts that is not everywhere downhill.

The only way out is downstream, so that at a point of level z the water stands up to the highest
invert further down: depth = max(0, highest invert downstream − z). Between points the invert is a
straight line.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numba import njit

from yardfall.core.arrays import Floats

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

    Such a level is a pop-up's lid. The wet area of the round bore (`manning.wetted_area`) summed
    along the pipe, straight between the points: the depth there is what the invert lies below the
    level, the bore full where that is more than `inside_m`. Still water; plane geometry.

    >>> wet = left_wet(np.array([0.0, 30.0]), np.array([0.4, 0.1]), 0.3, 0.1)
    >>> round(wet.length_m, 3), round(wet.depth_m, 3), round(wet.volume_m3, 4)
    (20.0, 0.2, 0.1178)
    """
    length_m, volume_m3 = _wet(at_m, level_m - invert_m, inside_m)
    return LeftWet(length_m, max(0.0, level_m - float(invert_m.min())), volume_m3)


@njit(cache=True, nogil=True)
def _wet(at, below, inside):  # type: ignore[no-untyped-def]
    """Length under water and volume of it, where the invert lies `below` (n,) the level."""
    length, volume = 0.0, 0.0
    for i in range(len(at) - 1):
        step, one, two = at[i + 1] - at[i], below[i], below[i + 1]
        if max(one, two) <= READING_SLACK_M:
            continue
        if abs(two - one) <= READING_SLACK_M:
            middle, near = (one + two) / 2, READING_SLACK_M
            length += step
            rise = _area_below(middle + near, inside) - _area_below(middle - near, inside)
            volume += step * rise / (2 * near)
        else:
            length += step * (max(two, 0.0) - max(one, 0.0)) / (two - one)
            rise = _area_below(two, inside) - _area_below(one, inside)
            volume += step * rise / (two - one)
    return length, volume


@njit(cache=True, nogil=True)
def _area_below(depth, inside):  # type: ignore[no-untyped-def]
    """∫ of the wet area from no depth to this one, in m³.

    With R = D/2 and u = 1 − y/R it is R³ (√(1 − u²) − u·acos u − √(1 − u²)³ / 3); above the bore
    the area is the full one.
    """
    radius = inside / 2
    u = 1 - min(max(depth, 0.0), inside) / radius
    half_chord = np.sqrt(max(1 - u**2, 0.0))
    within = radius**3 * (half_chord - u * np.arccos(u) - half_chord**3 / 3)
    return within + np.pi * radius**2 * max(depth - inside, 0.0)


def warm() -> None:
    """Compile the loop above, or load what was compiled before, so that no caller waits."""
    _wet(np.array([0.0, 1.0]), np.array([0.0, 1.0]), 0.1)
