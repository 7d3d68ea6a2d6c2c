"""The marks of a dig sheet: what a crew digs to by tape from the ground, by string, by rod.

Each keeps the plan's least grade between stations where the plan keeps it, and the plan's limits
on the trench. A stated start or end is a level like any other: what lies over and under it counts.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numba import njit

from yardfall.core.arrays import Floats
from yardfall.core.design import Alignment, Design
from yardfall.core.grading.band import DECISION_SLACK_M, Band
from yardfall.core.grading.limits import ground_limits
from yardfall.core.ground.profile import GroundProfile
from yardfall.core.ground.route import SAME_STATION_M
from yardfall.core.stakeout.tape_marks import TapeMarks, Wanted, least_drop_m, tape_marks
from yardfall.core.units import Divisions


@dataclass(frozen=True, eq=False)
class SheetMarks:
    """Marks (n,) from the ground, from a string and by a rod; None where not all stations have
    one. Tape marks from ground and string share one step."""

    dig: TapeMarks
    line: TapeMarks | None
    rod: TapeMarks | None

    @property
    def by_hand(self) -> TapeMarks:
        """Those the crew digs by: from the string or the rod where there is one, else depths."""
        return self.line or self.rod or self.dig


def wanted_marks(
    design: Design, points: Alignment, band: Band, invert_m: Floats, shown_m: Floats, step_m: float
) -> Wanted:
    """What the marks of a trench at the stations shown (n,) are to keep of its line and limits."""
    where = np.searchsorted(points.at_m, shown_m - SAME_STATION_M)
    over_m, under_m, *_ = ground_limits(points.at_m, points.ground_m, design.section, design.limits)
    bottom_m, lowest_m, highest_m = _bounds(
        where, invert_m, band.hi_m, band.lo_m, over_m, under_m, design.section.below_invert_m
    )
    drop_m = least_drop_m(shown_m, bottom_m, design.grading.min_grade, step_m)
    return Wanted(shown_m, bottom_m, drop_m, lowest_m, highest_m)


def warm() -> None:
    """Compile the loop below, or load what was compiled before, so that no caller waits."""
    one = np.array([0.0, 1.0])
    _bounds(np.array([0, 1]), one, one, one, one, one, 0.0)


@njit(cache=True, nogil=True)
def _bounds(where, invert, hi, lo, end_hi, end_lo, below):  # type: ignore[no-untyped-def]
    """The trench bottom at the stations shown (n,), and the lowest and highest it may lie there:
    infinite where the line itself lies beyond a limit. The ends have limits of their own."""
    n, last = len(where), len(invert) - 1
    bottom, lowest, highest = np.empty(n), np.empty(n), np.empty(n)
    for k in range(n):
        i = where[k]
        high, low = (end_hi[i], end_lo[i]) if i == 0 or i == last else (hi[i], lo[i])
        bottom[k] = invert[i] - below
        highest[k] = np.inf if invert[i] > high + DECISION_SLACK_M else high - below
        lowest[k] = -np.inf if invert[i] < low - DECISION_SLACK_M else low - below
    return bottom, lowest, highest


def sheet_marks(ground: GroundProfile, wanted: Wanted, crew: Divisions) -> SheetMarks:
    """Every mark of the sheet: `ground` tells what each station is read from."""
    shown_m, steps_m, far_m = wanted.at_m, crew.tape_m, crew.tape_m[0]
    references = ground.references_at(shown_m)
    kinds = {None if r is None else r.kind for r in references}
    zero_m = np.array([r.elevation_m if r else np.nan for r in references])
    dig = tape_marks(ground.elevation(shown_m), wanted, steps_m, far_m)
    line = rod = None
    if kinds == {"line"}:
        line = tape_marks(zero_m, wanted, steps_m, far_m)
        if line.step_m != dig.step_m:
            finer = tuple(q for q in steps_m if q <= min(line.step_m, dig.step_m))
            dig = tape_marks(ground.elevation(shown_m), wanted, finer, far_m)
            line = tape_marks(zero_m, wanted, finer, far_m)
    if kinds == {"instrument"}:
        rod = tape_marks(zero_m, wanted, crew.rod_m, far_m)
    return SheetMarks(dig, line, rod)
