"""What is lacking where the changes of grade allowed are too few and more would do."""

from __future__ import annotations

from typing import Final

import numpy as np

from yardfall.core.design import Alignment
from yardfall.core.grading.band import Band
from yardfall.core.grading.least_dig import GradedLine, least_dig, least_give

SHORTAGE_STEPS: Final = 30
MOST_GIVE_M: Final = 1.0
"""A line that needs its lower limits to give way by more is not looked for."""
GIVE_CLOSE_M: Final = 1e-6
SHORTAGE_CLOSE_M: Final = 0.001


def break_shortage(max_breaks: int, band: Band, points: Alignment) -> float:
    """By how much the lower limits must give way for the breaks allowed to suffice, negative.

    For given breaks that is one linear program. The give is halved down to SHORTAGE_CLOSE_M; then,
    from any line that fits with it, its breaks with theirs, until none fits with less.
    """
    inside = np.flatnonzero(points.is_station[1:-1]) + 1
    greatest = None if np.isinf(band.greatest_grade) else band.greatest_grade
    gives = band.collides | (band.hi_m != band.lo_m)
    limits = (band.hi_m, band.least_grade, greatest)

    def any_line(give_m: float) -> GradedLine | None:
        lo_m = np.where(gives, band.lo_m - give_m, band.lo_m)
        return least_dig(band.at_m, lo_m, *limits, inside, max_breaks, any_line=True)

    short_m, give_m = 0.0, MOST_GIVE_M
    halving = any_line(MOST_GIVE_M) is not None
    while halving and give_m - short_m > SHORTAGE_CLOSE_M:
        middle_m = (short_m + give_m) / 2
        if any_line(middle_m) is None:
            short_m = middle_m
        else:
            give_m = middle_m
    for _ in range(SHORTAGE_STEPS):
        tried_m = give_m - GIVE_CLOSE_M if give_m < MOST_GIVE_M else give_m
        if tried_m <= 0:
            break
        found = any_line(tried_m)
        if found is None:
            break
        breaks = np.searchsorted(band.at_m, found.at_m[1:-1]).tolist()
        give_m = min(tried_m, least_give(band.at_m, band.lo_m, *limits, breaks, gives))
    return -give_m
