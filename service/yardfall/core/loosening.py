"""The limits of a design that may be loosened, and how far."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np

from yardfall.core.band import DECISION_SLACK_M
from yardfall.core.decision import Design
from yardfall.core.trench import SURFACE_OUTLETS, OutletKind
from yardfall.core.units import FOOT_M, INCH_M

DEEPEST_M: Final = 60 * INCH_M
"""No fix asks for a deeper trench: nobody may stand in it unprotected (29 CFR 1926.652(a)(1))."""
LEAST_COVER_M: Final = 2 * INCH_M
"""No fix asks for less soil over the pipe (common practice, no source)."""
CUT_TO_DAYLIGHT_M: Final = 12 * INCH_M
"""An open end, at a slope or a curb, lies no more than this below the ground, or it needs a ditch
of its own (common practice, no source)."""
DEEPEST_POP_UP_M: Final = 24 * INCH_M
"""The riser of a pop-up is no longer (common practice, no source)."""

Change = Literal[
    "start_cover",
    "start_depth",
    "start_invert",
    "min_cover",
    "max_depth",
    "pipe",
    "outlet_depth",
    "outlet_invert",
    "outlet_kind",
    "end_at",
    "crossing",
    "grade_changes",
]


@dataclass(frozen=True)
class Knob:
    """A limit that can be loosened from `before_m` towards `last_m`, and the design with it.

    `widens`: it only lets more lines in; a start that is moved shuts others out.
    """

    change: Change
    before_m: float
    last_m: float
    turned: Callable[[float], Design]
    widens: bool = True


def _deepest_outlet_m(kind: OutletKind, outside_m: float) -> float:
    """How deep an outlet may be made; what opens at the surface, no deeper than it can be built."""
    if kind == "pop_up":
        return DEEPEST_POP_UP_M
    return outside_m + CUT_TO_DAYLIGHT_M if kind in SURFACE_OUTLETS else DEEPEST_M


def knobs(design: Design) -> list[Knob]:
    """Every limit in metres that may be loosened, and how far."""
    start, limits, outlet = design.start, design.limits, design.outlet
    found: list[Knob] = []
    to_start = f"start_{start.by}"
    outside_m = design.pipe.outside_m + limits.bedding_m
    highest = {
        "cover": min(limits.min_cover_m, start.value_m),
        "depth": min(limits.min_cover_m + outside_m, start.value_m),
        "invert": start.value_m + 2 * FOOT_M,
    }[start.by]
    found.append(
        Knob(
            to_start,  # type: ignore[arg-type]
            start.value_m,
            highest,
            lambda v: replace(design, start=replace(start, value_m=v, shallowest_cover_m=None)),
            widens=False,
        )
    )
    if limits.min_cover_m > LEAST_COVER_M:
        found.append(
            Knob(
                "min_cover",
                limits.min_cover_m,
                LEAST_COVER_M,
                lambda v: replace(design, limits=replace(limits, min_cover_m=v)),
            )
        )
    if limits.max_depth_m is not None and limits.max_depth_m < DEEPEST_M:
        found.append(
            Knob(
                "max_depth",
                limits.max_depth_m,
                DEEPEST_M,
                lambda v: replace(design, limits=replace(limits, max_depth_m=v)),
            )
        )
    deepest_m = _deepest_outlet_m(outlet.kind, outside_m)
    if outlet.by == "depth" and np.isfinite(outlet.most_m) and outlet.most_m < deepest_m:
        found.append(
            Knob(
                "outlet_depth",
                outlet.most_m,
                deepest_m,
                lambda v: replace(design, outlet=replace(outlet, most_m=v)),
            )
        )
    if outlet.by == "invert" and np.isfinite(outlet.least_m):
        found.append(
            Knob(
                "outlet_invert",
                outlet.least_m,
                outlet.least_m - 5 * FOOT_M,
                lambda v: replace(design, outlet=replace(outlet, least_m=v)),
            )
        )
    return [knob for knob in found if abs(knob.last_m - knob.before_m) > DECISION_SLACK_M]
