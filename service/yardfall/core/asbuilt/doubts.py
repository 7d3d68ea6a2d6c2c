"""A reading that its neighbours contradict, which is likelier a slip of the tape than of the spade.

A reading is in doubt where it alone is off by more than the tolerance, every neighbour that was
read lies within it, and the step from each neighbour is more than digging leaves in that distance;
with one neighbour alone, more than a trench dug too deep at its end leaves.
It is read again before anybody shaves or fills by it.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from yardfall.core.arrays import Floats
from yardfall.core.asbuilt.ponding import READING_SLACK_M
from yardfall.core.units import INCH_M

LEFT_M: Final = INCH_M
LEFT_PER_LENGTH: Final = 0.01
"""A trencher or a shovel that is on grade at one checkpoint is not off it by more than 1 in, or
1 % of the way, at the next (common practice, no source). A tape misread is off by a whole inch
or more, a rod by a tenth of a foot."""

ONE_SIDED_M: Final = 4 * INCH_M
"""With one neighbour only a larger step is doubted: a trench is readily dug 2 in too deep from one
checkpoint on, and twice that is far more (common practice, no source)."""


def left_by_digging_m(length_m: float) -> float:
    """The largest step that digging leaves between two checkpoints so far apart."""
    return max(LEFT_M, LEFT_PER_LENGTH * length_m)


def in_doubt(
    at_m: Floats, off_m: Floats, tolerance_m: float, taken_again: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """Which readings (n,) are contradicted, from how far each lies off the plan (n,), in order
    of their stations (n,). One `taken_again` stands."""
    within = np.abs(off_m) <= tolerance_m + READING_SLACK_M
    found = np.zeros(len(at_m), dtype=bool)
    for i in np.flatnonzero(~within & ~taken_again):
        beside = [j for j in (i - 1, i + 1) if 0 <= j < len(at_m)]
        least_m = ONE_SIDED_M if len(beside) == 1 else 0.0
        found[i] = bool(beside) and all(
            within[j]
            and abs(off_m[i] - off_m[j])
            > max(least_m, left_by_digging_m(abs(float(at_m[i] - at_m[j])))) + READING_SLACK_M
            for j in beside
        )
    return found
