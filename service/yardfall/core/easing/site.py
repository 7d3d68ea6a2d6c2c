"""The ground about the ends of a line, as far as usual values ask for it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.core.ground.profile import GroundProfile

SAME_M: Final = 1e-9


@dataclass(frozen=True, eq=False)
class Site:
    """What easing asks of the ground: its level at the start, and how it falls beyond the end.

    `fall_m` (k,) is the most that the ground has fallen within `beyond_m` (k,) of the end, both
    from 0 on. Between them it falls evenly, or, for `sampled` ground, not before the next.
    `measured_m` is as far as it was measured.
    """

    start_ground_m: float
    beyond_m: Floats
    fall_m: Floats
    measured_m: float
    sampled: bool = False

    def fall_within(self, distance_m: float) -> float:
        """The most that the ground falls within a distance past the end."""
        if not self.sampled:
            return float(np.interp(distance_m, self.beyond_m, self.fall_m))
        near = int(np.searchsorted(self.beyond_m, distance_m + SAME_M))
        return float(self.fall_m[near - 1])

    def ditch_m(self, depth_m: float) -> float:
        """Length of the level ditch that leads out from this depth; inf where none does."""
        if depth_m > self.fall_m[-1] + SAME_M:
            return math.inf
        k = int(np.argmax(self.fall_m >= depth_m - SAME_M))
        if k == 0 or self.sampled:
            return float(self.beyond_m[k])
        one_m, two_m = self.fall_m[k - 1], self.fall_m[k]
        share = min(1.0, (depth_m - one_m) / (two_m - one_m))
        return float(self.beyond_m[k - 1] + share * (self.beyond_m[k] - self.beyond_m[k - 1]))


FAR_M: Final = 60.0
"""How far past the end the last stretch's slope is carried on."""


def level_site(start_ground_m: float) -> Site:
    """A site where nothing is known of the ground beyond an end."""
    return Site(start_ground_m, np.array([0.0, FAR_M]), np.zeros(2), 0.0)


def site_of(ground: GroundProfile, length_m: float, chord_m: float) -> Site:
    """What easing asks of the ground under a line of `length_m`.

    A raster tells how the ground falls around the end. Else it is that of the route past the end,
    and past what is known it goes on at the slope of the last stretch: from the last point at
    least `chord_m` before the end of what is known.
    """
    around = ground.around
    if around is not None and abs(around.end_m - length_m) <= SAME_M:
        reach_m = float(around.distance_m[-1])
        start_m = ground.elevation_at(0.0)
        return Site(start_m, around.distance_m, around.fall_m, reach_m, sampled=True)
    end_m = ground.elevation_at(length_m)
    known_m = max(length_m, float(ground.at_m[-1]))
    last_m = ground.elevation_at(known_m)
    back = ground.at_m[ground.at_m <= known_m - chord_m + SAME_M]
    back_m = float(back[-1]) if len(back) else float(ground.at_m[0])
    slope = 0.0
    if known_m > back_m:
        slope = (ground.elevation_at(back_m) - last_m) / (known_m - back_m)
    later = ground.at_m[(ground.at_m > length_m + SAME_M) & (ground.at_m < known_m)]
    at_m = np.unique(np.concatenate([[length_m], later, [known_m]]))
    fall_m = np.append(end_m - ground.elevation(at_m), end_m - last_m + slope * FAR_M)
    return Site(
        ground.elevation_at(0.0),
        np.append(at_m - length_m, known_m - length_m + FAR_M),
        np.maximum.accumulate(np.maximum(fall_m, 0.0)),
        known_m - length_m,
    )
