"""How figures are written on paper, in the caller's units."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any, Final

from yardfall.core.units import FOOT_M, INCH_M, ROD_UNITS_M, UnitSystem, plain_number
from yardfall.sentences import say

SAME_SIXTEENTH: Final = 0.0192
"""0.01 % of grade in sixteenths of an inch per foot: the finest that `percent` tells."""
HAND_DIG_M: Final = 24 * INCH_M
"""Dug by hand this far either side of a buried line: the wider of the 18 to 24 in that state
one-call laws ask for."""


def length(value: float, units: UnitSystem) -> str:
    """A distance: `13 ft`."""
    return f"{plain_number(value, 2)} {units.length_name}"


def depth(value: float, units: UnitSystem) -> str:
    """A depth without its unit, to 0.1 in or 1 mm."""
    return plain_number(value, 1 if units.name == "us" else 0)


def depth_text(value: float, units: UnitSystem) -> str:
    """A depth with its unit: `12.6 in`."""
    return f"{depth(value, units)} {units.depth_name}"


def reading(value: float, units: UnitSystem) -> str:
    """A reading as it was taken: hundredths of an inch, tenths of a millimetre."""
    return plain_number(value, 2 if units.name == "us" else 1)


def elevation(value: float, units: UnitSystem) -> str:
    """An elevation, to 0.01 ft or 1 mm."""
    return f"{value + 0.0:.{2 if units.name == 'us' else 3}f}"


def rod(value: float, unit: str) -> str:
    """A rod reading, to what a rod is read to."""
    return f"{value:.{ {'ft': 2, 'in': 2, 'm': 3, 'mm': 0}[unit] }f}"


def percent(value: float) -> str:
    """A grade to a hundredth of a percent, as a laser is set."""
    return f"{value:.2f}"


def per_length(value: float, units: UnitSystem) -> str:
    """A grade of `value` percent in inches per foot or millimetres per metre: `1/8 in per ft`.

    Inches as on a tape where a sixteenth is within 0.01 %, else in decimals.
    """
    if units.name == "us":
        inches = value / 100 * FOOT_M / INCH_M
        steps = round(inches * 16)
        if steps and abs(inches * 16 - steps) < SAME_SIXTEENTH:
            whole, part = divmod(abs(steps), 16)
            words = " ".join(
                [*([str(whole)] if whole else []), *([str(Fraction(part, 16))] if part else [])]
            )
            return f"{'-' if steps < 0 else ''}{words} in per ft"
        return f"{inches:.3f} in per ft"
    return f"{value * 10:.1f} mm per m"


def grade(value: float, units: UnitSystem) -> str:
    """A grade of `value` percent in both ways of the trade: `1.04 % = 1/8 in per ft`."""
    return f"{percent(value)} % = {per_length(value, units)}"


def is_above(value: float, units: UnitSystem) -> bool:
    """Whether a depth, as it is told, lies above the ground."""
    return depth(value, units).startswith("-")


def deep(value: float, units: UnitSystem) -> str:
    """A depth in words: `12.6 in deep`, `3 in above the ground`."""
    if is_above(value, units):
        return say("papers.deep_above", amount=depth_text(-value, units))
    return say("papers.deep", amount=depth_text(value, units))


def cover(value: float, units: UnitSystem) -> str:
    """What lies over the pipe in words, or how far it stands out."""
    if is_above(value, units):
        return say("papers.cover_above", amount=depth_text(-value, units))
    return say("papers.cover", amount=depth_text(value, units))


def dig(station: dict[str, Any], units: UnitSystem) -> tuple[str, str]:
    """The mark to dig to and the exact depth; `none` where the trench bottom lies above ground."""
    exact = float(station["dig_depth"])
    if is_above(exact, units):
        return "none", f"{depth(-exact, units)} above ground"
    return station["marks"]["dig_depth"], depth(exact, units)


def level(value: float, answer: Mapping[str, Any], units: UnitSystem) -> str:
    """An elevation in words; under a level string how far it lies below it: `23 in below`."""
    strings = answer["references"]
    if strings and all(one["kind"] == "line" for one in strings):
        small = value * units.length_m / units.depth_m
        side = "below" if is_above(small, units) else "above"
        amount = depth_text(abs(small), units)
        if len(strings) > 1:
            named = zero_string(strings)["name"]
            return say(f"papers.level_{side}_named", amount=amount, name=named)
        return say(f"papers.level_{side}_string", amount=amount)
    return say(
        "papers.level",
        elevation=elevation(value, units),
        unit=units.length_name,
        datum=answer["datum"],
    )


def zero_string(strings: Sequence[Mapping[str, Any]]) -> Mapping[str, Any]:
    """The one of several strings that levels count from."""
    return min(strings, key=lambda one: abs(float(one["elevation"])))


def label_at(at: float, units: UnitSystem) -> str:
    """The label of a station given in distance units."""
    return units.station_label(at * units.length_m)


def ground_from_line(station: dict[str, Any]) -> float:
    """From the level line down to the ground, in depth units."""
    return float(station["line_to_bottom"]) - float(station["dig_depth"])


def rod_on_ground(station: dict[str, Any], rod_unit: str, units: UnitSystem) -> float:
    """What a rod on the ground reads, in `rod_unit`."""
    down = float(station["dig_depth"]) * units.depth_m / ROD_UNITS_M[rod_unit]
    return float(station["rod_at_bottom"]) - down


def cut(station: dict[str, Any], units: UnitSystem) -> float:
    """Ground elevation less invert elevation, in depth units: the cut of a surveyor's sheet."""
    return float(station["ground"] - station["invert"]) * units.length_m / units.depth_m


def hand_dig_zone(crossing: dict[str, Any], end: float, units: UnitSystem) -> tuple[float, float]:
    """Stations between which to dig by hand, for something crossed at a right angle.

    Outward to the next half foot or tenth of a metre.
    """
    half = (float(crossing["size"]) * units.depth_m / 2 + HAND_DIG_M) / units.length_m
    steps = 2 if units.name == "us" else 10
    first = math.floor(round((crossing["at"] - half) * steps, 6)) / steps
    last = math.ceil(round((crossing["at"] + half) * steps, 6)) / steps
    return max(0.0, first), min(end, last)
