"""Stretches of one grade along a line."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np
from numba import njit

from yardfall.core.arrays import Floats


@dataclass(frozen=True)
class GradeRun:
    """A stretch of one grade (a ratio)."""

    from_m: float
    to_m: float
    grade: float
    fall_m: float

    @property
    def slope_length_m(self) -> float:
        """Length along the slope."""
        return math.hypot(self.to_m - self.from_m, self.fall_m)


def grade_runs(at_m: Floats, invert_m: Floats) -> tuple[GradeRun, ...]:
    """Stretches of one grade, joined where the grade changes by no more than 1e-7."""
    knots = _knots(at_m, invert_m)
    at, inverts = at_m[knots].tolist(), invert_m[knots].tolist()
    return tuple(
        GradeRun(x, next_x, (z - next_z) / (next_x - x), z - next_z)
        for (x, z), (next_x, next_z) in itertools.pairwise(zip(at, inverts, strict=True))
    )


def warm() -> None:
    """Compile the loop below, or load what was compiled before, so that no caller waits."""
    one = np.array([0.0, 1.0])
    _knots(one, one)


@njit(cache=True, nogil=True)
def _knots(at, invert):  # type: ignore[no-untyped-def]
    """The ends, and where the grade changes between."""
    last = len(at) - 1
    found = [0]
    for i in range(1, last):
        before = (invert[i - 1] - invert[i]) / (at[i] - at[i - 1])
        after = (invert[i] - invert[i + 1]) / (at[i + 1] - at[i])
        if abs(after - before) > 1e-7:
            found.append(i)
    found.append(last)
    return np.array(found)
