"""The line that digs least: at most K changes of grade, at stations, proven to be the best.

Width and ground are given, so the least trench volume is the greatest area under the invert,
∫z dx. For given breaks that is a small linear program (`knots`). The sets of breaks are too many
to solve them all (1.3 million for K = 3 among 200 stations), so most are ruled out by a bound.
Four bounds are used, each never below the area of any line that it speaks for:

1. While a set is being solved, its area so far is at least that of every line with those breaks.
2. A line cut in two at a break is a line on each half, so its area is at most the sum of the
   best areas of the two halves, which need not meet. Sets are put together from halves that
   end at one middle break and keep their own breaks, so only one cut is ever left open.
3. Cut at every break, the same gives chords. The best chain of chords from an end to a station
   follows by recursion on the number of breaks, and bounds what a half leaves over.
4. No line is above the highest line, which bounds what a chord leaves over.

The search keeps the best line found so far. It drops a chord, a half or a set only where such a
bound is no more than that line's area plus `DECISION_SLACK_M` × the length, and it solves every
set that is left. So no line with at most K breaks has an area greater by more than that than the
one returned. Fewer breaks are searched first, and a break that gains no more is not used.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from math import comb
from typing import Final

import numpy as np
from numpy.typing import NDArray

from yardfall.core.band import DECISION_SLACK_M, highest_line
from yardfall.core.knots import Ints, Rows, best_levels, make_rows, more_give
from yardfall.core.route import Floats

FEW_SETS: Final = 20_000
"""Up to this many sets are all solved, but for those that an end chord rules out."""
GIVE_STEPS: Final = 100
"""Ten are usual."""
CLIMBS: Final = 2
"""One round to add a break, one to move each; more rounds cost more than they save."""
FIRST_SETS: Final = 64
MOST_SETS: Final = 4096
"""Sets left by the bounds are solved best bound first, in lots that double between these."""


@dataclass(frozen=True, eq=False)
class GradedLine:
    """A pipe's line: knots (start, breaks, end), invert (n,) at every point, ∫ invert dx."""

    at_m: tuple[float, ...]
    z_m: tuple[float, ...]
    invert_m: Floats
    area_m2: float


def least_dig(
    at_m: Floats,
    lo_m: Floats,
    hi_m: Floats,
    min_grade: float,
    max_grade: float | None,
    break_index: Ints,
    max_breaks: int,
    *,
    any_line: bool = False,
) -> GradedLine | None:
    """The line with the greatest area of all with at most `max_breaks` changes of grade.

    at_m, lo_m, hi_m (n,): stations from 0, strictly increasing, and the invert's band; hi_m is
    finite, lo_m may be -inf. Grades are ratios, positive downhill. `break_index`: points in
    1..n-2, sorted, where the grade may change. None when no line has so few breaks. Limits are
    met within DECISION_SLACK_M. `any_line`: the first one found will do.
    """
    stations = np.concatenate([[0], break_index, [len(at_m) - 1]]).astype(np.int64)
    rows = make_rows(at_m, lo_m, hi_m, min_grade, max_grade, stations)
    if rows is None:
        return None
    search = _Search(rows, stations, any_line)
    ceiling_m2 = float(np.trapezoid(rows.top_m, at_m)) - search.tie_m2
    for breaks in range(min(max_breaks, len(break_index)) + 1):
        search.run(breaks)
        if search.area_m2 >= ceiling_m2 or search.enough:
            break
    if search.picks is None:
        return None
    breaks_found = [int(i) for i in stations[search.picks]]
    return least_dig_with_breaks(at_m, lo_m, hi_m, min_grade, max_grade, breaks_found)


def least_dig_with_breaks(
    at_m: Floats,
    lo_m: Floats,
    hi_m: Floats,
    min_grade: float,
    max_grade: float | None,
    breaks: Sequence[int],
) -> GradedLine | None:
    """The line with the greatest area whose grade changes only at `breaks`; None: no such line.

    Arguments as for `least_dig`; `breaks` are sorted points in 1..n-2.
    """
    knots = np.array([0, *breaks, len(at_m) - 1], dtype=np.int64)
    rows = make_rows(at_m, lo_m, hi_m, min_grade, max_grade, knots)
    if rows is None:
        return None
    area_m2, z_m = best_levels(rows, knots[None, :], np.array([-np.inf]))
    if not np.isfinite(area_m2[0]):
        return None
    level_m = z_m[0] + rows.datum_m
    return GradedLine(
        at_m=tuple(at_m[knots].tolist()),
        z_m=tuple(level_m.tolist()),
        invert_m=np.interp(at_m, at_m[knots], level_m),
        area_m2=float(area_m2[0] + rows.datum_m * at_m[-1]),
    )


def least_give(
    at_m: Floats,
    lo_m: Floats,
    hi_m: Floats,
    min_grade: float,
    max_grade: float | None,
    breaks: Sequence[int],
    gives: NDArray[np.bool_],
) -> float:
    """How far the lower limits that may give (n,) must come down for a line with these breaks.

    Arguments as for `least_dig_with_breaks`. inf where no give is enough. The give that a line
    lacks is convex and of straight pieces, so Newton's steps from below reach its zero.
    """
    knots = np.array([0, *breaks, len(at_m) - 1], dtype=np.int64)
    top_m = highest_line(at_m, hi_m, min_grade, np.inf if max_grade is None else max_grade)
    give_m = max(0.0, float(np.max((lo_m - top_m)[gives], initial=0.0)))
    for _ in range(GIVE_STEPS):
        lower_m = np.where(gives, lo_m - give_m, lo_m)
        rows = make_rows(at_m, lower_m, hi_m, min_grade, max_grade, knots, gives)
        more_m = np.inf if rows is None else more_give(rows, knots)
        if more_m == 0 or np.isinf(more_m):
            return give_m + more_m
        give_m += more_m
    return np.inf


class _Search:
    """The best line so far, and the bounds that rule sets of breaks out.

    Sets, and `picks`, the breaks of the best line, are places in `stations` (m,), whose first
    and last are the ends of the line. `picks` is None before any line is found.
    """

    def __init__(self, rows: Rows, stations: Ints, any_line: bool) -> None:
        self.rows, self.stations, self.any_line = rows, stations, any_line
        self.end = len(stations) - 1
        self.tie_m2 = DECISION_SLACK_M * float(rows.x_m[-1])
        self.area_m2 = -np.inf
        self.picks: Ints | None = None
        self.chords: Floats | None = None

    @property
    def enough(self) -> bool:
        """Whether any line will do and there is one."""
        return self.any_line and self.picks is not None

    @property
    def floor_m2(self) -> float:
        """The area a line must be above to be worth finding."""
        return self.area_m2 + self.tie_m2

    def run(self, breaks: int) -> None:
        """Find the best line with `breaks` breaks, if it is above the floor."""
        if comb(self.end - 1, breaks) <= FEW_SETS:
            self.offer(self.few(breaks))
            return
        self.climb(breaks)
        if self.chords is None:
            self.chords = self.make_chords()
        down, up = self.chords, self.chords.T
        heads, before = _chains(down, 0, breaks)
        tails, after = _chains(up, self.end, breaks)
        below = (breaks - 1) // 2
        above = breaks - 1 - below

        middle = np.flatnonzero(np.isfinite(heads[above] + tails[below]))
        self.offer(_through(middle, before[above:0:-1], after[below:0:-1]))
        if self.enough:
            return

        right, right_m2 = self.grow(up, self.end, heads[above:][::-1])
        best_right = np.full(self.end + 1, -np.inf)
        np.maximum.at(best_right, right[:, -1], right_m2)
        left, left_m2 = self.grow(down, 0, [*tails[below + 1 :][::-1], best_right])
        self.join(left, left_m2, right, right_m2)

    def offer(self, sets: Ints) -> None:
        """Solve sets (b, breaks) and keep the best, if it is above the floor."""
        if not len(sets):
            return
        ends = np.zeros((len(sets), 1), dtype=np.int64)
        places = np.concatenate([ends, sets, ends + self.end], axis=1)
        floor_m2 = np.full(len(sets), self.floor_m2)
        area_m2, _ = best_levels(self.rows, self.stations[places], floor_m2, one=True)
        best = int(np.argmax(area_m2))
        if area_m2[best] > self.area_m2:
            self.area_m2, self.picks = float(area_m2[best]), sets[best]

    def climb(self, breaks: int) -> None:
        """Better the best line by adding or moving one break at a time."""
        for _ in range(CLIMBS):
            if self.picks is None:
                return
            short = len(self.picks) < breaks
            rests = [self.picks] if short else [np.delete(self.picks, k) for k in range(breaks)]
            for kept in rests:
                free = np.setdiff1d(np.arange(1, self.end), kept)
                sets = np.column_stack([np.tile(kept, (len(free), 1)), free])
                self.offer(np.sort(sets, axis=1))

    def few(self, breaks: int) -> Ints:
        """Every set (b, breaks), but those whose first or last chord rules them out."""
        sets = _every_set(self.end, breaks)
        if len(sets) <= self.end:
            return sets
        inside = np.arange(1, self.end)
        heads = np.isfinite(self.best_chords(np.zeros_like(inside), inside))
        tails = np.isfinite(self.best_chords(inside, np.full_like(inside, self.end)))
        return sets[heads[sets[:, 0] - 1] & tails[sets[:, -1] - 1]]

    def make_chords(self) -> Floats:
        """Area under the best chord (m, m) from each station to each one downstream of it.

        -inf where no line that holds the chord is above the floor, nor upstream.
        """
        i, j = np.triu_indices(self.end + 1, 1)
        chords = np.full((self.end + 1, self.end + 1), -np.inf)
        chords[i, j] = self.best_chords(i, j)
        return chords

    def best_chords(self, i: Ints, j: Ints) -> Floats:
        """Areas (b,) under the best chords from `i` (b,) to `j` (b,); -inf as for `make_chords`."""
        x, top = self.rows.x_m, self.rows.top_m
        under = np.concatenate([[0.0], np.cumsum(np.diff(x) * (top[1:] + top[:-1]) / 2)])
        under = under[self.stations]
        floor_m2 = self.floor_m2 - (under[i] + under[-1] - under[j])
        areas, _ = best_levels(self.rows, self.stations[np.column_stack([i, j])], floor_m2)
        return areas

    def grow(self, chords: Floats, start: int, outside: list[Floats]) -> tuple[Ints, Floats]:
        """Lines (b, k + 1) that may belong to a set above the floor, by place from `start` on.

        One station is added for each of the k `outside` (m,), which bound what is left beyond
        it. Their best areas (b,) come with them.
        """
        lines, area_m2 = np.array([[start]]), np.zeros(1)
        for k, beyond in enumerate(outside):
            bound = area_m2[:, None] + chords[lines[:, -1]] + beyond
            line, to = np.nonzero(bound > self.floor_m2)
            lines = np.column_stack([lines[line], to])
            if k == 0:
                area_m2 = chords[start, to]
                continue
            knots = self.stations[np.sort(lines, axis=1)]
            area_m2, _ = best_levels(self.rows, knots, self.floor_m2 - beyond[to])
            kept = np.isfinite(area_m2)
            lines, area_m2 = lines[kept], area_m2[kept]
        return lines, area_m2

    def join(self, left: Ints, left_m2: Floats, right: Ints, right_m2: Floats) -> None:
        """Solve the sets whose halves meet at one station, the best bound first."""
        sets, bounds = [], []
        for j in range(1, self.end):
            a, b = np.flatnonzero(left[:, -1] == j), np.flatnonzero(right[:, -1] == j)
            bound = left_m2[a][:, None] + right_m2[b]
            p, q = np.nonzero(bound > self.floor_m2)
            sets.append(np.concatenate([left[a[p], 1:], right[b[q], -2:0:-1]], axis=1))
            bounds.append(bound[p, q])
        bound = np.concatenate(bounds)
        order = np.argsort(-bound)
        ordered, bound = np.concatenate(sets)[order], bound[order]
        at, lot = 0, FIRST_SETS
        while at < len(bound) and bound[at] > self.floor_m2:
            self.offer(ordered[at : at + lot])
            at, lot = at + lot, min(2 * lot, MOST_SETS)


@lru_cache(maxsize=16)
def _every_set(end: int, breaks: int) -> Ints:
    """Every set (b, breaks) of places between 0 and `end`; not to be written to."""
    few = np.array(list(combinations(range(1, end), breaks)), dtype=np.int64)
    few = few.reshape(comb(end - 1, breaks), breaks)
    few.flags.writeable = False
    return few


def _chains(chords: Floats, start: int, breaks: int) -> tuple[list[Floats], list[Ints]]:
    """Best chain of chords from `start` to each station (m,), with 0 to breaks − 1 between.

    With each, the last station between on that chain.
    """
    best, last = [chords[start]], [np.zeros(len(chords), dtype=np.int64)]
    for _ in range(breaks - 1):
        chains = best[-1][:, None] + chords
        best.append(np.max(chains, axis=0))
        last.append(np.argmax(chains, axis=0))
    return best, last


def _through(middle: Ints, before: list[Ints], after: list[Ints]) -> Ints:
    """Sets (b, breaks) on the best chains through the stations `middle` (b,)."""
    columns = [middle]
    for last in before:
        columns.insert(0, last[columns[0]])
    for last in after:
        columns.append(last[columns[-1]])
    return np.column_stack(columns)
