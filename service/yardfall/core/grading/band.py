"""The band an invert must stay in, and the exact answer to "does it fall enough?"

At every point i of the profile the limits say lo_i ≤ z_i ≤ hi_i, and between neighbours the
invert falls by at least s·d and, where a greatest grade is set, by at most S·d. Bounds on the
differences of neighbours along a chain meet in pairs: a line exists if and only if

    hi_j − s·L_ji ≥ lo_i   for every j upstream of i, and
    hi_i + S·L_ij ≥ lo_j   for every j upstream of i (only with S),

and lo_i ≤ hi_i. The least of these margins is the spare; the pair that gives it is the pinch.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from operator import ne
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from yardfall.core.arrays import Floats

DECISION_SLACK_M: Final = 1e-9
"""A margin above minus this counts as met: a nanometre, for floating-point rounding only."""
NOTHING, OWN, TOO_FLAT, TOO_STEEP = range(4)
"""What collides: one point's own limits, or two points' by the least or the greatest grade."""


@dataclass(frozen=True, eq=False)
class Layers:
    """The limits apart: those that move with the ground and those at a fixed level, (n,) each."""

    hi_ground_m: Floats
    lo_ground_m: Floats
    hi_level_m: Floats
    lo_level_m: Floats


@dataclass(frozen=True, eq=False)
class Band:
    """Limits on the invert at stations (n,), and the name of the limit that sets each.

    `lo_m` may be -inf. `least_grade` s and `greatest_grade` S are ratios; S may be inf.
    `layers` is kept for asking what other ground would do to the limits. `under_start` is the
    lower limit at the first point beside that of the start itself, and its name; `over_end` the
    upper limit at the last point beside that of the outlet itself. `changes_at` are the points
    where the grade may change, None: any.
    """

    at_m: Floats
    hi_m: Floats
    lo_m: Floats
    hi_why: tuple[str, ...]
    lo_why: tuple[str, ...]
    least_grade: float
    greatest_grade: float = np.inf
    layers: Layers | None = None
    under_start: tuple[float, str] = (-np.inf, "")
    over_end: tuple[float, str] = (np.inf, "")
    changes_at: NDArray[np.int64] | None = None

    @cached_property
    def collides(self) -> NDArray[np.bool_]:
        """Where a point's two limits are different ones (n,), so that they can collide.

        A fixed start, or an outlet with a range of depths, does not collide with itself.
        """
        return np.fromiter(map(ne, self.hi_why, self.lo_why), np.bool_, len(self.hi_why))

    def from_start(self, start_m: float) -> Band:
        """The band with its start held at one level."""
        hi, lo = self.hi_m.copy(), self.lo_m.copy()
        hi[0] = lo[0] = start_m
        why = (self.lo_why[0],)
        hi_why, lo_why = why + self.hi_why[1:], why + self.lo_why[1:]
        return replace(self, hi_m=hi, lo_m=lo, hi_why=hi_why, lo_why=lo_why)

    def own_room(self, start_m: float) -> Pinch | None:
        """The less of what the line's ends leave by themselves; None: no limit.

        The start over the lower limit there that is not its own, and the outlet's lower limit
        under the upper one there that is not its own.
        """
        rooms, last = [], len(self.at_m) - 1
        lowest_m, why = self.under_start
        if not (math.isinf(lowest_m) or self.collides[0]):
            rooms.append(Pinch(0, 0, (self.hi_why[0], why), start_m - lowest_m, 0.0))
        highest_m, why = self.over_end
        if not (math.isinf(highest_m) or self.collides[last]):
            left_m = highest_m - float(self.lo_m[last])
            rooms.append(Pinch(last, last, (why, self.lo_why[last]), left_m, 0.0))
        return min(rooms, key=lambda room: room.margin_m, default=None)

    def only(self, rows: NDArray[np.intp]) -> Band:
        """The limits at some of the points alone, in their order; the grade may change at any."""
        layers = self.layers
        return replace(
            self,
            at_m=self.at_m[rows],
            hi_m=self.hi_m[rows],
            lo_m=self.lo_m[rows],
            hi_why=tuple(self.hi_why[i] for i in rows),
            lo_why=tuple(self.lo_why[i] for i in rows),
            changes_at=self.changes_at if len(rows) == len(self.at_m) else None,
            layers=layers
            and Layers(
                layers.hi_ground_m[rows],
                layers.lo_ground_m[rows],
                layers.hi_level_m[rows],
                layers.lo_level_m[rows],
            ),
        )

    def tightest(self, few: int) -> NDArray[np.intp]:
        """The ends and the points whose limits come nearest to binding, some `few` of each kind."""
        x, hi, lo, s = self.at_m, self.hi_m, self.lo_m, self.least_grade
        start_m = lo[0]
        with np.errstate(divide="ignore", invalid="ignore"):
            falls = np.where(x > 0, (start_m - hi) / x, -np.inf)
        steepest = max(s, float(falls.max()))
        room = np.minimum.accumulate(hi + s * x) - s * x - lo
        scores = (hi + s * x, -falls, -lo - steepest * x, room)
        near = [np.argsort(score, kind="stable")[:few] for score in scores]
        return np.unique(np.concatenate([[0, len(x) - 1], *near]))


@dataclass(frozen=True)
class Pinch:
    """The pair of profile points with the least margin, and the limits that collide there.

    available − needed = margin, all in metres. `turns_on` is a third point, only for a single
    straight grade: the one it is forced to pass below on its way. `steep`: the greatest grade does
    not bring the line down far enough.
    """

    upstream: int
    downstream: int
    limits: tuple[str, str]
    available_m: float
    needed_m: float
    turns_on: int | None = None
    steep: bool = False

    @property
    def margin_m(self) -> float:
        """Spare when positive, shortage when negative."""
        return self.available_m - self.needed_m


def highest_line(
    at_m: Floats, hi_m: Floats, least_grade: float, greatest_grade: float = np.inf
) -> Floats:
    """The highest line (n,) under `hi_m` (n,) that keeps the grades.

    H_0 = hi_0, H_{i+1} = min(hi_{i+1}, H_i − s·d_i); with S one more pass upstream,
    H_i = min(H_i, H_{i+1} + S·d_i).
    """
    drop_m = least_grade * at_m
    line = np.minimum.accumulate(hi_m + drop_m) - drop_m
    if math.isfinite(greatest_grade):
        rise_m = greatest_grade * at_m
        line = np.minimum.accumulate((line + rise_m)[::-1])[::-1] - rise_m
    return line


def find_pinch(band: Band) -> Pinch:
    """The least margin over every pair of points, and over each point's own limits that collide."""
    found, own = _between_points(band), band.own_room(float(band.hi_m[0]))
    return own if own is not None and own.margin_m < found.margin_m else found


def _between_points(band: Band) -> Pinch:
    x, hi, lo = band.at_m, band.hi_m, band.lo_m
    hi_why, lo_why = band.hi_why, band.lo_why
    s, S = band.least_grade, band.greatest_grade
    kind, j, i = tightest_pair(x, hi, lo, band.collides, s, S)
    apart_m = float(x[i] - x[j])
    if kind == OWN:
        return Pinch(i, i, (hi_why[i], lo_why[i]), float(hi[i] - lo[i]), 0.0)
    if kind == TOO_FLAT:
        return Pinch(j, i, (hi_why[j], lo_why[i]), float(hi[j] - lo[i]), s * apart_m)
    if kind == TOO_STEEP:
        return Pinch(j, i, (lo_why[j], hi_why[i]), S * apart_m, float(lo[j] - hi[i]), steep=True)
    return Pinch(j, i, (hi_why[j], lo_why[i]), np.inf, s * apart_m)


def warm() -> None:
    """Compile the loop below, or load what was compiled before, so that no caller waits."""
    one = np.array([0.0, 1.0])
    tightest_pair(one, one, one, one > 0, 0.01, np.inf)


@njit(cache=True, nogil=True)
def tightest_pair(at, hi, lo, collides, s, S):  # type: ignore[no-untyped-def]
    """What collides with the least margin (NOTHING, where no limit does), upstream, downstream."""
    kind, up, down, least = NOTHING, 0, len(at) - 1, np.inf
    for i in range(len(at)):
        if collides[i] and hi[i] - lo[i] < least:
            kind, up, down, least = OWN, i, i, hi[i] - lo[i]
    top, j = hi[0] + s * at[0], 0
    for i in range(1, len(at)):
        margin = top - s * at[i] - lo[i]
        if margin < least:
            kind, up, down, least = TOO_FLAT, j, i, margin
        if hi[i] + s * at[i] < top:
            top, j = hi[i] + s * at[i], i
    if np.isfinite(S):
        deep, j = lo[0] + S * at[0], 0
        for i in range(1, len(at)):
            margin = hi[i] - (deep - S * at[i])
            if margin < least:
                kind, up, down, least = TOO_STEEP, j, i, margin
            if lo[i] + S * at[i] > deep:
                deep, j = lo[i] + S * at[i], i
    return kind, up, down
