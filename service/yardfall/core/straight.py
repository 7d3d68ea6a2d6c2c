"""One straight grade from a start level, z = a − p·x, inside a band.

With the start fixed, each limit bounds p from one side:

    p ≥ (a − hi_i)/x_i (cover),  p ≤ (a − lo_i)/x_i (depth),  s ≤ p ≤ S.

Where the start may be raised, the shortage is a concave piecewise-linear function of a, and
Newton's steps along its pieces reach the least raise that mends it, exactly and in few steps.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from yardfall.core.band import DECISION_SLACK_M, Band, Pinch


@dataclass(frozen=True)
class StraightRange:
    """The grades a straight line from `start_m` may take.

    `flattest` meets every upper limit and the least grade; `steepest` is the most that every
    lower limit and the greatest grade allow. `shortage` is None when flattest ≤ steepest, else
    the pinch. `slope` is how the margin changes as the start is raised.
    """

    start_m: float
    flattest: float
    steepest: float
    shortage: Pinch | None
    margin_m: float
    slope: float


def straight_from(band: Band, start_m: float) -> StraightRange:
    """Range of straight grades from a fixed start, and the shortage when there is none."""
    x, hi, lo = band.at_m[1:], band.hi_m[1:], band.lo_m[1:]
    s, S = band.least_grade, band.greatest_grade
    for_cover = (start_m - hi) / x
    k = int(np.argmax(for_cover))
    hinged = bool(for_cover[k] > s)
    flattest = float(for_cover[k]) if hinged else s

    too_steep_m = float(hi[k] - start_m + S * x[k]) if hinged and np.isfinite(S) else np.inf
    room = (start_m - lo) - flattest * x
    i = int(np.argmin(room))
    steepest = min(S, float(np.min((start_m - lo) / x)))

    if too_steep_m <= room[i]:
        margin, slope = too_steep_m, -1.0
        pinch = Pinch(
            0,
            k + 1,
            (band.lo_why[0], band.hi_why[k + 1]),
            S * float(x[k]),
            start_m - float(hi[k]),
        )
    else:
        margin = float(room[i])
        slope = 1 - float(x[i] / x[k]) if hinged else 1.0
        pinch = Pinch(
            0,
            i + 1,
            (band.hi_why[0], band.lo_why[i + 1]),
            start_m - float(lo[i]),
            flattest * float(x[i]),
            turns_on=k + 1 if hinged else None,
        )
    short = margin < -DECISION_SLACK_M
    return StraightRange(start_m, flattest, steepest, pinch if short else None, margin, slope)


def least_raise(band: Band, start_m: float, highest_m: float) -> StraightRange:
    """The range from the lowest start in [start_m, highest_m] that works.

    When none works, the range from the start with the least shortage.
    """
    left = straight_from(band, start_m)
    if left.shortage is None or left.slope <= 0 or highest_m <= start_m:
        return left
    right = straight_from(band, highest_m)
    if right.shortage is not None and right.slope > 0:
        return right
    while left.shortage is not None and left.slope > 0:
        step_m = -left.margin_m / left.slope
        here = straight_from(band, min(left.start_m + step_m, highest_m))
        if here.slope <= 0 and here.shortage is not None:
            return _peak(band, left, here)
        if here.start_m <= left.start_m:
            return left
        left = here
    return left


def _peak(band: Band, left: StraightRange, right: StraightRange) -> StraightRange:
    """The start with the greatest margin between a rising and a falling piece."""
    while True:
        rise = left.slope - right.slope
        top_m = (
            right.margin_m - left.margin_m + left.slope * left.start_m - right.slope * right.start_m
        ) / rise
        here = straight_from(band, top_m)
        reached = left.margin_m + left.slope * (top_m - left.start_m)
        if here.shortage is None or here.margin_m >= reached - DECISION_SLACK_M:
            return here
        if here.slope > 0 and here.start_m > left.start_m:
            left = here
        elif here.slope <= 0 and here.start_m < right.start_m:
            right = here
        else:
            return here
