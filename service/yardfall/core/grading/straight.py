"""One straight grade from a start level, z = a − p·x, inside a band.

With the start fixed, each limit bounds p from one side:

    p ≥ (a − hi_i)/x_i (cover),  p ≤ (a − lo_i)/x_i (depth),  s ≤ p ≤ S.

Its margin is the least room over the lower limits below the flattest line that the cover allows,
and over hi_i − (a − S·x_i), what is left of the greatest grade. As everywhere, a point's one limit
with a range (an outlet's depth) is not held against itself: over its lower end counts the line that
its own upper end does not force down. Where the start may be raised, the margin is a concave
piecewise-linear function of a, and Newton's steps along its pieces reach the least raise that mends
a shortage, exactly and in few steps. The sums are compiled: one line takes microseconds, and
thousands of drawn grounds use them too.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numba import njit

from yardfall.core.grading.band import DECISION_SLACK_M, Band, Pinch, find_pinch

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

    The shortage told is never less than that of a line with any changes of grade.
    """
    x, hi, lo = band.at_m, band.hi_m, band.lo_m
    s, S = band.least_grade, band.greatest_grade
    flattest, steepest, i, turn, grade, room_m, j, steep_m = grades_from(
        x, hi, lo, band.collides, start_m, s, S
    )
    if steep_m < room_m:
        why = (band.lo_why[0], band.hi_why[j])
        pinch = Pinch(0, j, why, S * float(x[j]), start_m - float(hi[j]), steep=True)
    else:
        pinch = Pinch(
            0,
            i,
            (band.hi_why[0], band.lo_why[i]),
            start_m - float(lo[i]),
            grade * float(x[i]),
            turns_on=turn or None,
        )
    own = band.own_room(start_m)
    if own is not None and own.margin_m < pinch.margin_m:
        pinch = own
    found = StraightRange(start_m, flattest, steepest, pinch)
    if found.fits:
        return found
    bent = find_pinch(band.from_start(start_m))
    return replace(found, pinch=bent) if bent.margin_m < found.margin_m else found


def least_raise(band: Band, start_m: float, highest_m: float) -> StraightRange:
    """The range from the lowest start in [start_m, highest_m] that works.

    When none works, the range from the start with the least shortage.
    """
    limits = band.at_m, band.hi_m, band.lo_m, band.collides
    start_m, _ = raised_start(*limits, start_m, highest_m, band.least_grade, band.greatest_grade)
    return straight_from(band, start_m)


def warm() -> None:
    """Compile the loops below, or load what was compiled before, so that no caller waits."""
    one = np.array([0.0, 1.0])
    raised_start(one, one, one, one > 0, 1.0, 1.0, 0.01, np.inf)
    grades_from(one, one, one, one > 0, 1.0, 0.01, np.inf)


@njit(cache=True, nogil=True)
def grades_from(at, hi, lo, collides, start, s, S):  # type: ignore[no-untyped-def]
    """What limits (n,) leave to a straight line from `start`.

    The flattest grade under every upper limit and the steepest over every lower one; the point
    with the least room, the one that forces the line down there (0: none), the grade there and the
    room; the point that the greatest grade passes with the least room, and that room.
    """
    k, flattest, other, without, steepest = 0, s, 0, s, S
    for i in range(1, len(at)):
        fall = (start - hi[i]) / at[i]
        if fall > flattest:
            k, flattest, other, without = i, fall, k, flattest
        elif fall > without:
            other, without = i, fall
        steepest = min(steepest, (start - lo[i]) / at[i])
    low, turn, grade, room = len(at) - 1, 0, s, np.inf
    for i in range(1, len(at)):
        forced, steep_here = (k, flattest) if i != k or collides[i] else (other, without)
        here = start - lo[i] - steep_here * at[i]
        if here < room:
            low, turn, grade, room = i, forced, steep_here, here
    tight, left = len(at) - 1, np.inf
    if np.isfinite(S):
        for i in range(1, len(at)):
            if hi[i] - start + S * at[i] < left:
                tight, left = i, hi[i] - start + S * at[i]
    return flattest, steepest, low, turn, grade, room, tight, left


@njit(cache=True, nogil=True)
def _margin_from(at, hi, lo, collides, start, s, S):  # type: ignore[no-untyped-def]
    """Margin of a straight line from a start, and how it changes as the start is raised."""
    _, _, low, turn, _, room, _, left = grades_from(at, hi, lo, collides, start, s, S)
    if left < room:
        return left, -1.0
    return room, 1.0 - at[low] / at[turn] if turn else 1.0


@njit(cache=True, nogil=True)
def raised_start(at, hi, lo, collides, left, highest, s, S):  # type: ignore[no-untyped-def]
    """Start and margin after the least raise from `left` that works, else the best there is.

    The margin is a concave piecewise-linear function of the start: along its pieces from below,
    and between a rising and a falling one to the top.
    """
    right = max(highest, left)
    f_left, up = _margin_from(at, hi, lo, collides, left, s, S)
    if f_left >= -DECISION_SLACK_M or up <= 0 or right <= left:
        return left, f_left
    f_right, down = _margin_from(at, hi, lo, collides, right, s, S)
    if f_right < -DECISION_SLACK_M and down > 0:
        return right, f_right
    for _ in range(MOST_STEPS):
        there, falling = left - f_left / up, down <= 0
        if falling:
            there = min(there, (f_right - f_left + up * left - down * right) / (up - down))
        else:
            there = min(there, right)
        f, slope = _margin_from(at, hi, lo, collides, there, s, S)
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
