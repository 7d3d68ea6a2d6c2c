"""What a yes stands on besides the fall: the soil, the pipe's size, water at the house."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Any, Final

from yardfall.core.hydraulics.backwater import Backwater
from yardfall.core.hydraulics.dry_well import size_well
from yardfall.core.hydraulics.hydraulic_grade_line import StandingWater
from yardfall.core.plan import Plan
from yardfall.core.units import UnitSystem
from yardfall.sentences import say
from yardfall.sentences.water.backwater import inlet_words
from yardfall.web.answers.said_condition import Said
from yardfall.web.answers.water.backwater_answer import POINTER, over_sentence
from yardfall.web.answers.water.water_answer import HALF_HOURS, hours_text
from yardfall.web.openapi.numbers import rounded

THINNEST_STONE_M: Final = 0.15
"""Less stone under the pipe is no pit (common practice, no source)."""


def soil_test(plan: Plan) -> tuple[Said, ...]:
    """A dry well is no yes before the soil was tested."""
    if plan.design.outlet.kind != "dry_well" or plan.works.well is not None:
        return ()
    text, clause = say("conditions.soil_test"), say("conditions.if.soil_test")
    return (Said("soil_test", "/dry_well", text, clause),)


def slow_well(plan: Plan, units: UnitSystem) -> tuple[Said, ...]:
    """A dry well that takes longer than allowed to be ready again, and what would be right."""
    well = plan.works.well
    if plan.design.outlet.kind != "dry_well" or well is None or not well.too_slow:
        return ()
    right, step_m = well.in_time(), 0.1 * units.depth_m
    depth_m = math.floor(right.storm.stone_depth_m / step_m + 1e-9) * step_m
    parts = {"half": hours_text((well.half_s or 0.0) / 3600), "limit": str(HALF_HOURS)}
    if depth_m < THINNEST_STONE_M:
        text = say("conditions.well_empties_late_any", **parts)
        return (Said("well_empties_late", "/dry_well/soak_rate", text, None),)
    right = size_well(replace(right.storm, stone_depth_m=depth_m))
    parts |= {"depth": units.depth_text(depth_m), "area": units.area_text(right.bottom_m2)}
    text = say("conditions.well_empties_late", **parts)
    patch = {"dry_well": {"stone_depth": rounded(depth_m / units.depth_m)}}
    return (Said("well_empties_late", "/dry_well/stone_depth", text, None, accepts=patch),)


def water_told(plan: Plan, inlets: Sequence[StandingWater], units: UnitSystem) -> tuple[Said, ...]:
    found: list[tuple[str, str, dict[str, str], dict[str, Any]]] = []
    if plan.works.water is not None and not plan.works.water.carries:
        worst = max(plan.works.water.runs, key=lambda run: run.ruling.state.share or 0.0)
        parts = {"pipe": plan.design.pipe.name}
        if worst.serves is None:
            found.append(("pipe_too_small_none", "/pipe", parts, {}))
        else:
            parts["serves"] = worst.serves.name
            patch = {"pipe": {"code": worst.serves.code}}
            found.append(("pipe_too_small", "/pipe", parts, patch))
    if plan.works.head is not None and plan.works.head.spare_m < 0:
        head = plan.works.head
        parts = {"opening": head.opening.what, "amount": units.depth_text(-head.spare_m)}
        if head.backs_up:
            found.append(("water_at_house", "/head/openings", parts, {}))
        elif all(one.spare_m >= 0 for one in inlets if one.inlet.stated):
            found.append(("water_near_opening", "/head/openings", parts, {}))
    for one in inlets:
        if one.spare_m < 0:
            parts = {
                "inlet": inlet_words(one.inlet.what),
                "at": units.station_label(one.inlet.at_m),
                "amount": units.depth_text(-one.spare_m),
            }
            pointer = "/head/openings" if one.inlet.stated else "/inflows"
            rising = one.level_m > one.still_m
            found.append(("inlet_backs_up" if rising else "opening_too_low", pointer, parts, {}))
    return tuple(
        Said(
            name.removesuffix("_none"),
            pointer,
            say(f"conditions.{name}", **parts),
            None,
            accepts=patch,
        )
        for name, pointer, parts, patch in found
    )


def backed_up(backwater: Backwater | None, units: UnitSystem) -> tuple[Said, ...]:
    """Water that stands at the outlet and could come out at the house; the worst place."""
    if backwater is None:
        return ()
    return tuple(
        Said("water_at_house", POINTER, over_sentence(one, units), None)
        for one in backwater.at_house[:1]
    )
