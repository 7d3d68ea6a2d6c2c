"""The conditions of a yes in the caller's units: what gave way, where, and how to insist."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, Final

from yardfall.core.design import SURFACE_OUTLETS
from yardfall.core.easing.conditions import Condition
from yardfall.core.easing.usual_limits import first_depth_m
from yardfall.core.fixes.outward import told_past
from yardfall.core.hydraulics.backwater import Backwater
from yardfall.core.hydraulics.hydraulic_grade_line import StandingWater
from yardfall.core.plan import Plan
from yardfall.core.units import UnitSystem, plain_number
from yardfall.core.usual import Usual
from yardfall.sentences import say
from yardfall.web.answers.even_slope_answer import even_slope_condition
from yardfall.web.answers.fill_answer import fill_text, fill_words
from yardfall.web.answers.said_condition import Said
from yardfall.web.answers.water.water_conditions import (
    backed_up,
    slow_well,
    soil_test,
    water_told,
)
from yardfall.web.openapi.numbers import rounded

POINTERS: Final = {
    "run_in": "/limits/min_cover",
    "run_out": "/limits/outlet_taper",
    "riser": "/outlet/depth/max",
    "ditch": "/outlet/depth/max",
    "bank": "/outlet/depth/max",
    "grade_change": "/grade/shape",
    "deep": "/limits/max_depth",
}


def conditions_said(
    plan: Plan,
    inlets: Sequence[StandingWater],
    units: UnitSystem,
    backwater: Backwater | None = None,
) -> tuple[Said, ...]:
    """What a line's yes rests on: soil to lay, what gave way, then the outlet and the water.

    `inlets` is the water at its inlets, `backwater` that at its outlet, where either is known.
    """
    if not plan.judged.decision.yes:
        return ()
    return (
        *_filled(plan, units),  # first: its clause would read as part of another's
        *(_said(condition, plan, units) for condition in plan.conditions),
        *_even_slope(plan, units),
        *_end_open(plan, units),
        *_buried(plan, units),
        *soil_test(plan),
        *slow_well(plan, units),
        *water_told(plan, inlets, units),
        *backed_up(backwater, units),
    )


def condition_answer(said: Said, units: UnitSystem) -> dict[str, Any]:
    """One condition of the answer."""
    length_m = units.length_m
    return {
        "code": said.code,
        "pointer": said.pointer,
        "usual": said.usual,
        "taken": said.taken,
        "from_at": None if said.from_m is None else rounded(said.from_m / length_m),
        "to_at": None if said.to_m is None else rounded(said.to_m / length_m),
        "text": said.text,
        "accepts": said.accepts or None,
        "insists": said.insists or None,
    }


def _said(condition: Condition, plan: Plan, units: UnitSystem) -> Said:
    unit_m = units.length_m if condition.quantity == "length" else units.depth_m
    usual, taken = (
        value if value is None or isinstance(value, str) else rounded(value / unit_m)
        for value in (condition.usual, condition.taken)
    )
    name, clause, parts = _words(condition, plan, units)
    accepts, insists = _patches(condition, plan, units)
    return Said(
        condition.code,
        POINTERS[condition.code],
        say(f"conditions.{name}", **parts),
        say(f"conditions.if.{clause}", **parts),
        usual,
        taken,
        condition.from_m,
        condition.to_m,
        accepts,
        insists,
    )


def _words(condition: Condition, plan: Plan, units: UnitSystem) -> tuple[str, str, dict[str, str]]:
    """Names of a condition's text and clause, and their parameters."""
    values, code = condition.values, condition.code
    depth, length, label = units.depth_text, units.length_text, units.station_label
    parts = {"from_at": label(condition.from_m), "to_at": label(condition.to_m)}
    if isinstance(condition.usual, float) and condition.quantity == "depth":
        parts["usual"] = depth(condition.usual)
    name = clause = str(code)
    match code:
        case "run_in":
            least_m = values["least_m"]
            parts |= {"length": length(values["run_in_m"]), "least": depth(abs(least_m))}
            name = clause = "run_in_bare" if least_m < 0 else "run_in"
        case "run_out":
            parts |= {"length": length(values["run_out_m"]), "least": depth(values["least_m"])}
            clause = "run_out_whole" if values["whole"] else clause
        case "riser":
            wet = units.along_text(values["wet_m"])
            parts |= {"depth": depth(values["depth_m"]), "wet": wet}
            if wet == units.along_text(plan.route.length_m):
                name = "riser_wet_whole"
            elif values["wet_m"] > units.length_m / 2:
                name = "riser_wet"
        case "ditch":
            parts |= {"depth": depth(values["depth_m"]), "length": length(values["ditch_m"])}
            name = name if values["measured_m"] >= values["ditch_m"] else "ditch_unmeasured"
        case "bank":
            parts["depth"] = depth(values["depth_m"])
        case "grade_change":
            parts["at"] = label(values["at_m"])
            parts |= {key: _percent(values[key]) for key in ("before", "after")}
        case "deep":
            limit_m = _usual(plan).deep_m
            parts |= {"depth": depth(values["deepest_m"]), "limit": length(limit_m)}
    return name, clause, parts


def _usual(plan: Plan) -> Usual:
    free = plan.eased.design.open
    assert free is not None, "only open limits have conditions"
    return free.values


def _percent(grade: float) -> str:
    return f"{plain_number(grade * 100, 2)} %"


def _patches(
    condition: Condition, plan: Plan, units: UnitSystem
) -> tuple[dict[str, Any], dict[str, Any]]:
    """What states the value taken, and what states the usual one."""
    eased, usual = plan.eased, _usual(plan)
    limits, outlet = eased.design.limits, eased.design.outlet

    def depth(value_m: float) -> float | None:
        return rounded(value_m / units.depth_m)

    def at_most(value_m: float) -> float:
        return told_past(value_m / units.depth_m, up=True)

    def at_least(value_m: float) -> float:
        return told_past(value_m / units.depth_m, up=False)

    def length(value_m: float) -> float | None:
        return rounded(value_m / units.length_m)

    match condition.code:
        case "run_in":
            cover = {"min_cover": depth(limits.min_cover_m)}
            run_in = {
                "run_in": length(limits.run_in_m),
                "run_in_cover": at_least(limits.run_in_cover_m),
            }
            return {"limits": {**cover, **run_in}}, {"limits": cover}
        case "run_out":
            kept = depth(limits.run_out_cover_m or 0.0)
            taken = {"outlet_taper": length(limits.outlet_taper_m), "run_out_cover": kept}
            return {"limits": taken}, {"limits": {"outlet_taper": length(usual.run_out_m)}}
        case "riser" | "ditch" | "bank":
            least = at_least(outlet.least_m)
            first_m = first_depth_m(plan.asked, eased.site)
            return (
                {"outlet": {"depth": {"min": least, "max": at_most(outlet.most_m)}}},
                {"outlet": {"depth": {"min": least, "max": depth(max(first_m, outlet.least_m))}}},
            )
        case "grade_change":
            taken_shape = {"shape": "least_dig", "max_breaks": 1}
            return {"grade": taken_shape}, {"grade": {"shape": "straight"}}
    deepest_m = condition.values["deepest_m"]
    return (
        {"limits": {"max_depth": at_most(deepest_m)}},
        {"limits": {"max_depth": depth(usual.deep_m)}},
    )


def _even_slope(plan: Plan, units: UnitSystem) -> tuple[Said, ...]:
    """Ground that nobody measured, taken to lie even."""
    told = even_slope_condition(plan, units)
    if told is None:
        return ()
    known = plan.ground.known
    clause = say("conditions.if.even_slope" if known else "conditions.if.ground_not_known")
    return (
        Said(
            "even_slope" if known else "ground_not_known",
            told["pointer"],
            told["text"],
            clause,
            from_m=told["from_at"] * units.length_m,
            to_m=told["to_at"] * units.length_m,
        ),
    )


def _end_open(plan: Plan, units: UnitSystem) -> tuple[Said, ...]:
    """An outlet at the surface that nothing keeps from lying deep: how deep it then lies."""
    outlet = plan.design.outlet
    lowest_m, _ = outlet.invert_range_m(0.0, plan.design.section)
    if outlet.kind not in SURFACE_OUTLETS or math.isfinite(lowest_m):
        return ()
    depth = units.depth_text(plan.stations[-1].dig_depth_m)
    pointer = f"/outlet/{outlet.by}/{'max' if outlet.by == 'depth' else 'min'}"
    text, clause = (say(f"conditions.{name}", depth=depth) for name in ("end_open", "if.end_open"))
    return (Said("end_open", pointer, text, clause),)


def _buried(plan: Plan, units: UnitSystem) -> tuple[Said, ...]:
    """What the pipe passes is nowhere sure until it is seen: marks on the ground tell no depth."""
    crossings = [crossing for crossing in plan.design.crossings if not crossing.exposed]
    if not crossings:
        return ()
    first, last = (pick(crossings, key=lambda c: c.at_m) for pick in (min, max))
    parts = {"what": first.what, "at": units.station_label(first.at_m)}
    parts |= {"depth": units.depth_text(first.top_depth_m), "count": str(len(crossings))}
    parts["to"] = units.station_label(last.at_m)
    name = "crossing" if len(crossings) == 1 else "crossings"
    text, clause = (say(f"conditions.{one}", **parts) for one in (name, f"if.{name}"))
    return (Said("crossing", "/crossings", text, clause, from_m=first.at_m, to_m=last.at_m),)


def _filled(plan: Plan, units: UnitSystem) -> tuple[Said, ...]:
    """Soil that is yet to be laid, and counts as cover."""
    fills = plan.design.limits.fills
    if not fills:
        return ()
    from_m, to_m = min(fill.from_m for fill in fills), max(fill.to_m for fill in fills)
    parts = fill_words(fills[0], units) | {"count": str(len(fills))}
    parts |= {"from_at": units.station_label(from_m), "to_at": units.station_label(to_m)}
    parts["fill"] = fill_text(fills[0], units)
    name = "fill" if len(fills) == 1 else "fills"
    text, clause = (say(f"conditions.{one}", **parts) for one in (name, f"if.{name}"))
    return (Said("fill", "/fills", text, clause, from_m=from_m, to_m=to_m),)
