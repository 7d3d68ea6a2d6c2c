"""Where ground that was only taken to lie even is to be measured next, and what would spoil a yes.

At each place the ground is raised, then lowered, straight to the places on either side, and the
line is decided anew: a rise goes past the greatest depth or a crossing, a dip takes the cover. The
height told is proven on both sides: with it the line fits, one step of a tape more and it does
not. For one straight grade, and for any number of changes, the heights that fit are an interval
that holds 0 (the limits are linear in line and height together), so that more spoils it too.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

from yardfall.core.arrays import Floats
from yardfall.core.design import Design
from yardfall.core.easing.lay import special_stations
from yardfall.core.easing.usual_limits import at_last, site_for
from yardfall.core.grading.alignment import align, stations_of
from yardfall.core.grading.band import DECISION_SLACK_M, find_pinch
from yardfall.core.grading.decision import band_of, decide, least_dig_line, ways_to_pass
from yardfall.core.ground.even_slope import ToMeasure, raised
from yardfall.core.ground.profile import GroundProfile
from yardfall.core.ground.route import Route
from yardfall.core.units import FOOT_M

MOST_PLACES: Final = 24
"""A longer run is measured in longer stretches first."""
MOST_OFF_M: Final = 3 * FOOT_M
"""Rises and dips are looked for up to this."""
NEAR_THE_END: Final = 0.25
"""No place is asked for within this share of a stretch from the end."""


def places_to_measure(length_m: float, every_m: float) -> tuple[float, ...]:
    """Stations between the two ends, every so far; no more than MOST_PLACES."""
    every_m *= max(1, math.ceil(length_m / every_m / MOST_PLACES - 1e-9))
    count = math.ceil(length_m / every_m - NEAR_THE_END) - 1
    return tuple(every_m * k for k in range(1, count + 1)) or (length_m / 2,)


def still_to_measure(
    route: Route,
    ground: GroundProfile,
    design: Design,
    asked_m: Floats,
    every_m: float,
    step_m: float,
) -> tuple[ToMeasure, ...]:
    """The places in order of the run; the one where least spoils it is `first`.

    `step_m` is the step of a tape that heights are told to. Where the ground is not known, or the
    line does not fit as it is, the places alone.
    """
    places = places_to_measure(route.length_m, every_m)
    if not ground.known or not line_fits(route, ground, design, asked_m):
        return tuple(ToMeasure(x, fits=False) for x in places)
    ends = (0.0, *places, route.length_m)

    def most(k: int, sign: int) -> float | None:
        def fits(steps: int) -> bool:
            by_m = (0.0, sign * steps * step_m, 0.0)
            changed = raised(ground, ends[k - 1 : k + 2], by_m)
            return line_fits(route, changed, design, asked_m)

        steps = most_steps(fits, math.floor(MOST_OFF_M / step_m))
        return None if steps is None else steps * step_m

    found = [(x, most(k, 1), most(k, -1)) for k, x in enumerate(places, 1)]
    least = min(min(r, d) for _, r, d in [(x, _or_inf(r), _or_inf(d)) for x, r, d in found])
    return tuple(
        ToMeasure(x, True, r, d, min(_or_inf(r), _or_inf(d)) == least < math.inf)
        for x, r, d in found
    )


def line_fits(route: Route, ground: GroundProfile, design: Design, asked_m: Floats) -> bool:
    """Whether the plan's verdict would be yes; without the shortage, which takes long where a
    shape blocks."""
    shown_m = stations_of(route, ground, asked_m, special_stations(design))
    site = site_for(design, ground, route.length_m)
    design = at_last(design, site, route.length_m)
    points = align(ground, shown_m, route.length_m, design.limits)
    if design.straight:
        return decide(design, points).yes
    bands = (band_of(design, points, ways) for ways in ways_to_pass(design.crossings))
    return any(
        find_pinch(band).margin_m >= -DECISION_SLACK_M
        and least_dig_line(design.grading, band, points, any_line=True) is not None
        for band in bands
    )


def _or_inf(value: float | None) -> float:
    return math.inf if value is None else value


def most_steps(fits: Callable[[int], bool], most: int) -> int | None:
    """The most whole steps that fit while one more does not; None where `most` still fit.

    Zero steps are taken to fit. Both sides of the answer were tried.
    """
    if fits(most):
        return None
    low, high = 0, most
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if fits(middle) else (low, middle)
    return low
