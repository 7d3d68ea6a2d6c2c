"""What would mend a "no", in the caller's units and in sentences."""

from __future__ import annotations

import math
from typing import Any, Final

from yardfall.core.fixes import Fix
from yardfall.core.pipes import CATALOGUE
from yardfall.core.plan import Plan
from yardfall.core.units import UnitSystem
from yardfall.web.numbers import DIGITS, rounded

METRES: Final = ("start_invert", "outlet_invert")
LEVEL_STEP: Final = 0.01
"""The finest that `UnitSystem.length_text` tells, in its unit."""
TEXTS: Final = {
    "start_cover": "Start with {after} of cover instead of {before}.",
    "start_depth": "Start {after} deep instead of {before}.",
    "start_invert": "Start with the invert at {after} instead of {before}.",
    "min_cover": "Allow {after} of cover on the line instead of {before}.",
    "max_depth": "Dig as deep as {after} instead of {before}.",
    "outlet_depth": "Let the outlet lie {after} deep instead of {before}.",
    "outlet_invert": "Let the outlet's invert lie at {after} instead of {before}.",
    "pipe": "Use {after}, which may lie flatter, instead of {before}.",
    "outlet_kind": "End in a {after} instead of a {before}.",
    "end_at": "End the line at {after} instead of {before}.",
    "crossing": "Pass {after} the crossing at {where} instead of {before}.",
    "grade_changes": "Let the grade change {after} on the way.",
}
DRY_WELL: Final = (
    "End in a {after} instead of a {before}, if the soil soaks the water away: test it first."
)
POINTERS: Final = {
    "start_cover": "/start/cover",
    "start_depth": "/start/depth",
    "start_invert": "/start/invert",
    "min_cover": "/limits/min_cover",
    "max_depth": "/limits/max_depth",
    "outlet_depth": "/outlet/depth/max",
    "outlet_invert": "/outlet/invert/min",
    "pipe": "/pipe/code",
    "outlet_kind": "/outlet/kind",
    "end_at": "/route/length",
    "crossing": "/crossings",
    "grade_changes": "/grade/max_breaks",
}
OUTLET_WORDS: Final = {
    "daylight": "daylight end",
    "pop_up": "pop-up",
    "curb": "curb outlet",
    "dry_well": "dry well",
    "tie_in": "tie-in",
}


def fix_answer(fix: Fix, plan: Plan, units: UnitSystem) -> dict[str, Any]:
    """One change: from, to, what is spare after it, what it costs, and a sentence.

    A length is rounded outward, so that the number given still works.
    """
    before = value_answer(fix.change, fix.before, units)
    after = value_answer(fix.change, fix.after, units)
    on_line = fix.change == "end_at" and plan.route.xy is not None
    if isinstance(before, float) and isinstance(after, float) and fix.change != "end_at":
        nudge = 10.0**-DIGITS
        after = round(after + math.copysign(nudge / 2, after - before), DIGITS)
    return {
        "change": fix.change,
        "pointer": "/route/line" if on_line else POINTERS[fix.change],
        "from": before,
        "to": after,
        "at": None if fix.where_m is None else rounded(fix.where_m / units.length_m),
        "spare_after": rounded(fix.spare_m / units.depth_m),
        "trench_area": rounded(fix.area_m2 / units.area_m2),
        "text": (DRY_WELL if fix.after == "dry_well" else TEXTS[fix.change]).format(
            before=value_words(fix.change, fix.before, units),
            after=value_words(fix.change, fix.after, units, fix.before),
            where="" if fix.where_m is None else units.station_label(fix.where_m),
        ),
    }


def value_answer(change: str, value: float | str, units: UnitSystem) -> float | str:
    """What a change goes from or to, in the caller's units."""
    if isinstance(value, str):
        return value
    if change == "grade_changes":
        return int(value)  # a count, never rounded outward
    lengths = change == "end_at" or change in METRES
    return round(float(value / (units.length_m if lengths else units.depth_m)), DIGITS)


def value_words(
    change: str, value: float | str, units: UnitSystem, before: float | str = ""
) -> str:
    """What a change goes from or to, in words; rounded away from what it was `before`."""
    if isinstance(value, str):
        pipe = CATALOGUE.get(value)
        if pipe is not None:
            return f"{pipe.name} at {pipe.min_grade * 100:g} %"
        return OUTLET_WORDS.get(value, value)
    if change == "grade_changes":
        return "once" if value == 1 else f"{value:g} times"
    if change == "end_at":
        return units.station_label(value)
    level = change in METRES
    if not isinstance(before, str):
        step_m = LEVEL_STEP * units.length_m if level else units.depth_step_m
        value = _away(value / step_m, before / step_m) * step_m
    return units.length_text(value) if level else units.depth_text(value)


def _away(steps: float, before: float) -> int:
    """Whole steps that reach as far as some steps do, so that a limit as told works too."""
    return math.ceil(steps - 1e-6) if steps > before else math.floor(steps + 1e-6)
