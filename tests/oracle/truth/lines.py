"""Does a line exist, and with how much to spare? By linear programs (scipy, HiGHS), nothing else.

A line is a start level `a` and a grade for each of its runs; runs meet at chosen points. Levels up,
lengths and levels in metres, grades as a fall per length (positive falls downstream).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import linprog

from .figures import START_AGAINST_DEPTH, TOLERANCE

FAR = 1e3  # m: no limit


@dataclass(frozen=True)
class Band:
    """At each point (n,): station, greatest and least invert (inf where none), in metres.

    `start` is the stated invert at station 0, or None where it is free within the band, and within
    `rises`, from its stated level to its highest, where it may rise.
    `end_hi` is the last `hi` without the outlet's own least depth or greatest invert; `own_hi`
    that of these two alone.
    """

    x: np.ndarray
    hi: np.ndarray
    lo: np.ndarray
    least: float
    greatest: float | None
    start: float | None
    end_hi: float
    own_hi: float
    rises: tuple[float, float] | None = None

    @property
    def begins(self) -> tuple[float | None, float | None]:
        """Between which levels a line may begin, beside its limits there."""
        if self.start is not None:
            return (self.start, self.start)
        return self.rises or (None, None)


@dataclass(frozen=True)
class Line:
    margin: float | None  # least over all points, None where nothing limits the depth
    z: np.ndarray


def _runs(x: np.ndarray, breaks: Sequence[int]) -> np.ndarray:
    """(n, runs): length of each run that lies upstream of each point."""
    ends = [x[0], *(x[b] for b in breaks), x[-1]]
    return np.column_stack([np.clip(x, a, b) - a for a, b in itertools.pairwise(ends)])


def best(band: Band, breaks: Sequence[int] = ()) -> Line | None:
    """The line with runs that meet at `breaks` whose least margin above `lo` is greatest.

    Maximise t with lo + t ≤ a − Σ grade·length ≤ hi, least ≤ grade ≤ greatest. The start's own
    stated level is kept, not counted. None where no t whatever serves.
    """
    run = _runs(band.x, breaks)
    n, k = run.shape
    base = 0.0 if band.start is None else band.start
    skip = 0 if band.start is None else 1  # the start's own limits are settled by its level
    rows, bounds = [], []
    for i in range(skip, n):
        if np.isfinite(band.hi[i]):
            rows.append([1, *(-run[i]), 0])
            bounds.append(band.hi[i] - base)
    counted = False
    for i in range(0 if START_AGAINST_DEPTH else skip, n):
        if np.isfinite(band.lo[i]):
            rows.append([-1, *run[i], 1])
            bounds.append(base - band.lo[i])
            counted = True
    free = (0, 0) if band.start is not None else band.begins
    grade = (band.least, band.greatest)
    # A touch of steepness in the aim keeps the grades bounded where nothing limits the depth.
    aim = np.array([0.0, *([1e-9] * k), -1.0])
    answer = linprog(
        aim,
        A_ub=np.array(rows, float).reshape(-1, k + 2),
        b_ub=np.array(bounds, float),
        bounds=[free, *([grade] * k), (-FAR, FAR if counted else 0)],
        method="highs",
    )
    if answer.status == 2:
        return None
    if answer.status != 0:
        raise RuntimeError(answer.message)
    a, grades, t = answer.x[0], answer.x[1:-1], float(answer.x[-1])
    margin = t if counted else None
    if band.start is not None:
        over = float(band.hi[0] - band.start)  # a start above its own limit is short at once
        if over < -TOLERANCE:  # and so is what would begin under that limit
            lower = replace(band, start=None, lo=np.append(band.start, band.lo[1:]))
            begun = best(lower, breaks)
            if begun is not None and begun.margin is not None:
                over = min(over, begun.margin)
        under = float(band.start - band.lo[0])
        for at_start in (over, under):
            if at_start < -TOLERANCE:
                margin = at_start if margin is None else min(margin, at_start)
    return Line(margin, base + a - run @ grades)


def highest_end(band: Band, places: Sequence[int], most: int) -> float | None:
    """The highest invert that any line within the band can end at; None where no line exists."""
    found = None
    for some in _sets(places, most):
        run = _runs(band.x, some)
        z = np.column_stack([np.ones(len(band.x)), -run])
        first = 0 if band.start is None else 1
        above, below = np.isfinite(band.hi), np.isfinite(band.lo)
        above[:first] = below[:first] = False
        start = band.begins
        answer = linprog(
            -z[-1],
            A_ub=np.vstack([z[above], -z[below]]),
            b_ub=np.concatenate([band.hi[above], -band.lo[below]]) + TOLERANCE,
            bounds=[start, *([(band.least, band.greatest)] * run.shape[1])],
            method="highs",
        )
        if answer.status == 0 and (found is None or -answer.fun > found):
            found = float(-answer.fun)
    if found is not None and band.start is not None:
        over, under = band.hi[0] - band.start, band.start - band.lo[0]
        if min(over, under) < -TOLERANCE:
            return None
    return found


def serves(line: Line | None) -> bool:
    return line is not None and (line.margin is None or line.margin >= -TOLERANCE)


def _sets(places: Sequence[int], most: int) -> Iterator[tuple[int, ...]]:
    for count in range(min(most, len(places)) + 1):
        yield from itertools.combinations(places, count)


def exists(band: Band, places: Sequence[int], most: int) -> bool:
    """Whether a line exists with at most `most` changes of grade, at some of `places`."""
    every = best(band, places) if most else None
    if most and not serves(every):
        return False  # not even with a change at each of them
    return any(serves(best(band, some)) for some in _sets(places, most))


def _left_of_the_greatest(band: Band) -> float | None:
    """By how much the steepest line from the stated start passes under every upper limit, or from
    where the start would lie within its own greatest depth."""
    if band.greatest is None or band.start is None:
        return None
    begun = max(band.start, band.lo[0])
    left = band.hi[1:] - (begun - band.greatest * band.x[1:])
    return float(left.min())


def _with_greatest(band: Band, breaks: Sequence[int]) -> Line | None:
    """The best line under a greatest grade; where none is, the shortage of one.

    A shortage is what every lower limit must go down by, the start's own level among them.
    """
    line = best(band, breaks)
    if serves(line):
        return line
    if breaks:
        return shortage(band, breaks)
    straight = best(replace(band, greatest=None))  # that it is too steep is counted apart
    bent = shortage(band, range(1, len(band.x) - 1))
    if straight is None or bent is None:
        return None
    return min(straight, bent, key=lambda one: np.inf if one.margin is None else one.margin)


def shortage(band: Band, breaks: Sequence[int]) -> Line | None:
    """One that begins up to t under the stated start, and t under its lower limits: t least."""
    start, n = band.start, len(band.x)
    run = _runs(band.x, breaks)
    z = np.column_stack([np.ones(n), -run])
    above, below = np.isfinite(band.hi), np.isfinite(band.lo)
    above[0] = below[0] = False
    k = run.shape[1]
    one = np.array([[1.0, *[0.0] * (k + 1)]])
    rows = np.vstack(
        [
            np.column_stack([z[above], np.zeros(above.sum())]),
            np.column_stack([-z[below], np.ones(below.sum())]),
            one,
            -one + np.eye(1, k + 2, k + 1),
        ]
    )
    bounds = np.concatenate([band.hi[above], -band.lo[below], [start, -start]])
    answer = linprog(
        [0.0] * (k + 1) + [-1.0],
        A_ub=rows,
        b_ub=bounds,
        bounds=[(None, None), *([(band.least, band.greatest)] * k), (-FAR, FAR)],
        method="highs",
    )
    return Line(float(answer.x[-1]), z @ answer.x[:-1]) if answer.status == 0 else None


def _own_range_apart(band: Band) -> tuple[Band, Band]:
    """The band without what lies deepest at the end, and without what lies highest there.

    The outlet's own range of depth is no matter of fall: its least depth is held, but not counted
    against its greatest depth.
    """
    inner = replace(band, lo=np.append(band.lo[:-1], -np.inf))
    return inner, replace(band, hi=np.append(band.hi[:-1], band.end_hi))


def spare(band: Band, places: Sequence[int], most: int) -> float | None:
    """Fall to spare: the greatest least margin of any line; None where nothing limits the depth."""
    margins = [_spare_of(band, some) for some in _sets(places, most)]
    return None if None in margins else max(m for m in margins if m is not None)


def spare_of_any_shape(band: Band) -> float | None:
    """The same where the grade may change at every point: no line of any shape has more."""
    return _spare_of(band, range(1, len(band.x) - 1))


def _spare_of(band: Band, breaks: Sequence[int]) -> float | None:
    steep = _left_of_the_greatest(band)
    bands = _own_range_apart(band)
    if steep is None:
        lines = [best(one, breaks) for one in bands]
    else:
        lines = [_with_greatest(one, breaks) for one in bands]
    told = [-np.inf if line is None else line.margin for line in lines]
    limited = [m for m in (*told, steep) if m is not None]
    return float(min(limited)) if limited else None
