"""The water at the outlet and at the inlets, in the caller's units and in sentences."""

from __future__ import annotations

from typing import Any

from yardfall.core.hydraulics.backwater import OVER_M, Backwater, Flooded
from yardfall.core.hydraulics.head import Head
from yardfall.core.hydraulics.hydraulic_grade_line import StandingWater
from yardfall.core.outlet_levels import wet_after_rain
from yardfall.core.plan import Plan
from yardfall.core.units import UnitSystem
from yardfall.sentences import say
from yardfall.sentences.water.backwater import inlet_words
from yardfall.web.openapi.numbers import rounded, scaled

POINTER = "/outlet/water_level"


def _say(name: str, **parts: str) -> str:
    return say(f"backwater.{name}", **parts)


def outlet_water_answer(water: Backwater, plan: Plan, units: UnitSystem) -> dict[str, Any]:
    """The `outlet.water` part of a plan."""
    length_m, to_m = units.length_m, water.to_m
    return {
        "level": rounded(water.stated_m / length_m),
        "over_outlet": rounded(water.over_m / units.depth_m),
        "running": water.flowing,
        "backs_up_to": None if to_m is None else rounded(to_m / length_m),
        "label": None if to_m is None else units.station_label(to_m),
        "full_length": rounded(water.full_m / length_m),
        "line": {"at": scaled(water.at_m, length_m), "level": scaled(water.level_m, length_m)},
        "stations_under": [rounded(at_m / length_m) for at_m in water.under_m],
        "places": [_place(one, units) for one in water.flooded],
        "floods_house": bool(water.at_house),
        "sentence": outlet_water_sentence(water, plan, units),
    }


def _place(one: Flooded, units: UnitSystem) -> dict[str, Any]:
    return {
        "line": list(one.line),
        "what": one.inlet.what,
        "kind": one.kind,
        "at": rounded(one.inlet.at_m / units.length_m),
        "label": units.station_label(one.inlet.at_m),
        "elevation": rounded(one.inlet.opening_m / units.length_m),
        "water_level": rounded(one.level_m / units.length_m),
        "over": rounded(one.over_m / units.depth_m),
        "at_house": one.at_house,
        "sentence": over_sentence(one, units),
    }


def outlet_water_sentence(water: Backwater, plan: Plan, units: UnitSystem) -> str:
    """What the water at the outlet does, and the worst that comes of it."""
    amount = units.depth_text(abs(water.over_m))
    length_m, to_m = plan.route.length_m, water.to_m
    if not water.drowns_outlet or to_m is None:
        bottom_m = float(plan.decision.invert_m[-1])
        if water.lid:
            return _say("outlet_water_below_lid", amount=amount)
        if to_m is None:
            short = units.depth_text(max(0.0, bottom_m - water.stated_m))
            return _say("outlet_water_below_pipe", amount=short)
        stands = units.along_text(length_m - to_m)
        return _say("outlet_water_in_pipe", amount=amount, length=stands)
    said = _say("outlet_water_over_lid" if water.lid else "outlet_water_over_crown", amount=amount)
    name = "outlet_water_fills" if water.full_m >= length_m else "outlet_water_backs_up"
    said += " " + _say(
        f"{name}_running" if water.flowing else name,
        station=units.station_label(to_m),
        length=units.along_text(water.full_m),
    )
    if not water.flooded:
        return f"{said} {_say('outlet_water_stays_in')}" if water.all_dry else said
    worst = (*water.at_house, *water.flooded)[0]
    return f"{said} {over_sentence(worst, units)}"


def over_sentence(one: Flooded, units: UnitSystem) -> str:
    """What the water does at a place that it comes out at."""
    name = f"water_over_{one.kind}"
    if one.kind == "inlet" and one.at_house:
        name = "water_over_house_inlet"
    return _say(
        f"{name}_of_branch" if one.line else name,
        amount=units.depth_text(one.over_m),
        station=units.station_label(one.inlet.at_m),
        what=inlet_words(one.inlet.what),
        branch=", ".join(one.line),
    )


def outlet_water_warnings(water: Backwater | None, units: UnitSystem) -> list[dict[str, str]]:
    """An outlet under water, water that could come out at the house, a level of another datum."""
    if water is None or not water.drowns_outlet:
        return []
    found = [("outlet_under_water", _say("outlet_under_water"))]
    found += [("water_at_house", over_sentence(one, units)) for one in water.at_house[:1]]
    if water.over_all:
        found.append(("water_over_all_ground", _say("water_over_all_ground")))
    return [{"code": code, "pointer": POINTER, "text": text} for code, text in found]


def left_wet_answer(plan: Plan, closed_m: float | None, units: UnitSystem) -> dict[str, Any] | None:
    """What stays in a line after rain, below the lid it ends under; None where it runs empty."""
    wet = wet_after_rain(plan, closed_m)
    if wet is None:
        return None
    length = units.along_text(wet.length_m)
    own = plan.design.outlet.kind == "pop_up"
    name = "left_wet" if own else "left_wet_of_branch"
    if length == units.along_text(plan.route.length_m):
        name = "left_wet_whole" if own else "left_wet_of_branch_whole"
    return {
        "length": rounded(wet.length_m / units.length_m),
        "depth": rounded(wet.depth_m / units.depth_m),
        "volume": rounded(wet.volume_m3 / units.water_m3),
        "sentence": _say(
            name,
            length=length,
            volume=units.water_text(wet.volume_m3),
        ),
    }


def inlet_answer(
    water: StandingWater, below: Backwater | None, units: UnitSystem
) -> dict[str, Any]:
    """The water at one inlet, over what stands at the outlet of the whole."""
    inlet = water.inlet
    return {
        "what": inlet.what,
        "at": rounded(inlet.at_m / units.length_m),
        "label": units.station_label(inlet.at_m),
        "opening": rounded(inlet.opening_m / units.length_m),
        "opening_is": "as stated" if inlet.stated else "the ground",
        "water_level": rounded(water.level_m / units.length_m),
        "still_level": rounded(water.still_m / units.length_m),
        "entry": rounded(water.entry_m / units.depth_m),
        "spare": rounded(water.spare_m / units.depth_m),
        "drowned": water.spare_m < 0,
        "serves": None if water.serves is None else water.serves.code,
        "sentence": _inlet_sentence(water, below, units),
    }


def _inlet_sentence(water: StandingWater, below: Backwater | None, units: UnitSystem) -> str:
    return _say(
        _inlet_state(water, below),
        amount=units.depth_text(abs(water.spare_m)),
        station=units.station_label(water.inlet.at_m),
        what=inlet_words(water.inlet.what),
        pipe=water.serves.name if water.serves else "",
    )


def _inlet_state(water: StandingWater, below: Backwater | None) -> str:
    inlet, still = water.inlet, below is not None and not below.flowing and water.inlet.stated
    if below is None and inlet.stated and water.level_m <= water.still_m:
        return "rest_below_opening" if water.spare_m >= 0 else "rest_over_opening"
    if water.spare_m >= 0:
        if still:
            return "still_below_opening"
        return "inlet_below_opening" if inlet.stated else "inlet_below_ground"
    if still:
        return "still_over_opening"
    if water.still_m > inlet.opening_m:
        by_outlet = below is not None and below.drowns_outlet
        return "inlet_drowned_by_outlet_water" if by_outlet else "inlet_drowned_by_still_water"
    return "inlet_drowned" if water.serves is None else "inlet_drowned_larger_pipe"


def head_sentence(head: Head, plan: Plan, below: Backwater | None, units: UnitSystem) -> str:
    """The head between the opening with least to spare and where the water leaves."""
    name = "head_to_lid" if plan.design.outlet.kind == "pop_up" else "head_to_end"
    if below is not None and below.over_m > OVER_M:
        name = "head_to_water"
    if not head.backs_up:
        name = "head_to_entry"
    return _say(
        name if head.spare_m >= 0 else f"{name}_short",
        opening=head.opening.what,
        amount=units.depth_text(abs(head.spare_m)),
        friction=units.depth_text(head.friction_m),
        margin=units.depth_text(head.margin_m),
    )
