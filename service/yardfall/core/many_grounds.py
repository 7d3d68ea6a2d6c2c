"""One line on many grounds at once: whether it exists on each, and how high it may end.

The limits of a band are moved with the ground, draw by draw, in compiled loops that keep no
table of them. The sums are those of `band.find_pinch` for a line of many grades, and of
`straight.straight_from` and `straight.least_raise` for one straight grade.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from yardfall.core.band import DECISION_SLACK_M, Band
from yardfall.core.route import Floats

MOST_STEPS: Final = 100
"""A step for every piece of the margin at the most; ten are usual."""


@dataclass(frozen=True, eq=False)
class Caps:
    """More upper limits: levels (k, d) on each ground, at some of the points (k,)."""

    point: NDArray[np.int64]
    level_m: Floats


def on_many_grounds(
    band: Band, change_m: Floats, *, straight: bool, may_rise: bool, caps: Caps | None = None
) -> tuple[Floats, Floats]:
    """Margin (d,) and highest end (d,) of the line where the ground is higher by (n, d).

    `straight` holds it to one grade, from the lower limit of its start, or, where it `may_rise`,
    from as little above that as makes it fit. Otherwise any number of changes of grade counts.
    """
    layers = band.layers
    assert layers is not None, "this band was made without its layers"
    if caps is None:
        caps = Caps(np.empty(0, dtype=np.int64), np.empty((0, change_m.shape[1])))
    limits = (
        band.at_m,
        layers.hi_ground_m,
        layers.hi_level_m,
        layers.lo_ground_m,
        layers.lo_level_m,
        np.ascontiguousarray(change_m),
        caps.point,
        caps.level_m,
        band.collides,
        band.least_grade,
        band.greatest_grade,
    )
    if not straight:
        margin_m, end_m = _bent(*limits)
        return margin_m, end_m
    margin_m, end_m = _straight(*limits)
    if may_rise:
        _raise_all(*limits, margin_m, end_m)
    return margin_m, end_m


def warm() -> None:
    """Compile the loops below, or load what was compiled before, so that no caller waits."""
    one = np.ones(2)
    limits = (
        one, one, one, one, one, np.ones((2, 1)), np.empty(0, dtype=np.int64), np.empty((0, 1)),
        np.ones(2, dtype=np.bool_), 0.01, np.inf,
    )  # fmt: skip
    _bent(*limits)
    _raise_all(*limits, *_straight(*limits))


@njit(cache=True, nogil=True)
def _upper(i, hi_ground, hi_level, change, cap_at, cap, hi):  # type: ignore[no-untyped-def]
    """The upper limit of one point on every ground, into `hi` (d,)."""
    ground, level = hi_ground[i], hi_level[i]
    for d in range(len(hi)):
        hi[d] = min(ground + change[i, d], level)
    for j in range(len(cap_at)):
        if cap_at[j] == i:
            for d in range(len(hi)):
                hi[d] = min(hi[d], cap[j, d])


@njit(cache=True, nogil=True)
def _bent(  # type: ignore[no-untyped-def]
    at, hi_ground, hi_level, lo_ground, lo_level, change, cap_at, cap, collides, s, S
):
    points, draws = change.shape
    hi, top = np.empty(draws), np.full(draws, np.inf)
    deep, least = np.full(draws, -np.inf), np.full(draws, np.inf)
    for i in range(points):
        _upper(i, hi_ground, hi_level, change, cap_at, cap, hi)
        fall, drop, ground, level = s * at[i], S * at[i], lo_ground[i], lo_level[i]
        if np.isfinite(S):
            for d in range(draws):
                least[d] = min(least[d], hi[d] - (deep[d] - drop))
        if max(ground, level) > -np.inf:
            for d in range(draws):
                lo = max(ground + change[i, d], level)
                least[d] = min(least[d], top[d] - fall - lo)
            if collides[i]:
                for d in range(draws):
                    least[d] = min(least[d], hi[d] - max(ground + change[i, d], level))
            if np.isfinite(S):
                for d in range(draws):
                    deep[d] = max(deep[d], max(ground + change[i, d], level) + drop)
        for d in range(draws):
            top[d] = min(top[d], hi[d] + fall)
    return least, top - s * at[-1]


@njit(cache=True, nogil=True)
def _straight(  # type: ignore[no-untyped-def]
    at, hi_ground, hi_level, lo_ground, lo_level, change, cap_at, cap, collides, s, S
):
    points, draws = change.shape
    hi, start = np.empty(draws), np.empty(draws)
    flattest, least = np.full(draws, s), np.full(draws, np.inf)
    _upper(0, hi_ground, hi_level, change, cap_at, cap, hi)
    for d in range(draws):
        start[d] = max(lo_ground[0] + change[0, d], lo_level[0])
        if collides[0]:
            least[d] = hi[d] - start[d]
    for i in range(1, points):
        per_m = 1.0 / at[i]
        _upper(i, hi_ground, hi_level, change, cap_at, cap, hi)
        for d in range(draws):
            flattest[d] = max(flattest[d], (start[d] - hi[d]) * per_m)
    for i in range(1, points):
        if max(lo_ground[i], lo_level[i]) > -np.inf:
            for d in range(draws):
                lo = max(lo_ground[i] + change[i, d], lo_level[i])
                least[d] = min(least[d], start[d] - flattest[d] * at[i] - lo)
        if np.isfinite(S):
            _upper(i, hi_ground, hi_level, change, cap_at, cap, hi)
            for d in range(draws):
                if flattest[d] > s:
                    least[d] = min(least[d], hi[d] - start[d] + S * at[i])
    return least, start - flattest * at[-1]


@njit(cache=True, nogil=True)
def _raise_all(  # type: ignore[no-untyped-def]
    at, hi_ground, hi_level, lo_ground, lo_level, change, cap_at, cap, collides, s, S, margin, end
):
    """Margins and ends where the start may rise, in place of those of the stated one.

    Raising it raises the end until the cover somewhere forces a steeper grade; beyond that it
    lowers the end, and is done only as far as the lower limits ask.
    """
    points, draws = change.shape
    hi, lo = np.empty(points), np.empty(points)
    for d in range(draws):
        free = np.inf
        for i in range(points):
            hi[i] = min(hi_ground[i] + change[i, d], hi_level[i])
            lo[i] = max(lo_ground[i] + change[i, d], lo_level[i])
        for j in range(len(cap_at)):
            hi[cap_at[j]] = min(hi[cap_at[j]], cap[j, d])
        for i in range(1, points):
            free = min(free, hi[i] + s * at[i])
        if margin[d] < -DECISION_SLACK_M:
            _, raised = _least_raise(at, hi, lo, lo[0], hi[0], s, S)
            margin[d] = min(raised, hi[0] - lo[0]) if collides[0] else raised
        highest = max(hi[0], lo[0])
        start, _ = _least_raise(at, hi, lo, min(max(free, lo[0]), highest), highest, s, S)
        flattest = s
        for i in range(1, points):
            flattest = max(flattest, (start - hi[i]) / at[i])
        end[d] = start - flattest * at[-1]


@njit(cache=True, nogil=True)
def _least_raise(at, hi, lo, left, highest, s, S):  # type: ignore[no-untyped-def]
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


@njit(cache=True, nogil=True)
def _margin_from(at, hi, lo, start, s, S):  # type: ignore[no-untyped-def]
    """Margin of the flattest line from a start, and how it changes as the start is raised."""
    k, flattest = 0, s
    for i in range(1, len(at)):
        fall = (start - hi[i]) / at[i]
        if fall > flattest:
            k, flattest = i, fall
    low, margin = 1, np.inf
    for i in range(1, len(at)):
        room = start - lo[i] - flattest * at[i]
        if room < margin:
            low, margin = i, room
    if k == 0:
        return margin, 1.0
    steep = hi[k] - start + S * at[k] if np.isfinite(S) else np.inf
    if steep <= margin:
        return steep, -1.0
    return margin, 1.0 - at[low] / at[k]
