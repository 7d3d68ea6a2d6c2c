"""Soil to be laid on the ground, in the caller's units and in a sentence."""

from __future__ import annotations

from typing import Any

from yardfall.core.fill import Fill
from yardfall.core.plan import Plan
from yardfall.core.units import UnitSystem, plain_number
from yardfall.sentences import say
from yardfall.web.answers.quantities_answer import NAMES
from yardfall.web.openapi.numbers import rounded, scaled

LEAST_VOLUME = 0.1
"""No volume is told as less, in the caller's units."""


def fill_answer(fill: Fill, units: UnitSystem) -> dict[str, Any]:
    """One stretch of soil to lay."""
    stations = ("from", "full_from", "full_to", "to")
    found = {
        name: rounded(at_m / units.length_m)
        for name, at_m in zip(stations, fill.corners_m, strict=True)
    }
    return found | {
        "depth": rounded(fill.depth_m / units.depth_m),
        "width": rounded(fill.width_m / units.length_m),
        "volume": rounded(fill.volume_m3 / units.volume_m3),
        "text": fill_text(fill, units),
    }


def finished_answer(plan: Plan, units: UnitSystem) -> list[float]:
    """Elevations of the finished ground at the profile's points; none where no soil is laid."""
    limits, points = plan.design.limits, plan.points
    if not limits.fills:
        return []
    found: list[float] = scaled(points.ground_m + limits.fill_m(points.at_m), units.length_m)
    return found


def fill_text(fill: Fill, units: UnitSystem) -> str:
    """What is to be laid, where, and how much that is."""
    return say(f"fills.{_shape(fill)}", **fill_words(fill, units))


def fill_words(fill: Fill, units: UnitSystem) -> dict[str, str]:
    """What sentences tell of soil to lay."""
    names = ("from_at", "full_from", "full_to", "to_at")
    labels = (units.station_label(at_m) for at_m in fill.corners_m)
    volume = max(fill.volume_m3 / units.volume_m3, LEAST_VOLUME)
    return dict(zip(names, labels, strict=True)) | {
        "depth": units.fine_text(fill.depth_m)
        if units.is_fine(fill.depth_m)
        else units.depth_text(fill.depth_m),
        "width": units.length_text(fill.width_m),
        "volume": f"{plain_number(volume, 1)} {NAMES[units.name]['volume']}",
    }


def _shape(fill: Fill) -> str:
    """Which of the shapes it has: on the start, to one peak, or as deep over a stretch."""
    where = "start" if fill.full_from_m <= fill.from_m else "stretch"
    return f"{where}_peak" if fill.full_from_m == fill.full_to_m else where
