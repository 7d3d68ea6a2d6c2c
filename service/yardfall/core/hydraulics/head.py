"""Head at the house: water must leave at the outlet's lid before it rises out at the house.

The lid lies below the lowest opening at the house by the friction of the full pipe at design
flow and a margin, or water comes out at the house. Where the pipe's own water at the opening stands
higher than that, it is what counts.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from yardfall.core.hydraulics.manning import friction_head
from yardfall.core.pipes import Pipe
from yardfall.core.units import INCH_M

SAME_LEVEL_M: Final = 1e-6
MARGIN_M: Final = 3 * INCH_M
"""Usual margin, 2 to 3 in (common practice, no source)."""


@dataclass(frozen=True)
class Opening:
    """A place where water could come out, at a level and a station of its line."""

    what: str
    level_m: float
    at_m: float = 0.0


@dataclass(frozen=True)
class Head:
    """Levels from the opening with least to spare down to the water at the outlet, in metres."""

    opening: Opening
    outlet_level_m: float
    friction_m: float
    margin_m: float
    own_m: float = -math.inf

    @property
    def water_m(self) -> float:
        """The water at the opening: backed up from the outlet, or the pipe's own (`own_m`)."""
        return max(self.outlet_level_m + self.friction_m, self.own_m)

    @property
    def backs_up(self) -> bool:
        """Whether what backs up from the outlet is what counts."""
        return self.own_m <= self.outlet_level_m + self.friction_m + SAME_LEVEL_M

    @property
    def spare_m(self) -> float:
        """What is left between them; negative: water comes out at the house."""
        return self.opening.level_m - self.water_m - self.margin_m


def find_head(
    openings: tuple[Opening, ...],
    outlet_level_m: float,
    flow_m3s: float,
    pipe: Pipe,
    length_m: float,
    margin_m: float = MARGIN_M,
    own_m: Sequence[float] | None = None,
) -> Head:
    """Head between the opening with least to spare and the level where water leaves the outlet.

    As if the whole flow entered at every opening; `own_m` is the pipe's own water at each then.
    """
    per_m = friction_head(flow_m3s, pipe.inside_m, pipe.n, 1.0)
    heads = [
        Head(opening, outlet_level_m, per_m * (length_m - opening.at_m), margin_m, water_m)
        for opening, water_m in zip(openings, own_m or [-math.inf] * len(openings), strict=True)
    ]
    return min(heads, key=lambda head: head.spare_m)
