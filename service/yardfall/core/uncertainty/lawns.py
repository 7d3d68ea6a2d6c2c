"""What a lawn may be like between the places where it was read: how rough, and on what land.

The ground is level and slopes, free, and a self-affine roughness of covariance

    ½ A (|x|^1.4 + |x′|^1.4 − |x − x′|^1.4)        A = m² / (5^1.4 − 10^1.4 / 4)

with distances from the first place; m is the standard deviation of the middle of a 10 m gap about
its chord.

Source. Exponents of 0.7 to 0.9 of the deviation, and m of 10 to 14 mm on practice turf, 25 to
32 mm on lawns and 42 to 47 mm in a meadow, are our own measurements on an open lidar survey of
Eugene, Oregon (2010); what they are rounded to is a judgement.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np

from yardfall.core.arrays import Floats

EXPONENT: Final = 1.4
LEVEL_M: Final = 1.0
SLOPE: Final = 0.1
"""How far level and slopes may lie from those fitted to what was read: as good as free."""
LAND_REACH_M: Final = 8.0


@dataclass(frozen=True)
class Lawn:
    """How even the ground is: the standard deviation of the middle of a 10 m gap; its prior share.

    `land_m`: that of the lie of the land, smooth over LAND_REACH_M, which is no roughness (normal,
    its covariance falling as exp(−d² / 2 LAND_REACH_M²)).
    """

    name: str
    middle_m: float
    share: float = 1.0
    land_m: float = 0.0


ROUGHNESS_SOURCE: Final = (
    "our own measurements on an open lidar survey, rounded: turf 10 to 14 mm, lawns 25 to 32 mm, "
    "meadow 42 to 47 mm"
)
STRAIGHT: Final = "straight"
"""The name of ground that runs straight between readings: no lawn at all."""
LAWNS: Final[dict[str, Lawn]] = {
    lawn.name: lawn
    for lawn in (
        Lawn("graded", 0.012, 0.25),
        Lawn("ordinary", 0.028, 0.5),
        Lawn("rough", 0.045, 0.25),
    )
}


BROKEN: Final = Lawn("broken", 0.15, 0.009)
"""Ground with banks, kerbs and humps, whatever lawn is told: drawn where what was read shows it,
and left out by LEAST_SHARE where it does not. Its share is of all others together."""


LAND_M: Final = 0.3
LAND_SHARE: Final = 0.3
"""A yard has a lie of its own, of such a deviation, as likely as that (a judgement, no source)."""


@lru_cache(maxsize=16)
def kinds_of_ground(lawns: tuple[Lawn, ...]) -> tuple[Lawn, ...]:
    """The lawns on even land and on land with a lie of its own, and broken ground."""
    even = (replace(lawn, share=(1 - LAND_SHARE) * lawn.share) for lawn in lawns)
    lying = (replace(lawn, share=LAND_SHARE * lawn.share, land_m=LAND_M) for lawn in lawns)
    return (*even, *lying, BROKEN)


def per_distance_m2(middle_m: float) -> float:
    """A: the roughness differs by a variance of A d^1.4 over a distance d."""
    return float(middle_m**2 / (5**EXPONENT - 10**EXPONENT / 4))


def rough_covariance(one_m: Floats, other_m: Floats, middle_m: float) -> Floats:
    """Covariance (n, k) of the roughness at places (n, 2) and (k, 2), from the origin."""
    scale = per_distance_m2(middle_m)
    # |x|^1.4 = (x²)^0.7
    half = EXPONENT / 2
    squares = ((one_m[:, None, :] - other_m[None, :, :]) ** 2).sum(axis=2)
    own = (one_m**2).sum(axis=1) ** half
    others = (other_m**2).sum(axis=1) ** half
    found: Floats = 0.5 * scale * (own[:, None] + others[None, :] - squares**half)
    return found


def covariance(one: Floats, other: Floats, lawn: Lawn) -> Floats:
    """Of the ground at places, its level and slopes as good as free."""
    found: Floats = rough_covariance(one, other, lawn.middle_m)
    found += LEVEL_M**2 + SLOPE**2 * (one @ other.T)
    if lawn.land_m:
        found += land_covariance(one, other, lawn)
    return found


def land_covariance(one: Floats, other: Floats, lawn: Lawn) -> Floats:
    squares = ((one[:, None, :] - other[None, :, :]) ** 2).sum(axis=2)
    found: Floats = lawn.land_m**2 * np.exp(squares / (-2 * LAND_REACH_M**2))
    return found
