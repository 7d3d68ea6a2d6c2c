"""Branches: the same decision from the leaves to the outlet.

A branch may come in no lower than the main's invert plus the join's drop. So what a branch asks of
the main is one number, the highest level its end can have: with it as one more upper limit the
main's own decision is exact, and the branch's line is then planned to the level the main has there.
"""

from __future__ import annotations

import numpy as np

from yardfall.core.band import Band, highest_line
from yardfall.core.decision import Design, band_of, ways_to_pass
from yardfall.core.pipes import Pipe
from yardfall.core.trench import Alignment


def highest_end_m(design: Design, points: Alignment) -> float:
    """The highest invert that the end of a line can have within its upper limits and grades.

    The lower limits are left to the line's own plan. For `least_dig` any number of changes of
    grade is counted on.
    """
    straight = design.grading.shape == "straight"
    ends = []
    for ways in ways_to_pass(design.crossings):
        band = band_of(design, points, ways)
        ends.append(_straight_end(band) if straight else _bent_end(band))
    return max(ends)


def _bent_end(band: Band) -> float:
    line = highest_line(band.at_m, band.hi_m, band.least_grade, band.greatest_grade)
    return float(line[-1])


def _straight_end(band: Band) -> float:
    """End of the flattest straight line, from the start that brings it out highest.

    Raising the start raises the end until the cover somewhere forces a steeper grade.
    """
    x, s = band.at_m, band.least_grade
    highest_m = max(float(band.hi_m[0]), float(band.lo_m[0]))
    start_m = min(max(float(np.min(band.hi_m[1:] + s * x[1:])), float(band.lo_m[0])), highest_m)
    flattest = max(s, float(np.max((start_m - band.hi_m[1:]) / x[1:])))
    return start_m - flattest * float(x[-1])


def usual_drop_m(branch: Pipe, main: Pipe) -> float:
    """Crown to crown: a smaller branch comes in as much higher as its bore is smaller."""
    return max(0.0, main.inside_m - branch.inside_m)
