"""Tape marks: levels rounded to what a tape shows, so that water still runs.

Each mark is the whole number of tape steps nearest to the exact measure. Rounding to the
nearest keeps the order of the bottoms when all marks are taken from one level; taken from uneven
ground, or across a re-strung line, it may not. Then no mark departs further from the line than the
worst must, so that no water runs back and the whole fall needed is kept; within that each is the
nearest to its line that those before and after it leave. Half way between two marks the upper one
is taken, which leaves the stations downstream most room.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from yardfall.core.arrays import Floats

ROUNDING: float = 1e-6
"""Share of a step by which a measure may miss a whole mark through floating point."""


@dataclass(frozen=True, eq=False)
class TapeMarks:
    """Marks in whole tape steps (n,), and how far they depart from the line.

    `worst_m` is the largest departure, `worst_grade` the flattest grade between neighbours
    (a ratio; None with one station).
    """

    steps: NDArray[np.int64]
    worst_m: float
    worst_grade: float | None


def tape_marks(
    at_m: Floats, measure_m: Floats, bottom_m: Floats, step_m: float, needed_m: float
) -> TapeMarks:
    """Round `measure_m` (n,), taken downwards to trench bottoms `bottom_m` (n,) elevations.

    The tape's zero at each station stands at measure + bottom. `needed_m` is the fall that must
    be kept from the first to the last station; it is taken as no more than the exact fall.
    """
    steps, worst_m, flattest = _marks(at_m, measure_m, bottom_m, step_m, needed_m)
    return TapeMarks(steps, worst_m, flattest if len(at_m) > 1 else None)


def warm() -> None:
    """Compile the loop below, or load what was compiled before, so that no caller waits."""
    one = np.array([0.0, 1.0])
    _marks(one, one, one, 1.0, 0.0)


@njit(cache=True, nogil=True)
def _marks(at, measure, bottom, step, needed):  # type: ignore[no-untyped-def]
    last = len(at) - 1
    steps = np.empty(len(at), dtype=np.int64)
    needed = min(needed, bottom[0] - bottom[last])
    lowest = np.empty(len(at))
    near, far = 0.0, 0.5 * step
    while not _lay(measure, bottom, step, needed, far, lowest, steps):
        near, far = far, 2 * far
    while near > 0 and far - near > ROUNDING * step:
        middle = 0.5 * (near + far)
        if _lay(measure, bottom, step, needed, middle, lowest, steps):
            far = middle
        else:
            near = middle
    _lay(measure, bottom, step, needed, far, lowest, steps)
    worst, flattest, before = 0.0, np.inf, 0.0
    for i in range(len(at)):
        level = measure[i] + bottom[i] - steps[i] * step
        worst = max(worst, abs(level - bottom[i]))
        if i:
            flattest = min(flattest, (before - level) / (at[i] - at[i - 1]))
        before = level
    return steps, worst, flattest


@njit(cache=True, nogil=True)
def _lay(measure, bottom, step, needed, most, lowest, steps):  # type: ignore[no-untyped-def]
    """Whether there are marks that depart by `most` at the most; then `steps` (n,) are the nearest.

    `lowest` (n,) takes, from the end, the lowest level that still leaves the marks downstream room.
    """
    last, slack = len(measure) - 1, ROUNDING * step
    for i in range(last, -1, -1):
        zero = measure[i] + bottom[i]
        mark = np.floor((measure[i] + most + slack) / step)
        if i < last:
            mark = min(mark, np.floor((zero - lowest[i + 1] + slack) / step))
        if mark * step < measure[i] - most - slack:
            return False
        lowest[i] = zero - mark * step
    room = lowest[1] if last else -np.inf
    room = max(room, lowest[last] + needed) if last else room
    before, first = np.inf, 0.0
    for i in range(last + 1):
        zero = measure[i] + bottom[i]
        mark = np.ceil(measure[i] / step - 0.5 - ROUNDING)
        mark = max(mark, np.ceil((measure[i] - most - slack) / step))
        if i:
            allowed = min(before, first - needed) if i == last else before
            mark = max(mark, np.ceil((zero - allowed - slack) / step))
            room = lowest[i + 1] if i < last else -np.inf
        mark = min(mark, np.floor((measure[i] + most + slack) / step))
        mark = min(mark, np.floor((zero - room + slack) / step))
        level = zero - mark * step
        if mark * step < measure[i] - most - slack:
            return False
        if i == 0:
            first = level
        steps[i] = int(mark)
        before = level
    return True
