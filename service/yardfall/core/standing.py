"""Water that stands in a pipe laid along a line of inverts that is not everywhere downhill.

The only way out is downstream, so that at a point of level z the water stands up to the highest
invert further down: depth = max(0, highest invert downstream − z). Between points the invert is a
straight line.
"""

from __future__ import annotations

import itertools
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
    length_m = volume_m3 = 0.0
    nodes, weights = np.polynomial.legendre.leggauss(24)
    for i in range(len(at_m) - 1):
        step_m, one, two = float(at_m[i + 1] - at_m[i]), float(below_m[i]), float(below_m[i + 1])
        met = [share for share in _met(one, two, inside_m) if 0 < share < 1]
        for first, last in itertools.pairwise(sorted({0.0, 1.0, *met})):
            middle_m = one + (first + last) / 2 * (two - one)
            if middle_m <= READING_SLACK_M:
                continue
            shares = first + (nodes + 1) / 2 * (last - first)
            depth_m = np.clip(one + shares * (two - one), 0.0, inside_m)
            part_m = step_m * (last - first)
            length_m += part_m
            volume_m3 += part_m * float(weights @ wetted_area(depth_m, inside_m)) / 2
    return LeftWet(length_m, max(0.0, float(below_m.max())), volume_m3)


def _met(one_m: float, two_m: float, inside_m: float) -> tuple[float, ...]:
    """Where between two points the water meets the bottom of the bore, and its top."""
    if one_m == two_m:
        return ()
    return tuple((level_m - one_m) / (two_m - one_m) for level_m in (0.0, inside_m))
