"""The answer's verdict in the caller's units and in plain sentences."""

from __future__ import annotations

import math
from typing import Any, Final

from yardfall.core.chance import Chance
from yardfall.core.fixes import Fix
from yardfall.core.pipes import CATALOGUE
from yardfall.core.plan import Plan
from yardfall.core.units import UnitSystem
from yardfall.sentences import say

DIGITS: Final = 6
"""Numbers are given to a millionth of their unit: far finer than any tape, and free of noise."""
STEPS: Final = 10.0**DIGITS


def rounded(value: float) -> float | None:
    """A number for JSON; None for one that is not finite."""
    return round(value * STEPS) / STEPS if math.isfinite(value) else None


def verdict_answer(plan: Plan, units: UnitSystem) -> dict[str, Any]:
    """The `answer` part of a plan."""
    decision, pinch = plan.decision, plan.decision.pinch
    up_m = float(plan.points.at_m[pinch.upstream])
    down_m = float(plan.points.at_m[pinch.downstream])
    turn = pinch.turns_on
    return {
        "verdict": plan.verdict,
        "sentence": verdict_sentence(plan, units),
        "fall_available": rounded(pinch.available_m / units.depth_m),
        "fall_needed": rounded(pinch.needed_m / units.depth_m),
        "spare": rounded(decision.margin_m / units.depth_m),
        "pinch": {
            "upstream": rounded(up_m / units.length_m),
            "downstream": rounded(down_m / units.length_m),
            "limits": list(pinch.limits),
            "turns_on": None
            if turn is None
            else {
                "at": rounded(float(plan.points.at_m[turn]) / units.length_m),
                "limit": decision.band.hi_why[turn],
            },
        },
        "shape_blocks": decision.blocked_by_shape,
        "explained": plan.explained,
        "chance": None if plan.chance is None else rounded(plan.chance.chance),
        "chance_sentence": chance_sentence(plan.chance, units),
        "spare_error": None
        if plan.chance is None
        else rounded(plan.chance.spare_sigma_m / units.depth_m),
        "reading_error": None
        if plan.chance is None
        else rounded(plan.chance.model.typical_m / units.depth_m),
        "fixes": [fix_answer(fix, plan, units) for fix in plan.fixes],
        "fix_pair": None
        if plan.pair is None
        else [fix_answer(fix, plan, units) for fix in plan.pair],
        "retake": [
            {
                "pointer": r.pointer,
                "at": rounded(r.at_m / units.length_m),
                "label": units.station_label(r.at_m),
                "share": rounded(r.share),
                "chance_if_certain": rounded(r.chance_if_certain),
            }
            for r in (plan.chance.retakes if plan.chance else ())
        ],
    }


def verdict_sentence(plan: Plan, units: UnitSystem) -> str:
    """The verdict in one plain sentence with its number."""
    decision, pinch = plan.decision, plan.decision.pinch
    up = units.station_label(float(plan.points.at_m[pinch.upstream]))
    down = units.station_label(float(plan.points.at_m[pinch.downstream]))
    where = f"at {up}" if up == down else f"between {up} and {down}"
    raised = (
        f", with the start raised by {units.depth_text(decision.raised_m)}"
        if decision.yes and decision.raised_m > 1e-9
        else ""
    )
    amount = units.depth_text(abs(decision.margin_m))
    if plan.verdict == "too_close":
        state = "to spare" if decision.yes else f"short {where}"
        return (
            f"Too close to call: by these readings {amount} {state}{raised}, but their errors "
            "could turn it."
        )
    if decision.yes and not math.isfinite(decision.margin_m):
        return "Yes: no limit on depth stands in the way."
    if plan.verdict == "yes":
        return f"Yes: {amount} of fall to spare{raised}."
    why = f"{pinch.limits[0]} against {pinch.limits[1]}"
    if pinch.turns_on is not None:
        turn = units.station_label(float(plan.points.at_m[pinch.turns_on]))
        why += f", forced down at {turn} by {decision.band.hi_why[pinch.turns_on]}"
    if decision.blocked_by_shape:
        straight = plan.design.grading.shape == "straight"
        shape, more = (
            ("one straight grade is", "on the way") if straight else ("that is", "more often")
        )
        return (
            f"No: {shape} {amount} short {where} ({why}). "
            f"A line that changes grade {more} would fit."
        )
    if decision.yes:
        return f"No: by these readings it fits with {amount} to spare, but hardly any draw does."
    return f"No: {amount} short {where} ({why})."


def chance_sentence(chance: Chance | None, units: UnitSystem) -> str | None:
    """How sure the answer is, and what the ground's source cannot settle."""
    if chance is None:
        return None
    words = percent_words(chance.chance)
    if chance.model.adds_up:
        fall = units.depth_text(chance.model.whole_fall_m)
        return say("chance.adds_up", chance=words, label=chance.model.label, fall=fall)
    two_values_m = math.sqrt(2) * chance.model.typical_m
    said = f"The chance that a line exists is {words}, with {chance.model.label}: a fall between "
    said += f"two readings is good to about {units.depth_text(two_values_m)} (standard error)."
    if chance.model.common_m > 0:
        said += (
            f" What the whole raster may be off by, {units.depth_text(chance.model.common_m)}, "
            "cancels; what differs from cell to cell does not, so it cannot settle a fall smaller "
            "than that."
        )
    return said


def percent_words(chance: float) -> str:
    """A chance in words: `"about 62 %"`."""
    percent = chance * 100
    if percent > 99:
        return "more than 99 %"
    return "less than 1 %" if percent < 1 else f"about {percent:.0f} %"


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
