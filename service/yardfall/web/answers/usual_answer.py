"""The usual values that held, as the plan took them: told beside what the reading assumed."""

from __future__ import annotations

import math

from yardfall.core.design import SURFACE_OUTLETS
from yardfall.core.easing.site import SAME_M
from yardfall.core.plan import Plan
from yardfall.sentences import say
from yardfall.web.parse.assumption import COMMON, Assumption


def usual_assumptions(plan: Plan) -> list[Assumption]:
    """Every usual value of a plan that is no condition of it, with what it was taken as.

    Those that held; of a no, which has no conditions, also their last values.
    """
    if plan.asked.open is None:
        return []
    return [*_limits_assumed(plan), *_room_assumed(plan)]


def _room_assumed(plan: Plan) -> list[Assumption]:
    """The width that a trench is dug to work in, where nobody stated one and it is so deep."""
    bill = plan.works.bill
    if bill is None or bill.earth.widest_m <= plan.design.limits.trench_width_m:
        return []
    words, source = say("assumptions.working_width"), "EN 1610, table 2 (from memory)"
    return [Assumption("/limits/trench_width", bill.earth.widest_m, "depth", words, source)]


def _limits_assumed(plan: Plan) -> list[Assumption]:
    free, how = plan.asked.open, plan.eased.given
    if free is None:
        return []
    told = not plan.decision.yes
    limits, outlet, found = plan.design.limits, plan.design.outlet, []
    if free.cover:
        nominal = how.nominal and limits.min_cover_m < free.values.cover_m - SAME_M
        words = say("assumptions.min_cover")
        if nominal and limits.min_cover_m >= free.values.nominal_cover_m - SAME_M:
            words = say("assumptions.min_cover_dips")
        elif limits.min_cover_m < free.values.cover_m - SAME_M:
            words = say("assumptions.min_cover_of_start")
        found.append(Assumption("/limits/min_cover", limits.min_cover_m, "depth", words, COMMON))
    if free.run_out and outlet.kind in SURFACE_OUTLETS and (told or how.run_out_m is None):
        words = say("assumptions.outlet_taper")
        taper = Assumption("/limits/outlet_taper", limits.outlet_taper_m, "length", words, COMMON)
        found.append(taper)
    if free.outlet_depth:
        sides = [("min", outlet.least_m, "least"), ("max", outlet.most_m, "greatest")]
        for key, value_m, word in sides[: 2 if told or how.outlet_m is None else 1]:
            if math.isfinite(value_m):
                words = say(f"assumptions.outlet_{word}")
                found.append(Assumption(f"/outlet/depth/{key}", value_m, "depth", words, COMMON))
    return found
