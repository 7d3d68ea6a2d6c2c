"""One line on many grounds at once: whether it exists on each, and how high it may end.

The limits of a band are moved with the ground, draw by draw, in compiled loops that keep no
table of them. The sums are those of `band.find_pinch` for a line of many grades, and of
`straight.straight_from` and `straight.least_raise` for one straight grade.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from yardfall.core import deadline
from yardfall.core.arrays import Floats
from yardfall.core.grading.band import DECISION_SLACK_M, Band
from yardfall.core.grading.one_break import one_break_margin
from yardfall.core.grading.straight import raised_start
from yardfall.core.numerics.interpolation import straight_between


@dataclass(frozen=True, eq=False)
class Caps:
    """More upper limits: levels (k, d) on each ground, at some of the points (k,)."""

    point: NDArray[np.int64]
    level_m: Floats


def on_many_grounds(
    band: Band,
    change_m: Floats,
    *,
    straight: bool,
    may_rise: bool,
    caps: Caps | None = None,
    one_change: bool = False,
    fits_only: bool = False,
) -> tuple[Floats, Floats]:
    """Margin (d,) and highest end (d,) of the line where the ground is higher by (n, d).

    `straight` holds it to one grade, from the lower limit of its start, or, where it `may_rise`,
    from as little above that as makes it fit. Otherwise any number of changes of grade counts; for
    the margin `one_change` counts one, at the band's places for it, with `fits_only` no further
    than to tell whether there is a line.
    """
    layers = band.layers
    assert layers is not None, "this band was made without its layers"
    collides = band.collides
    if caps is None:
        caps = Caps(np.empty(0, dtype=np.int64), np.empty((0, change_m.shape[1])))
    else:
        collides = collides.copy()
        collides[caps.point] = True
    limits = (
        band.at_m,
        layers.hi_ground_m,
        layers.hi_level_m,
        layers.lo_ground_m,
        layers.lo_level_m,
        np.ascontiguousarray(change_m),
        caps.point,
        caps.level_m,
        collides,
        band.least_grade,
        band.greatest_grade,
    )
    if not straight:
        margin_m, end_m = _bent(*limits)
        if one_change and band.changes_at is not None:
            straight_m, _ = _straight(*limits)
            _with_one_change(
                *limits, band.changes_at, straight_m, margin_m, deadline.flag(), fits_only
            )
            deadline.check()
    else:
        margin_m, end_m = _straight(*limits)
        if may_rise:
            _raise_all(*limits, margin_m, end_m)
    highest_m, _ = band.over_end
    if math.isfinite(highest_m) and not collides[-1]:
        lowest_m = np.maximum(layers.lo_ground_m[-1] + change_m[-1], layers.lo_level_m[-1])
        margin_m = np.minimum(margin_m, highest_m + change_m[-1] - lowest_m)
    return margin_m, end_m


@njit(cache=True, nogil=True)
def fitting_and_spread(margin):  # type: ignore[no-untyped-def]
    """How many of margins (d,) leave a line, and their standard deviation; 0 if one is infinite."""
    fitting, total, square = 0, 0.0, 0.0
    for d in range(len(margin)):
        fitting += margin[d] >= -DECISION_SLACK_M
        total += margin[d]
    mean = total / len(margin)
    for d in range(len(margin)):
        square += (margin[d] - mean) ** 2
    return fitting, np.sqrt(square / len(margin)) if np.isfinite(mean) else 0.0


def warm() -> None:
    """Compile the loops below, or load what was compiled before, so that no caller waits."""
    one = np.ones(2)
    limits = (
        one, one, one, one, one, np.ones((2, 1)), np.empty(0, dtype=np.int64), np.empty((0, 1)),
        np.ones(2, dtype=np.bool_), 0.01, np.inf,
    )  # fmt: skip
    _bent(*limits)
    _raise_all(*limits, *_straight(*limits))
    margin_m, straight_m = _straight(*limits)
    _with_one_change(*limits, np.array([1]), straight_m, margin_m, deadline.flag(), False)
    fitting_and_spread(one)
    straight_between(np.eye(2), np.array([0.0, 1.0]), one)


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
    # The steepest and the next that a limit with a range of its own asks for, and where.
    own, next_own, own_at = np.full(draws, s), np.full(draws, s), np.zeros(draws, np.int64)
    _upper(0, hi_ground, hi_level, change, cap_at, cap, hi)
    for d in range(draws):
        start[d] = max(lo_ground[0] + change[0, d], lo_level[0])
        if collides[0]:
            least[d] = hi[d] - start[d]
    for i in range(1, points):
        per_m = 1.0 / at[i]
        _upper(i, hi_ground, hi_level, change, cap_at, cap, hi)
        if np.isfinite(S):
            for d in range(draws):
                least[d] = min(least[d], hi[d] - start[d] + S * at[i])
        if collides[i]:
            for d in range(draws):
                flattest[d] = max(flattest[d], (start[d] - hi[d]) * per_m)
            continue
        for d in range(draws):
            fall = (start[d] - hi[d]) * per_m
            if fall > own[d]:
                own[d], next_own[d], own_at[d] = fall, own[d], i
            else:
                next_own[d] = max(next_own[d], fall)
    for i in range(1, points):
        if max(lo_ground[i], lo_level[i]) == -np.inf:
            continue
        for d in range(draws):
            forced = own[d] if own_at[d] != i else next_own[d]
            lo = max(lo_ground[i] + change[i, d], lo_level[i])
            least[d] = min(least[d], start[d] - max(flattest[d], forced) * at[i] - lo)
    return least, start - np.maximum(flattest, own) * at[-1]


@njit(cache=True, nogil=True)
def _with_one_change(  # type: ignore[no-untyped-def]
    at, hi_ground, hi_level, lo_ground, lo_level, change, cap_at, cap, collides, s, S,
    places, straight, margin, over, fits_only,
):  # fmt: skip
    """Margins of a line with one change of grade at the most, in place of those with any number.

    Neither more than those nor less than one `straight` grade leaves; a place that was best on
    the ground before is tried first.
    """
    points, draws = change.shape
    hi, lo, levels, tried = np.empty(points), np.empty(points), np.empty(3), places.copy()
    for d in range(draws):
        if over[0]:
            break
        if straight[d] >= margin[d] - DECISION_SLACK_M:
            continue
        if fits_only and (straight[d] >= -DECISION_SLACK_M or margin[d] < -DECISION_SLACK_M):
            continue  # it is told already
        for i in range(points):
            hi[i] = min(hi_ground[i] + change[i, d], hi_level[i])
            lo[i] = max(lo_ground[i] + change[i, d], lo_level[i])
        for j in range(len(cap_at)):
            hi[cap_at[j]] = min(hi[cap_at[j]], cap[j, d])
        most = margin[d]
        enough = -DECISION_SLACK_M if fits_only else most - DECISION_SLACK_M
        found, place = one_break_margin(
            at, hi, lo, collides, lo[0], hi[0], s, S, tried, enough, levels, over
        )
        margin[d] = min(max(found, straight[d]), most)
        for j in range(len(tried)):
            if tried[j] == place:
                tried[j], tried[0] = tried[0], place


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
            _, raised = raised_start(at, hi, lo, collides, lo[0], hi[0], s, S)
            margin[d] = min(raised, hi[0] - lo[0]) if collides[0] else raised
        highest = max(hi[0], lo[0])
        start, _ = raised_start(at, hi, lo, collides, min(max(free, lo[0]), highest), highest, s, S)
        flattest = s
        for i in range(1, points):
            flattest = max(flattest, (start - hi[i]) / at[i])
        end[d] = start - flattest * at[-1]
