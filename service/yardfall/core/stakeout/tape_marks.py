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


def least_drop_m(at_m: Floats, level_m: Floats, min_grade: float, step_m: float) -> Floats:
    """The drop (n - 1,) that marks keep: the least grade's, or the line's own where that is less.

    A line that itself rises is followed to within a step.
    """
    fall_m = -np.diff(level_m)
    drop_m = np.minimum(min_grade * np.diff(at_m), fall_m)
    return np.where(fall_m < 0, fall_m - step_m, drop_m)


def tape_marks(
    zero_m: Floats, wanted: Wanted, steps_m: tuple[float, ...], far_m: float
) -> TapeMarks:
    """Marks down from `zero_m` (n,), in the coarsest of `steps_m` that serves, each step a whole
    number of the next; none further than `far_m` from its line."""
    bottom, drop = wanted.bottom_m, wanted.drop_m
    bounds = (wanted.lowest_m, wanted.highest_m)
    room = (np.empty(len(zero_m)), np.empty(len(zero_m)))
    for step_m in steps_m:
        if _lay(zero_m, bottom, drop, *bounds, step_m, far_m, *room):
            break
    else:
        bounds = (np.full(len(zero_m), -np.inf), np.full(len(zero_m), np.inf))
        drop = _less_drop(zero_m, bottom, drop, step_m, far_m, *room)
    steps = _nearest(zero_m, bottom, drop, *bounds, step_m, *room)
    level_m = zero_m - steps * step_m
    fall_m, slack_m = -np.diff(level_m), 2 * ROUNDING * step_m
    short_m, over_m = wanted.drop_m - fall_m, level_m - wanted.highest_m
    past_m = np.maximum(np.maximum(wanted.lowest_m - level_m, over_m), 0.0)
    return TapeMarks(
        steps * step_m,
        step_m,
        float(np.abs(level_m - bottom).max()),
        float((fall_m / np.diff(wanted.at_m)).min()) if len(fall_m) else None,
        np.where(short_m > slack_m, short_m, 0.0),
        np.where(past_m > slack_m, past_m, 0.0),
    )


def warm() -> None:
    """Compile the loops below, or load what was compiled before, so that no caller waits."""
    one, none = np.array([0.0, 0.0]), np.array([0.0])
    _less_drop(one, one, none, 1.0, 1.0, one.copy(), one.copy())
    _nearest(one, one, none, one, one, 1.0, one.copy(), one.copy())


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
