"""A plan's outlet: its lid, the water that stands there, and what stays wet."""

from __future__ import annotations

import math

import numpy as np

from yardfall.core.asbuilt.ponding import LeftWet, left_wet
from yardfall.core.easing.lay import Laid
from yardfall.core.ground.route import SAME_STATION_M
from yardfall.core.hydraulics.backwater import Tailwater
from yardfall.core.hydraulics.hydraulic_grade_line import End
from yardfall.core.plan import Plan


def no_outlet(plan: Plan) -> bool:
    """Whether the line ends in a dry well that never empties."""
    well = plan.works.well
    return plan.design.outlet.kind == "dry_well" and well is not None and well.never_empties


def lid_m(plan: Plan | Laid) -> float | None:
    """The lid of a pop-up, level with the ground; None for an open end."""
    return float(plan.points.ground_m[-1]) if plan.design.outlet.kind == "pop_up" else None


def tailwater_m(plan: Plan | Laid, tailwater: Tailwater | None) -> float:
    """The water stated to stand where the pipe ends; -inf where none was stated."""
    return -math.inf if tailwater is None else tailwater.level_m(float(plan.points.ground_m[-1]))


def water_level_m(plan: Plan | Laid, tailwater: Tailwater | None = None) -> float:
    """Level at which water leaves: the lid or the top of the pipe's end, or the water over it."""
    end = End(lid_m(plan), tailwater_m(plan, tailwater))
    return end.level_m(float(plan.decision.invert_m[-1]) + plan.design.pipe.inside_m)


def wet_after_rain(plan: Plan, closed_m: float | None) -> LeftWet | None:
    """What stays in a line below the lid it ends under; None where it runs empty."""
    if closed_m is None or not plan.ground.known or not plan.decision.yes:
        return None
    inside_m = plan.design.pipe.inside_m
    wet = left_wet(plan.points.at_m, plan.decision.invert_m, closed_m, inside_m)
    return wet if wet.length_m > SAME_STATION_M else None


def ditch_of(plan: Plan) -> float | None:
    """Length of the level ditch that leads out from a daylight end; None: no ditch."""
    if plan.design.outlet.kind != "daylight" or not plan.decision.yes:
        return None
    bottom_m = float(plan.decision.invert_m[-1]) - plan.design.section.below_invert_m
    length_m = plan.eased.site.ditch_m(float(plan.points.ground_m[-1]) - bottom_m)
    return length_m if np.isfinite(length_m) else None
