"""How much further a line would have to go to come out, by the slope of the ground before its end.

The ground there was not measured, so this is advice and no fix.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from yardfall.core.chance.scenario import Case
from yardfall.core.design import SURFACE_OUTLETS
from yardfall.core.easing.usual_limits import values_of
from yardfall.core.grading.band import DECISION_SLACK_M
from yardfall.core.grading.decision import decide, margin_with_any_breaks

FURTHEST_M: Final = 90.0
STEPS_AT_ONCE: Final = 5
"""A length that nobody measured is told in steps this many times as long as usual."""


def carried_on_m(case: Case) -> float | None:
    """The least length past the end at which the line comes out, in round steps; None: nowhere."""
    outlet, end_m = case.as_it_is.outlet, float(case.points.at_m[-1])
    own_end = case.ends_free and outlet.by == "depth" and outlet.kind in SURFACE_OUTLETS
    if not own_end or outlet.kind == "curb" or case.ground.at_m[-1] > end_m + 1e-6:
        return None
    values = values_of(case.design)
    slope = _last_slope(case, end_m, values.run_out_m)
    if slope <= case.design.grading.min_grade:
        return None
    ground = replace(
        case.ground,
        at_m=np.append(case.ground.at_m, end_m + FURTHEST_M),
        elevation_m=np.append(
            case.ground.elevation_m, case.ground.elevation_at(end_m) - slope * FURTHEST_M
        ),
    )
    longer = replace(case, ground=ground, draws=None, whole=None)

    def serves(further_m: float) -> bool:
        there = longer.ended_at(end_m + further_m)
        if margin_with_any_breaks(there.design, there.points) < -DECISION_SLACK_M:
            return False  # told at once, and most often
        return decide(there.design, there.points, any_line=True).yes

    step_m = values.length_step_m * STEPS_AT_ONCE
    lengths_m = [k * step_m for k in range(1, int(FURTHEST_M / step_m) + 1)]
    return next((length_m for length_m in lengths_m if serves(length_m)), None)


def _last_slope(case: Case, end_m: float, chord_m: float) -> float:
    """How much the ground falls a metre before its end, over `chord_m` or a little more."""
    at_m = case.ground.at_m
    back = at_m[at_m <= end_m - chord_m + 1e-6]
    back_m = float(back[-1]) if len(back) else 0.0
    fall_m = case.ground.elevation_at(back_m) - case.ground.elevation_at(end_m)
    return fall_m / (end_m - back_m)
