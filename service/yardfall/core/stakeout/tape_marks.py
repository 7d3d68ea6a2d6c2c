"""Marks: levels rounded to what a tape or a rod shows, so that every stretch keeps its fall.

A mark is a whole number m of steps q, read down from the zero Z of its station, so that the level
marked is Z − m·q. From station to station the level must drop by at least d:

    Z − m·q − (Z' − m'·q) ≥ d    ⇔    m' ≥ m + c,    c = ⌈(d + Z' − Z) / q⌉

and each m lies between whole bounds: within a departure of the exact level, and within the limits
of the trench. Such bounds have a solution if and only if, going upstream, the deepest mark that
each station can take (its own bound, and the deepest of the next less c) is nowhere above its
highest. Then any choice within these that is made downstream, each at least c below the one before,
leaves the next a choice. So the nearest is taken, the deeper of two that are equally near.

The coarsest step that has such marks is used; of those the ones whose largest departure is least.
Where the finest has none, the limits are left first, then fall, by the least that serves; never so
that water runs back. What had to be left is told.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numba import njit

from yardfall.core.arrays import Floats

ROUNDING: float = 1e-6
"""Share of a step by which a measure may miss a whole mark through floating point."""


@dataclass(frozen=True, eq=False)
class Wanted:
    """What marks at n stations are to keep: `bottom_m` (n,) the exact levels, `drop_m` (n - 1,)
    the least drop from each to the next, and the lowest and highest level at each, which may be
    infinite."""

    at_m: Floats
    bottom_m: Floats
    drop_m: Floats
    lowest_m: Floats
    highest_m: Floats


@dataclass(frozen=True, eq=False)
class TapeMarks:
    """Marks (n,), whole multiples of `step_m`, and what they leave of what was wanted.

    `worst_m` is the largest departure from the line, `worst_grade` the flattest grade between
    neighbours (a ratio; None with one station). `short_m` (n - 1,) is what each stretch lacks of
    its drop, `past_m` (n,) how far each lies beyond a limit.
    """

    mark_m: Floats
    step_m: float
    worst_m: float
    worst_grade: float | None
    short_m: Floats
    past_m: Floats


def tape_marks(
    zero_m: Floats, wanted: Wanted, steps_m: tuple[float, ...], far_m: float
) -> TapeMarks:
    """Marks down from `zero_m` (n,), in the coarsest of `steps_m` that serves, each step a whole
    number of the next; none further than `far_m` from its line."""
    mark_m, step_m, worst_m, worst_grade, short_m, past_m = _marks(
        zero_m,
        wanted.at_m,
        wanted.bottom_m,
        wanted.drop_m,
        wanted.lowest_m,
        wanted.highest_m,
        np.array(steps_m),
        far_m,
    )
    flattest = worst_grade if len(zero_m) > 1 else None
    return TapeMarks(mark_m, step_m, worst_m, flattest, short_m, past_m)


def warm() -> None:
    """Compile the loops below, or load what was compiled before, so that no caller waits."""
    one = np.array([0.0, 1.0])
    wanted = Wanted(one, one, least_drop_m(one, one, 1.0, 1.0), one, one)
    tape_marks(one, wanted, (1.0,), 1.0)


@njit(cache=True, nogil=True)
def least_drop_m(at_m, level_m, min_grade, step_m):  # type: ignore[no-untyped-def]
    """The drop (n - 1,) that marks keep: the least grade's, or the line's own where that is less.

    A line that itself rises is followed to within a step.
    """
    drop_m = np.empty(len(at_m) - 1)
    for i in range(len(drop_m)):
        fall_m = level_m[i] - level_m[i + 1]
        held_m = min(min_grade * (at_m[i + 1] - at_m[i]), fall_m)
        drop_m[i] = fall_m - step_m if fall_m < 0 else held_m
    return drop_m


@njit(cache=True, nogil=True)
def _marks(zero, at, bottom, drop, lowest, highest, steps_m, far):  # type: ignore[no-untyped-def]
    """What `TapeMarks` holds, in its order; the flattest grade is infinite with one station."""
    n, kept, low, high = len(zero), drop, lowest, highest
    deepest, steps = np.empty(n), np.empty(n)
    step, found = steps_m[0], False
    for k in range(len(steps_m)):
        step = steps_m[k]
        if _lay(zero, bottom, drop, lowest, highest, step, far, deepest, steps):
            found = True
            break
    if not found:
        low, high = np.full(n, -np.inf), np.full(n, np.inf)
        kept = _less_drop(zero, bottom, drop, step, far, deepest, steps)
    _nearest(zero, bottom, kept, low, high, step, deepest, steps)
    slack, worst, flattest = 2 * ROUNDING * step, 0.0, np.inf
    short, past = np.zeros(max(n - 1, 0)), np.zeros(n)
    for i in range(n):
        level = zero[i] - steps[i] * step
        worst = max(worst, abs(level - bottom[i]))
        over = max(lowest[i] - level, level - highest[i])
        past[i] = over if over > slack else 0.0
        if i + 1 < n:
            fall = level - (zero[i + 1] - steps[i + 1] * step)
            flattest = min(flattest, fall / (at[i + 1] - at[i]))
            short[i] = drop[i] - fall if drop[i] - fall > slack else 0.0
    return steps * step, step, worst, flattest, short, past


@njit(cache=True, nogil=True)
def _less_drop(zero, bottom, drop, step, far, deepest, steps):  # type: ignore[no-untyped-def]
    """The drops (n - 1,), each less by the least that marks within `far` need, and none below
    level; level where only marks further off never run back."""
    lowest, highest = np.full(len(zero), -np.inf), np.full(len(zero), np.inf)
    level = np.minimum(drop, 0.0)
    if not _lay(zero, bottom, level, lowest, highest, step, far, deepest, steps):
        return level
    kept, less = 0.0, max(np.max(drop), 0.0)
    while less - kept > ROUNDING * step:
        middle = 0.5 * (kept + less)
        fewer = np.minimum(drop, np.maximum(drop - middle, 0.0))
        if _lay(zero, bottom, fewer, lowest, highest, step, far, deepest, steps):
            less = middle
        else:
            kept = middle
    return np.minimum(drop, np.maximum(drop - less, 0.0))


@njit(cache=True, nogil=True)
def _nearest(  # type: ignore[no-untyped-def]
    zero, bottom, drop, lowest, highest, step, deepest, steps
):
    """The marks (n,) in steps that depart least at the worst."""
    near, far = 0.0, 0.5 * step
    while not _lay(zero, bottom, drop, lowest, highest, step, far, deepest, steps):
        near, far = far, 2 * far
    while near > 0 and far - near > ROUNDING * step:
        middle = 0.5 * (near + far)
        if _lay(zero, bottom, drop, lowest, highest, step, middle, deepest, steps):
            far = middle
        else:
            near = middle
    _lay(zero, bottom, drop, lowest, highest, step, far, deepest, steps)
    return steps


@njit(cache=True, nogil=True)
def _lay(  # type: ignore[no-untyped-def]
    zero, bottom, drop, lowest, highest, step, most, deepest, steps
):
    """Whether there are marks that depart by `most` at the most; then `steps` (n,) are the nearest.

    `deepest` (n,) takes, from the end, the deepest mark that leaves those downstream room.
    """
    last, slack = len(zero) - 1, ROUNDING * step
    for i in range(last, -1, -1):
        mark = np.floor((zero[i] - max(bottom[i] - most, lowest[i]) + slack) / step)
        if i < last:
            apart = np.ceil((drop[i] + zero[i + 1] - zero[i] - slack) / step)
            mark = min(mark, deepest[i + 1] - apart)
        deepest[i] = mark
    for i in range(last + 1):
        mark = np.ceil((zero[i] - min(bottom[i] + most, highest[i]) - slack) / step)
        if i:
            apart = np.ceil((drop[i - 1] + zero[i] - zero[i - 1] - slack) / step)
            mark = max(mark, steps[i - 1] + apart)
        if mark > deepest[i]:
            return False
        near = np.floor((zero[i] - bottom[i]) / step + 0.5 + ROUNDING)
        steps[i] = min(max(near, mark), deepest[i])
    return True
