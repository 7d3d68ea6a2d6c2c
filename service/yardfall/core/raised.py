"""Raising the start of a straight grade, for many sets of limits at once.

For each set the margin is a concave piecewise-linear function of the start's level, as in
`straight`, so the same steps serve: along the pieces from below, and between a rising and a
falling piece to the top. All sets step together, each until it is done.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from yardfall.core.band import DECISION_SLACK_M, Band
from yardfall.core.route import Floats

MOST_STEPS: Final = 100
"""A step for every piece at the most; ten are usual."""


def margins_from(band: Band, hi_m: Floats, lo_m: Floats, start_m: Floats) -> tuple[Floats, Floats]:
    """Margin and its slope (d,) at given starts (d,), for many sets of limits (n, d).

    The same sums as `straight.straight_from`.
    """
    x, s, S = band.at_m[1:, None], band.least_grade, band.greatest_grade
    each = np.arange(len(start_m))
    falls = (start_m - hi_m[1:]) / x
    k = falls.argmax(axis=0)
    hinged = falls[k, each] > s
    flattest = np.maximum(falls[k, each], s)
    room = start_m - lo_m[1:] - flattest * x
    i = room.argmin(axis=0)
    x_i, x_k = band.at_m[1:][i], band.at_m[1:][k]
    slope = np.where(hinged, 1 - x_i / x_k, 1.0)
    margin: Floats = room[i, each]
    if np.isfinite(S):
        steep = np.where(hinged, hi_m[1:][k, each] - start_m + S * x_k, np.inf)
        slope = np.where(steep <= margin, -1.0, slope)
        margin = np.minimum(margin, steep)
    return margin, slope


def least_raises(
    band: Band, hi_m: Floats, lo_m: Floats, start_m: Floats, highest_m: Floats
) -> tuple[Floats, Floats]:
    """Start and margin (d,) after the least raise from `start_m` (d,) that works.

    Where none up to `highest_m` (d,) works: the start with the greatest margin, below zero.
    """
    left, right = start_m.copy(), np.maximum(highest_m, start_m)
    f_left, up = margins_from(band, hi_m, lo_m, left)
    f_right, down = margins_from(band, hi_m, lo_m, right)
    open_ = (f_left < -DECISION_SLACK_M) & (up > 0) & (right > left)
    topped = open_ & (f_right < -DECISION_SLACK_M) & (down > 0)
    left[topped], f_left[topped] = right[topped], f_right[topped]
    active = np.flatnonzero(open_ & ~topped)
    for _ in range(MOST_STEPS):
        if not len(active):
            break
        a, b, fa, fb = left[active], right[active], f_left[active], f_right[active]
        rise = up[active]
        to_zero = a - fa / rise
        falling = down[active] <= 0
        gap = np.where(falling, rise - down[active], 1.0)
        crossing = (fb - fa + rise * a - down[active] * b) / gap
        there = np.where(falling, np.minimum(to_zero, crossing), np.minimum(to_zero, b))
        f, slope = margins_from(band, hi_m[:, active], lo_m[:, active], there)
        expected = fa + rise * (there - a)
        done = (f >= -DECISION_SLACK_M) | (f >= expected - DECISION_SLACK_M) & (slope <= 0)
        done |= (there <= a) | (falling & (there >= b))
        lower = done | (slope > 0)
        moved = active[lower]
        left[moved], f_left[moved], up[moved] = there[lower], f[lower], slope[lower]
        moved = active[~lower]
        right[moved], f_right[moved], down[moved] = there[~lower], f[~lower], slope[~lower]
        active = active[~done]
    return left, f_left


def raised_margins(band: Band, hi_m: Floats, lo_m: Floats, margin_m: Floats) -> Floats:
    """Margins (d,) where the start may be raised, from those of the stated start, `lo_m[0]`."""
    better = margin_m.copy()
    short = np.flatnonzero(margin_m < -DECISION_SLACK_M)
    if len(short):
        hi, lo = hi_m[:, short], lo_m[:, short]
        _, raised = least_raises(band, hi, lo, lo[0], hi[0])
        own = hi[0] - lo[0] if band.collides[0] else np.inf
        better[short] = np.minimum(raised, own)
    return better


def straight_ends(band: Band, hi_m: Floats, lo_m: Floats, *, may_rise: bool) -> Floats:
    """The highest level (d,) at which a straight grade may end, for many limits (n, d).

    Raising the start raises the end until the cover somewhere forces a steeper grade; beyond
    that it lowers the end, and is done only as far as the lower limits ask.
    """
    x, s = band.at_m[:, None], band.least_grade
    start = lo_m[0].copy()
    if may_rise:
        highest = np.maximum(hi_m[0], start)
        start = np.clip((hi_m[1:] + s * x[1:]).min(axis=0), start, highest)
        start, _ = least_raises(band, hi_m, lo_m, start, highest)
    flattest = np.maximum(s, ((start - hi_m[1:]) / x[1:]).max(axis=0))
    ends: Floats = start - flattest * x[-1, 0]
    return ends


def bent_ends(band: Band, hi_m: Floats) -> Floats:
    """The highest level (d,) at which a line of many grades may end, for many limits (n, d)."""
    fall_m = band.least_grade * band.at_m[:, None]
    ends: Floats = (hi_m + fall_m).min(axis=0) - fall_m[-1]
    return ends
