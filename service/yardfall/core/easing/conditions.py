"""What must be said where a usual value gave way: the conditions of a yes."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Final, Literal

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.core.design import Alignment, Design
from yardfall.core.easing.easing import Eased
from yardfall.core.easing.site import SAME_M
from yardfall.core.easing.usual_limits import first_depth_m, usual_cover
from yardfall.core.grading.decision import Decision

Quantity = Literal["length", "depth", "shape"]
ConditionCode = Literal["run_in", "run_out", "riser", "ditch", "bank", "grade_change", "deep"]
GRADE_SAME: Final = 1e-9


@dataclass(frozen=True)
class Condition:
    """One usual value that gave way: what it is, from what to what, and where.

    `usual` and `taken` are metres (None: there is no usual value) or a shape's name. `values`
    are what its sentence tells, in metres or as ratios.
    """

    code: ConditionCode
    quantity: Quantity
    usual: float | str | None
    taken: float | str
    from_m: float
    to_m: float
    values: dict[str, Any] = field(default_factory=dict)


def conditions_of(asked: Design, eased: Eased) -> tuple[Condition, ...]:
    """The conditions of a line that fits, from its start to its end; none for a no."""
    free = asked.open
    if free is None or not eased.decision.yes:
        return ()
    found = [
        *_run_in(asked, eased),
        *_deep(eased),
        *_change(eased),
        *_run_out(eased),
        *_end(asked, eased),
    ]
    return tuple(found)


def cover_m(design: Design, points: Alignment, decision: Decision) -> Floats:
    """Soil over the pipe at the points (n,)."""
    return design.cover_m(points.at_m, points.ground_m, decision.invert_m)


def _run_in(asked: Design, eased: Eased) -> list[Condition]:
    limits, free = eased.design.limits, asked.open
    if free is None or not free.cover or not limits.run_in_m:
        return []
    cover = usual_cover(asked, free.values, eased.site)
    at_m = eased.points.at_m
    near = at_m <= min(limits.run_in_m, float(at_m[-1])) + SAME_M
    least_m = float(cover_m(eased.design, eased.points, eased.decision)[near].min())
    length_m = min(limits.run_in_m, float(at_m[-1]))
    values = {"run_in_m": length_m, "least_m": least_m}
    return [Condition("run_in", "depth", cover.cover_m, least_m, 0.0, length_m, values)]


def _deep(eased: Eased) -> list[Condition]:
    design, points, free = eased.design, eased.points, eased.design.open
    if free is None or not free.max_depth:
        return []
    depth_m = points.ground_m - eased.decision.invert_m + design.section.below_invert_m
    deep = np.flatnonzero(depth_m > free.values.deep_m + SAME_M)
    if not deep.size:
        return []
    deepest_m = float(depth_m[deep].max())
    from_m, to_m = float(points.at_m[deep[0]]), float(points.at_m[deep[-1]])
    return [Condition("deep", "depth", None, deepest_m, from_m, to_m, {"deepest_m": deepest_m})]


def _change(eased: Eased) -> list[Condition]:
    if not eased.given.bends:
        return []
    at_m, invert_m = eased.points.at_m, eased.decision.invert_m
    grades = -np.diff(invert_m) / np.diff(at_m)
    turns = np.flatnonzero(np.abs(np.diff(grades)) > GRADE_SAME) + 1
    if not turns.size:
        return []
    at = float(at_m[turns[0]])
    values = {"at_m": at, "before": float(grades[0]), "after": float(grades[-1])}
    return [Condition("grade_change", "shape", "straight", "least_dig", at, at, values)]


def _run_out(eased: Eased) -> list[Condition]:
    how, free, points = eased.given, eased.design.open, eased.points
    if how.run_out_m is None or free is None:
        return []
    end_m = float(points.at_m[-1])
    from_m = max(0.0, end_m - how.run_out_m)
    thin = (points.at_m >= from_m - SAME_M) & (
        points.at_m <= max(from_m, end_m - free.values.run_out_m) + SAME_M
    )
    least_m = float(cover_m(eased.design, points, eased.decision)[thin].min())
    values = {"run_out_m": how.run_out_m, "least_m": least_m, "whole": from_m <= SAME_M}
    return [
        Condition("run_out", "length", free.values.run_out_m, how.run_out_m, from_m, end_m, values)
    ]


def _end(asked: Design, eased: Eased) -> list[Condition]:
    most_m, design, points = eased.given.outlet_m, eased.design, eased.points
    if most_m is None or asked.open is None:
        return []
    end_m = float(points.at_m[-1])
    usual_m = first_depth_m(asked, eased.site)
    bottom_m = float(points.ground_m[-1] - eased.decision.invert_m[-1])
    depth_m = bottom_m + design.section.below_invert_m
    if design.outlet.kind == "pop_up":
        wet_m = wet_length_m(points, eased.decision.invert_m)
        riser = {"depth_m": depth_m, "wet_m": wet_m}
        return [Condition("riser", "depth", usual_m, most_m, end_m, end_m, riser)]
    ditch_m = ditch_length_m(eased, most_m)
    values: dict[str, float | None]
    values = {"depth_m": depth_m, "ditch_m": ditch_m, "measured_m": eased.site.measured_m}
    if ditch_m is None:
        return [Condition("bank", "depth", usual_m, most_m, end_m, end_m, values)]
    return [Condition("ditch", "depth", usual_m, most_m, end_m, end_m + ditch_m, values)]


def ditch_length_m(eased: Eased, depth_m: float) -> float | None:
    """Length of the level ditch that leads out from a daylight end, in whole steps; None: none."""
    free = eased.design.open
    length_m = eased.site.ditch_m(depth_m)
    if free is None or length_m > free.values.last_ditch_m + SAME_M:
        return None
    step_m = free.values.length_step_m
    return float(np.ceil(length_m / step_m - 1e-6) * step_m)


def wet_length_m(points: Alignment, invert_m: Floats) -> float:
    """Length before a pop-up on which the invert lies below its lid: water stays in there."""
    below = np.flatnonzero(invert_m < points.ground_m[-1] - SAME_M)
    if not below.size:
        return 0.0
    first = int(below[0])
    if first == 0:
        return float(points.at_m[-1])
    one_m, two_m = invert_m[first - 1], invert_m[first]
    share = float((one_m - points.ground_m[-1]) / (one_m - two_m))
    where_m = points.at_m[first - 1] + share * (points.at_m[first] - points.at_m[first - 1])
    return float(points.at_m[-1] - where_m)
