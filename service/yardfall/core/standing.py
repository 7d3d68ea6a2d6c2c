"""Water that stands in a pipe laid along a line of inverts that is not everywhere downhill.

The only way out is downstream, so that at a point of level z the water stands up to the highest
invert further down: depth = max(0, highest invert downstream − z). Between points the invert is a
straight line.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

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
