"""Tape marks: levels rounded to what a tape shows, so that water still runs.

Each mark is the whole number of tape steps nearest to the exact measure. Rounding to the
nearest keeps the order of the bottoms when all marks are taken from one level; taken from uneven
ground, or across a re-strung line, it may not. Then the downstream mark goes deeper by as few
steps as let no water run back, and the last mark by as few as keep the needed fall. So the marks
are within half a step of the line whenever any such marks exist.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
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
    zeros_m = measure_m + bottom_m
    slack_m = ROUNDING * step_m
    nearest = np.floor(measure_m / step_m + 0.5 + ROUNDING)
    needed_m = min(needed_m, float(bottom_m[0] - bottom_m[-1]))
    marks: list[int] = []
    level_m, last_m = math.inf, math.inf
    for zero_m, mark in zip(zeros_m.tolist(), nearest.tolist(), strict=True):
        allowed_m = min(level_m, last_m) if len(marks) == len(nearest) - 1 else level_m
        least = -math.inf if not marks else math.ceil((zero_m - allowed_m - slack_m) / step_m)
        marks.append(int(max(mark, least)))
        level_m = zero_m - marks[-1] * step_m
        if len(marks) == 1:
            last_m = level_m - needed_m
    steps = np.array(marks)
    marked_m = zeros_m - steps * step_m
    grades = (marked_m[:-1] - marked_m[1:]) / (at_m[1:] - at_m[:-1])
    return TapeMarks(
        steps,
        float(np.abs(marked_m - bottom_m).max()),
        float(grades.min()) if len(grades) else None,
    )
