"""Tape marks: levels rounded to what a tape shows, so that water still runs.

Each mark is the whole number of tape steps nearest to the exact measure. Rounding to the
nearest keeps the order of the bottoms when all marks are taken from one level; taken from uneven
ground, or across a re-strung line, it may not. Then the downstream mark goes deeper by as few
steps as let no water run back, and the last mark by as few as keep the needed fall. So the marks
are within half a step of the line whenever any such marks exist. Half way between two marks the
upper one is taken, which leaves the stations downstream most room.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import NDArray

from yardfall.core.route import Floats

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
    worst, flattest, first_level, before = 0.0, np.inf, 0.0, 0.0
    for i in range(len(at)):
        zero = measure[i] + bottom[i]
        mark = np.ceil(measure[i] / step - 0.5 - ROUNDING)
        if i:
            allowed = min(before, first_level - needed) if i == last else before
            mark = max(mark, np.ceil((zero - allowed) / step - ROUNDING))
        steps[i] = int(mark)
        level = zero - mark * step
        worst = max(worst, abs(level - bottom[i]))
        if i:
            flattest = min(flattest, (before - level) / (at[i] - at[i - 1]))
        else:
            first_level = level
        before = level
    return steps, worst, flattest
