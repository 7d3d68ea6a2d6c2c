"""Soil laid on the ground over a stretch of the line: its shape, and the finished ground it makes.

The ground as it lies stays what was read. The trench is dug from that ground; the soil is laid when
the trench is closed, and counts as soil over the pipe.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.core.units import FOOT_M, UnitName

STRIP_M: Final[dict[UnitName, float]] = {"us": 6 * FOOT_M, "si": 2.0}
"""Width of the strip along the pipe on which soil is laid (common practice, no source)."""
THINS_M: Final[dict[UnitName, float]] = {"us": 3 * FOOT_M, "si": 1.0}
"""Length on which soil thins out at an end unless told otherwise (common practice, no source)."""


@dataclass(frozen=True)
class Fill:
    """Soil from one station to another: `depth_m` deep between `full_from_m` and `full_to_m`,
    thinning out straight to both ends. Stations grow from `from_m` to `to_m`; soil that is full
    right at an end stops there.
    """

    from_m: float
    full_from_m: float
    full_to_m: float
    to_m: float
    depth_m: float
    width_m: float

    @property
    def corners_m(self) -> tuple[float, float, float, float]:
        """The stations where its surface turns."""
        return self.from_m, self.full_from_m, self.full_to_m, self.to_m

    @property
    def volume_m3(self) -> float:
        """Its volume in place: the area of its side times its width."""
        whole_m, full_m = self.to_m - self.from_m, self.full_to_m - self.full_from_m
        return (whole_m + full_m) / 2 * self.depth_m * self.width_m

    def depth_at(self, at_m: Floats) -> Floats:
        """How deep it lies at stations (n,)."""
        before_m, after_m = self.full_from_m - self.from_m, self.to_m - self.full_to_m
        share = np.ones(len(at_m))
        if before_m > 0:
            share = np.minimum(share, (at_m - self.from_m) / before_m)
        if after_m > 0:
            share = np.minimum(share, (self.to_m - at_m) / after_m)
        on_it = (at_m >= self.from_m) & (at_m <= self.to_m)
        return np.where(on_it, np.maximum(share, 0.0), 0.0) * self.depth_m


def fill_at(fills: Sequence[Fill], at_m: Floats) -> Floats:
    """How deep the soil of all of them together lies at stations (n,)."""
    return sum((fill.depth_at(at_m) for fill in fills), np.zeros(len(at_m)))
