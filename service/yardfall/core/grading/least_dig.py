"""The line that digs least: at most K changes of grade, at stations, proven to be the best.

Width and ground are given, so the least trench volume is the greatest area under the invert,
∫z dx. For given breaks that is a small linear program (`break_lp`). Whether any line has so few
breaks is settled first, exactly (`fewest_breaks`). Then ranges of stations that hold no better
line are ruled out by bounds (`range_search`), until the best line found is proven: no line with at
most K breaks has an area greater by more than `DECISION_SLACK_M` × the length. The work is bounded,
in steps and not in seconds, so that an answer never depends on the machine; a line that is not
proven by then comes with the area that any line could still gain on it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from yardfall.core.arrays import Floats, Ints
from yardfall.core.grading.band import DECISION_SLACK_M, highest_line
from yardfall.core.grading.break_lp import Rows, best_levels, make_rows, more_give
from yardfall.core.grading.fewest_breaks import fewest_breaks
from yardfall.core.grading.range_search import search

MOST_WORK: Final = 500_000_000
"""Rows looked at: about a second. Most sites of 2,000 stations and 5 breaks take half of it."""
FEW_STATIONS: Final = 200
"""Of twice as many stations or more, some are tried first, which leads to a good line."""
TRYING: Final = True
"""Whether lines are put together from what the bounds suggest; proof does not need them."""
GIVE_STEPS: Final = 100
"""Ten are usual."""


@dataclass(frozen=True, eq=False)
class GradedLine:
    """A pipe's line: knots (start, breaks, end), invert (n,) at every point, ∫ invert dx.

    `more_m2` bounds how much more area any line with as many breaks could have: 0 where proven.
    """

    at_m: tuple[float, ...]
    z_m: tuple[float, ...]
    invert_m: Floats
    area_m2: float
    more_m2: float = 0.0


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
    met within DECISION_SLACK_M. `any_line`: one with the fewest breaks will do.
    """
    stations = np.concatenate([[0], break_index, [len(at_m) - 1]]).astype(np.int64)
    rows = make_rows(at_m, lo_m, hi_m, min_grade, max_grade, stations)
    if rows is None:
        return None
    most = min(max_breaks, len(break_index))
    first = fewest_breaks(rows, stations, most)
    if first is None:
        return None
    tie_m2 = DECISION_SLACK_M * float(at_m[-1])
    picks, bound_m2 = first, float(np.trapezoid(rows.top_m, at_m))
    if not any_line and most > 0 and _area(rows, stations, first) < bound_m2 - tie_m2:
        deep_m = _lowest_line(at_m, lo_m - rows.datum_m, rows)
        picks, bound_m2 = _best_breaks(rows, stations, deep_m, first, most)
        picks = _needed(rows, stations, picks, tie_m2)
    for chosen in (picks, first):
        breaks = [int(i) for i in stations[chosen]]
        line = least_dig_with_breaks(at_m, lo_m, hi_m, min_grade, max_grade, breaks)
        if line is not None:
            more_m2 = bound_m2 - (line.area_m2 - rows.datum_m * float(at_m[-1]))
            proven = most == 0 or more_m2 <= 2 * tie_m2
            return replace(line, more_m2=0.0 if proven else more_m2)
    return None


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


def warm() -> None:
    """Compile the loops that `least_dig` calls, or load them, so that no caller waits."""
    at_m, hi_m = np.arange(4.0), np.array([0.0, -1.0, -1.0, -2.0])
    least_dig(at_m, hi_m - 9, hi_m, 0.0, None, np.array([1]), 1)


def _best_breaks(
    rows: Rows, stations: Ints, deep_m: Floats, first: Ints, most: int
) -> tuple[Ints, float]:
    """Places in `stations` of the best breaks found, from `first` on; a bound on any line's area.

    `deep_m` (n,) is the lowest line. Where stations are many, a search of some of them goes before.
    """
    x, top_m, tie_m2 = rows.x_m, rows.top_m, DECISION_SLACK_M * float(rows.x_m[-1])
    under_m2 = np.concatenate([[0.0], np.cumsum(np.diff(x) * (top_m[1:] + top_m[:-1]) / 2)])
    everywhere = (x, top_m, under_m2), (rows.at_m, rows.sign, rows.bound_m)
    picks, area_m2, bound_m2 = first, _area(rows, stations, first), float(under_m2[-1])
    for step in sorted({max(len(stations) // FEW_STATIONS, 1), 1}, reverse=True):
        some = np.append(np.arange(0, len(stations) - 1, step), len(stations) - 1)
        at_stations = [a[stations[some]] for a in (rows.first, rows.past, x, top_m, deep_m)]
        site = (*everywhere, (rows.least, rows.greatest), *at_stations)
        known = (picks, area_m2) if step == 1 else (first[:0], -np.inf)
        places = min(most, len(some) - 2)
        found, found_m2, bound_m2, _ = search(
            site, places, *known, tie_m2, MOST_WORK // step, TRYING
        )
        if found_m2 > area_m2:
            picks, area_m2 = some[found], found_m2
    return picks, bound_m2


def _area(rows: Rows, stations: Ints, places: Ints) -> float:
    """Area, above the rows' datum, of the best line with breaks at `places` (b,) in stations."""
    knots = np.concatenate([stations[:1], stations[places], stations[-1:]])
    area_m2, _ = best_levels(rows, knots[None, :], np.array([-np.inf]))
    return float(area_m2[0])


def _needed(rows: Rows, stations: Ints, places: Ints, tie_m2: float) -> Ints:
    """Of the breaks `places` (b,), those without which the area would be less by more than a tie.

    All ties together: a break that gains nothing is not used.
    """
    floor_m2 = _area(rows, stations, places) - tie_m2
    k = 0
    while k < len(places):
        fewer = np.delete(places, k)
        if _area(rows, stations, fewer) >= floor_m2:
            places, k = fewer, 0
        else:
            k += 1
    return places


def _lowest_line(at_m: Floats, lo_m: Floats, rows: Rows) -> Floats:
    """The lowest line (n,) over `lo_m` (n,) that keeps the grades: the highest, turned round."""
    turned_m = highest_line(at_m[-1] - at_m[::-1], -lo_m[::-1], rows.least, rows.greatest)
    return -turned_m[::-1]
