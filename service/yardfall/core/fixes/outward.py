"""Values as a person would say them, rounded to the safe side.

The new value is told in the caller's units and sent back in them: so it is rounded in those,
away from the old value, and proven as rounded.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from yardfall.core.fixes.loosening import Quantity
from yardfall.core.units import SYSTEMS, UnitName

FINEST: Final = 6
"""Decimals of every number that is told."""
SAME_STEPS: Final = 1e-5
SLIGHT: Final = 1e-3
STEPS: Final[dict[UnitName, dict[Quantity, tuple[float, ...]]]] = {
    "us": {
        "depth": (0.25, 0.125),
        "level": (0.01,),
        "length": (1.0,),
        "percent": (0.1, 0.05, 0.01),
    },
    "si": {"depth": (5.0, 1.0), "level": (0.001,), "length": (0.25,), "percent": (0.1, 0.05, 0.01)},
}
"""A tape's marks and the finest it is read to, a rod's step, a stride's and a level's (common
practice, no source)."""
PERCENT: Final = 0.01


def unit_of(quantity: Quantity, units: UnitName) -> float:
    """Size in SI of the unit that a quantity is told in."""
    system = SYSTEMS[units]
    if quantity == "depth":
        return system.depth_m
    return PERCENT if quantity == "percent" else system.length_m


def told_past(value: float, *, up: bool) -> float:
    """A value of the caller's units as it is told, on the side asked for: no line is lost by it."""
    scale = 10.0**FINEST
    steps = value * scale
    return (math.ceil(steps - SLIGHT) if up else math.floor(steps + SLIGHT)) / scale


def outward(
    value: float, before: float, last: float, quantity: Quantity, units: UnitName
) -> Iterator[float]:
    """Values at or beyond `value`, away from `before`, coarsest first, none beyond `last`.

    Each is a number of the caller's units, in SI as it is read back from there.
    """
    unit = unit_of(quantity, units)
    up = value > before
    last_told = last / unit + math.copysign(SAME_STEPS, last - before)
    one = 1 if up else -1
    for step in (*STEPS[units][quantity], 10.0**-FINEST):
        steps = value / unit / step
        whole = math.ceil(steps - SAME_STEPS) if up else math.floor(steps + SAME_STEPS)
        for count in (whole, whole + one):
            told = round(count * step, FINEST)
            if told <= last_told if up else told >= last_told:
                yield _read(told, quantity, unit)


def _read(told: float, quantity: Quantity, unit: float) -> float:
    """As the request's reading makes it."""
    return told / 100 if quantity == "percent" else told * unit
