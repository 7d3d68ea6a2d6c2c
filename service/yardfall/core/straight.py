"""One straight grade from a start level, z = a − p·x, inside a band.

With the start fixed, each limit bounds p from one side:

    p ≥ (a − hi_i)/x_i (cover),  p ≤ (a − lo_i)/x_i (depth),  s ≤ p ≤ S.

Its margin is the least room over the lower limits below the flattest line that the cover allows,
and over hi_i − (a − S·x_i), what is left of the greatest grade. Where the start may be raised, that
is a concave piecewise-linear function of a, and Newton's steps along its pieces reach the least
raise that mends a shortage, exactly and in few steps. The sums are compiled: one line takes
microseconds, and thousands of drawn grounds use them too.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numba import njit

from yardfall.core.band import DECISION_SLACK_M, Band, Pinch, find_pinch

MOST_STEPS: Final = 100
"""A step for every piece of the margin at the most; ten are usual."""


@dataclass(frozen=True)
class StraightRange:
    """The grades a straight line from `start_m` may take.

    `flattest` meets every upper limit and the least grade; `steepest` is the most that every
    lower limit and the greatest grade allow. `pinch` is what leaves it least room.
    """

    start_m: float
    flattest: float
    steepest: float
    pinch: Pinch

    @property
    def margin_m(self) -> float:
        """Spare when positive, shortage when negative."""
        return self.pinch.margin_m

    @property
    def fits(self) -> bool:
        """Whether there is a straight line from this start."""
        return self.margin_m >= -DECISION_SLACK_M


def straight_from(band: Band, start_m: float) -> StraightRange:
    """Range of straight grades from a fixed start, and what leaves it least room.

    A line that falls short is told no less short than one with any changes of grade.
    """
    x, hi, lo = band.at_m, band.hi_m, band.lo_m
    s, S = band.least_grade, band.greatest_grade
    k, flattest, i, room_m, j, steep_m, steepest = grades_from(x, hi, lo, start_m, s, S)
    if steep_m < room_m:
        pinch = Pinch(
            0, j, (band.lo_why[0], band.hi_why[j]), S * float(x[j]), start_m - float(hi[j])
        )
    else:
        pinch = Pinch(
            0,
            i,
            (band.hi_why[0], band.lo_why[i]),
            start_m - float(lo[i]),
            flattest * float(x[i]),
            turns_on=k or None,
        )
    found = StraightRange(start_m, flattest, steepest, pinch)
    if found.fits or not np.isfinite(S):
        return found
    bent = find_pinch(band.from_start(start_m))
    return replace(found, pinch=bent) if bent.margin_m < found.margin_m else found


def least_raise(band: Band, start_m: float, highest_m: float) -> StraightRange:
    """The range from the lowest start in [start_m, highest_m] that works.

    When none works, the range from the start with the least shortage.
    """
    limits = band.at_m, band.hi_m, band.lo_m
    start_m, _ = raised_start(*limits, start_m, highest_m, band.least_grade, band.greatest_grade)
    return straight_from(band, start_m)


def warm() -> None:
    """Compile the loops below, or load what was compiled before, so that no caller waits."""
    one = np.array([0.0, 1.0])
    raised_start(one, one, one, 1.0, 1.0, 0.01, np.inf)
    grades_from(one, one, one, 1.0, 0.01, np.inf)


@njit(cache=True, nogil=True)
def grades_from(at, hi, lo, start, s, S):  # type: ignore[no-untyped-def]
    """What limits (n,) leave to a straight line from `start`.

    Seven values: the point that forces it down (0: none) and the flattest grade that it may have;
    the point with the least room below the flattest line, and that room; the point that the
    greatest grade passes with the least room, and that room; and the steepest grade.
    """
    k, flattest, steepest = 0, s, S
    for i in range(1, len(at)):
        fall = (start - hi[i]) / at[i]
        if fall > flattest:
            k, flattest = i, fall
        steepest = min(steepest, (start - lo[i]) / at[i])
    low, room, tight, steep = len(at) - 1, np.inf, len(at) - 1, np.inf
    for i in range(1, len(at)):
        here = start - lo[i] - flattest * at[i]
        if here < room:
            low, room = i, here
    if np.isfinite(S):
        for i in range(1, len(at)):
            here = hi[i] - start + S * at[i]
            if here < steep:
                tight, steep = i, here
    return k, flattest, low, room, tight, steep, steepest


@njit(cache=True, nogil=True)
def _margin_from(at, hi, lo, start, s, S):  # type: ignore[no-untyped-def]
    """Margin of a straight line from a start, and how it changes as the start is raised."""
    k, _, low, room, _, steep, _ = grades_from(at, hi, lo, start, s, S)
    if steep < room:
        return steep, -1.0
    return room, 1.0 - at[low] / at[k] if k else 1.0


@njit(cache=True, nogil=True)
def raised_start(at, hi, lo, left, highest, s, S):  # type: ignore[no-untyped-def]
    """Start and margin after the least raise from `left` that works, else the best there is.

    The margin is a concave piecewise-linear function of the start: along its pieces from below,
    and between a rising and a falling one to the top.
    """
    right = max(highest, left)
    f_left, up = _margin_from(at, hi, lo, left, s, S)
    if f_left >= -DECISION_SLACK_M or up <= 0 or right <= left:
        return left, f_left
    f_right, down = _margin_from(at, hi, lo, right, s, S)
    if f_right < -DECISION_SLACK_M and down > 0:
        return right, f_right
    for _ in range(MOST_STEPS):
        there, falling = left - f_left / up, down <= 0
        if falling:
            there = min(there, (f_right - f_left + up * left - down * right) / (up - down))
        else:
            there = min(there, right)
        f, slope = _margin_from(at, hi, lo, there, s, S)
        expected = f_left + up * (there - left)
        done = f >= -DECISION_SLACK_M or (f >= expected - DECISION_SLACK_M and slope <= 0)
        done = done or there <= left or (falling and there >= right)
        if done or slope > 0:
            left, f_left, up = there, f, slope
        else:
            right, f_right, down = there, f, slope
        if done:
            break
    return left, f_left
