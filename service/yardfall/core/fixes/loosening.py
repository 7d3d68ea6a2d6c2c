"""The limits of a design that may be loosened, and how far."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Any, Final, Literal

import numpy as np

from yardfall.core.design import SURFACE_OUTLETS, Design, Outlet, Start
from yardfall.core.easing.site import Site
from yardfall.core.easing.usual_limits import usual_outlet, values_of
from yardfall.core.grading.band import DECISION_SLACK_M
from yardfall.core.ground.route import SAME_STATION_M
from yardfall.core.units import FOOT_M, INCH_M
from yardfall.core.usual import Usual

DEEPEST_M: Final = 60 * INCH_M
"""No fix asks for a deeper trench: nobody may stand in it unprotected (29 CFR 1926.652(a)(1))."""
CUT_M: Final = {"us": 12 * INCH_M, "si": 0.300}
"""An open end, at a slope or a curb, lies no more than this below the ground, or it needs a ditch
of its own (common practice, no source)."""
RAISED_M: Final = 2 * FOOT_M
"""How far above the stated invert another is looked for."""
LOWERED_M: Final = 5 * FOOT_M
"""How far below it."""
FLATTEST: Final = 0.003
"""No fix asks for a flatter grade: a crew cannot lay it (common practice, no source)."""
STEEPEST: Final = 1.0
"""No fix allows a steeper one."""

Change = Literal[
    "start_cover",
    "start_depth",
    "start_invert",
    "min_cover",
    "run_out",
    "max_depth",
    "min_grade",
    "max_grade",
    "pipe",
    "outlet_depth",
    "outlet_depth_min",
    "outlet_invert",
    "outlet_invert_max",
    "outlet_kind",
    "end_at",
    "crossing",
    "grade_changes",
    "soil_start",
    "soil_dip",
    "soil_hump",
]
Quantity = Literal["depth", "level", "length", "percent", "count", "name"]
QUANTITIES: Final[dict[Change, Quantity]] = {
    "start_invert": "level",
    "outlet_invert": "level",
    "outlet_invert_max": "level",
    "run_out": "length",
    "end_at": "length",
    "min_grade": "percent",
    "max_grade": "percent",
    "grade_changes": "count",
    "pipe": "name",
    "outlet_kind": "name",
    "crossing": "name",
}
"""What a change is told in; a depth where it is not listed."""


@dataclass(frozen=True)
class Knob:
    """A limit that can be loosened from `before` towards `last`, and the design with it.

    Metres, or a ratio for a grade. `rank` is its place in the order a contractor tries. `widens`:
    it only lets more lines in; a start that is moved shuts others out.
    """

    change: Change
    rank: int
    before: float
    last: float
    turned: Callable[[float], Design]
    widens: bool = True


def knobs(
    design: Design,
    held: Design | None = None,
    site: Site | None = None,
    length_m: float | None = None,
    *,
    ends_free: bool = True,
) -> list[Knob]:
    """Every limit that may be loosened, and how far.

    `design` is as asked for, and `held` the same with its usual values at their last: a value
    that nobody stated can only be loosened past that. Without the `site` a ditch at a daylight
    end cannot be told, nor a run-out without the line's length.
    `ends_free` is false for a line whose end another line sets.
    """
    held = held or design
    found = [
        *_starts(design, held, length_m),
        *_cover(design, held),
        *_run_out(design, held, length_m),
        *_depths(design),
        *_grades(design),
    ]
    if ends_free and design.outlet.kind != "curb":  # the gutter is where it is
        found += [*_outlet_depths(design, held, site), *_outlet_inverts(design)]
    return [knob for knob in found if abs(knob.last - knob.before) > DECISION_SLACK_M]


def _starts(design: Design, held: Design, length_m: float | None) -> Iterator[Knob]:
    """A shallower start, and a deeper one."""
    start, values = design.start, values_of(design)
    least_m = _least_cover_m(design, held, values, length_m)
    outside_m = design.pipe.outside_m + design.limits.bedding_m
    change: Change = f"start_{start.by}"  # type: ignore[assignment]

    def started(value: float, shallowest_m: float | None) -> Design:
        changed = Start(start.by, value, shallowest_m)
        return replace(design, start=changed)

    highest = {
        "cover": min(least_m, start.value_m),
        "depth": min(least_m + outside_m, start.value_m),
        "invert": start.value_m + RAISED_M,
    }[start.by]
    deepest = {
        "cover": max(values.deep_m - outside_m, start.value_m),
        "depth": max(values.deep_m, start.value_m),
        "invert": start.value_m - LOWERED_M,
    }[start.by]
    yield Knob(change, 2, start.value_m, highest, lambda v: started(v, None), widens=False)
    shallowest_m = start.shallowest_cover_m
    yield Knob(
        change,
        5,
        start.value_m,
        deepest,
        lambda v: started(v, shallowest_m),
        widens=shallowest_m is not None,
    )


def _least_cover_m(design: Design, held: Design, values: Usual, length_m: float | None) -> float:
    """The least cover that a start may have."""
    limits, least_m = held.limits, held.limits.min_cover_m
    if design.open is not None and design.open.cover:
        return values.thin_cover_m
    if limits.run_in_m:
        least_m = min(least_m, limits.run_in_cover_m)
    if length_m is not None and limits.outlet_taper_m >= length_m - SAME_STATION_M:
        least_m = min(least_m, values.thin_cover_m)  # the run-out is the whole run
    return least_m


def _cover(design: Design, held: Design) -> Iterator[Knob]:
    """Less cover along the line; where nobody stated it, only where the run-out cannot give."""
    free, last_m = design.open, values_of(design).thin_cover_m
    surface = design.outlet.kind in SURFACE_OUTLETS
    if free is not None and free.cover and free.run_out and surface:
        return
    if held.limits.min_cover_m <= last_m:
        return

    def covered(value: float) -> Design:
        limits = replace(design.limits, min_cover_m=value)
        return _stated(replace(design, limits=limits), cover=False)

    yield Knob("min_cover", 2, held.limits.min_cover_m, last_m, covered)


def _run_out(design: Design, held: Design, length_m: float | None) -> Iterator[Knob]:
    """A longer run-out of cover, where something stated keeps it from giving way by itself."""
    free = design.open
    if length_m is None or design.outlet.kind not in SURFACE_OUTLETS:
        return
    if free is not None and free.cover and free.run_out:
        return
    now_m = held.limits.outlet_taper_m
    if now_m >= length_m:
        return
    yield Knob("run_out", 2, now_m, length_m, lambda v: _running_out(design, v))


def _running_out(design: Design, length_m: float) -> Design:
    values = values_of(design)
    limits = replace(
        design.limits,
        outlet_taper_m=length_m,
        run_out_cover_m=values.thin_cover_m,
        open_end_m=min(values.run_out_m, length_m),
    )
    return _stated(replace(design, limits=limits), run_out=False)


def _depths(design: Design) -> Iterator[Knob]:
    limits, last_m = design.limits, values_of(design).deep_m
    if limits.max_depth_m is None or limits.max_depth_m >= last_m:
        return
    yield Knob(
        "max_depth",
        4,
        limits.max_depth_m,
        last_m,
        lambda v: replace(design, limits=replace(limits, max_depth_m=v)),
    )


def _grades(design: Design) -> Iterator[Knob]:
    grading = design.grading
    if grading.min_grade > FLATTEST:
        yield Knob(
            "min_grade",
            6,
            grading.min_grade,
            FLATTEST,
            lambda v: replace(design, grading=replace(grading, min_grade=v)),
        )
    if grading.max_grade < STEEPEST:
        yield Knob(
            "max_grade",
            3,
            grading.max_grade,
            STEEPEST,
            lambda v: replace(design, grading=replace(grading, max_grade=v)),
        )


def _outlet_depths(design: Design, held: Design, site: Site | None) -> Iterator[Knob]:
    outlet, values = design.outlet, values_of(design)
    if outlet.by != "depth":
        return
    before_m = held.outlet.most_m
    if design.open is not None and design.open.outlet_depth:
        if outlet.kind == "pop_up" and not np.isfinite(before_m):
            before_m = values.pop_up_last_m  # the ground is not known
        last_m = _past_last_m(outlet, values, site)
    else:
        last_m = _deepest_outlet_m(design, values, site)
        usual = usual_outlet(outlet.kind, design.pipe.outside_m, values)
        least_m = max(0.0, usual.least_m) if usual is not None else 0.0
        if np.isfinite(outlet.least_m) and outlet.least_m > least_m:
            yield Knob(
                "outlet_depth_min",
                3,
                outlet.least_m,
                least_m,
                lambda v: _ending(design, replace(outlet, least_m=v)),
            )
    if np.isfinite(before_m) and before_m < last_m:
        yield Knob(
            "outlet_depth",
            4,
            before_m,
            last_m,
            lambda v: _ending(design, replace(outlet, most_m=v)),
        )


def _past_last_m(outlet: Outlet, values: Usual, site: Site | None) -> float:
    """How deep an end that nobody stated may be made past its last usual value."""
    if outlet.kind == "pop_up":
        return values.longest_riser_m
    if outlet.kind == "daylight" and site is not None:
        return site.fall_within(values.longest_ditch_m)
    return -np.inf


def _deepest_outlet_m(design: Design, values: Usual, site: Site | None) -> float:
    """How deep an outlet may be made; what opens at the surface, no deeper than it can be built."""
    kind = design.outlet.kind
    if kind == "pop_up":
        return values.longest_riser_m
    if kind not in SURFACE_OUTLETS:
        return values.deep_m
    deepest_m = design.pipe.outside_m + design.limits.bedding_m + CUT_M[values.units]
    if kind == "daylight" and site is not None:
        return max(deepest_m, site.fall_within(values.longest_ditch_m))
    return deepest_m


def _outlet_inverts(design: Design) -> Iterator[Knob]:
    outlet = design.outlet
    if outlet.by != "invert":
        return
    if np.isfinite(outlet.least_m):
        yield Knob(
            "outlet_invert",
            4,
            outlet.least_m,
            outlet.least_m - LOWERED_M,
            lambda v: replace(design, outlet=replace(outlet, least_m=v)),
        )
    if np.isfinite(outlet.most_m):
        yield Knob(
            "outlet_invert_max",
            3,
            outlet.most_m,
            outlet.most_m + LOWERED_M,
            lambda v: replace(design, outlet=replace(outlet, most_m=v)),
        )


def _ending(design: Design, outlet: Outlet) -> Design:
    return _stated(replace(design, outlet=outlet), outlet_depth=False)


def _stated(design: Design, **now: Any) -> Design:
    """The design with limits that were open stated."""
    if design.open is None:
        return design
    return replace(design, open=replace(design.open, **now))


def same_knob(options: list[Knob], wanted: Knob) -> Knob | None:
    """The knob of the same limit and direction among others."""
    return next((k for k in options if (k.change, k.rank) == (wanted.change, wanted.rank)), None)
