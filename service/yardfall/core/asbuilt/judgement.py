"""Readings of a trench judged together: within the tolerance, falling, nowhere too flat."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from yardfall.core.arrays import Floats
from yardfall.core.asbuilt.dug_readings import AsDug
from yardfall.core.asbuilt.least_work import least_marks, least_work
from yardfall.core.asbuilt.ponding import READING_SLACK_M
from yardfall.core.design import Design


@dataclass(frozen=True)
class FallKept:
    """Fall from the first to the last reading, and the least that is needed of it."""

    from_m: float
    to_m: float
    fall_m: float
    needed_m: float
    enough: bool


@dataclass(frozen=True, eq=False)
class Judged:
    """Readings (n,) that count, judged. `left_m` (n,) are the inverts that the least work leaves,
    `marks_m` the same in whole marks up or down, None where none pass."""

    invert_m: Floats
    lowest_m: Floats
    highest_m: Floats
    drop_m: Floats
    fall: FallKept | None
    failed: bool
    as_near: bool
    left_m: Floats
    marks_m: Floats | None

    @property
    def needed_m(self) -> float:
        """The fall that is needed from end to end."""
        return self.fall.needed_m if self.fall else -np.inf

    def in_marks(self, to_sheet_m: Floats) -> Floats:
        """Work (n,) by the tape: to the sheet's figures, by `to_sheet_m` (n,), where that passes,
        else the least in whole marks, else the least there is."""
        least_m = self.left_m - self.invert_m
        same_way = (np.sign(to_sheet_m) == np.sign(least_m)).all()
        if same_way and self._passes(self.invert_m + to_sheet_m):
            return to_sheet_m
        return least_m if self.marks_m is None else self.marks_m

    def _passes(self, level_m: Floats) -> bool:
        slack_m = READING_SLACK_M
        return bool(
            (level_m >= self.lowest_m - slack_m).all()
            and (level_m <= self.highest_m + slack_m).all()
            and (-np.diff(level_m) >= self.drop_m - slack_m).all()
        )


def judge(
    design: Design,
    at_m: Floats,
    invert_m: Floats,
    planned_m: Floats,
    marked: tuple[Floats, NDArray[np.str_]],
    as_dug: AsDug,
) -> Judged:
    """Within the tolerance, falling, and nowhere flatter than the least grade.

    Where the plan itself is flatter, or the dig sheet's marks for the two readings, their own fall
    is all that is asked for. `marked` are the inverts (n,) that the sheet's marks stand for, NaN
    where it has none, and the ways (n,) of measuring them.
    """
    tolerance_m = as_dug.tolerance_m
    fall = _fall(design, at_m, invert_m, tolerance_m)
    least_m = design.grading.min_grade * np.diff(at_m)
    planned_drop_m = np.minimum(least_m, -np.diff(planned_m))
    marked_m, ways = marked
    marked_drop_m = np.where(ways[1:] == ways[:-1], -np.diff(marked_m), np.nan)
    drop_m = np.maximum(0.0, np.fmin(planned_drop_m, marked_drop_m))
    lowest_m, highest_m = planned_m - tolerance_m, planned_m + tolerance_m
    short_m = drop_m + np.diff(invert_m)
    off = np.abs(invert_m - planned_m) > tolerance_m + READING_SLACK_M
    backs = np.diff(invert_m) > READING_SLACK_M
    flat = short_m > READING_SLACK_M
    failed = bool(off.any() or backs.any() or flat.any() or not (fall is None or fall.enough))
    bounds = (lowest_m, highest_m, lengths(at_m), drop_m)
    left_m, marks_m = invert_m, None
    as_near = bool((planned_drop_m + np.diff(invert_m) > READING_SLACK_M).any())
    if failed:
        marks_m = least_marks(invert_m, *bounds, as_dug.mark_m)
        needed_m = fall.needed_m if fall else -np.inf
        found = least(at_m, invert_m, lowest_m, highest_m, drop_m, needed_m)
        # without a way the plan itself falls back: only its own line is left to aim at
        left_m = planned_m if found is None else found
    return Judged(
        invert_m,
        lowest_m,
        highest_m,
        drop_m,
        fall,
        failed,
        as_near and not failed,
        left_m,
        marks_m,
    )


def _fall(design: Design, at_m: Floats, invert_m: Floats, tolerance_m: float) -> FallKept | None:
    if len(at_m) < 2:
        return None
    fall_m = float(invert_m[0] - invert_m[-1])
    whole_m = design.grading.min_grade * float(at_m[-1] - at_m[0])
    needed_m = max(0.0, whole_m - tolerance_m)
    enough = fall_m >= needed_m - READING_SLACK_M
    return FallKept(float(at_m[0]), float(at_m[-1]), fall_m, needed_m, enough)


def lengths(at_m: Floats) -> Floats:
    """The length of trench (n,) that goes with each reading: half way to its neighbours."""
    if len(at_m) < 2:
        return np.ones(len(at_m))
    half_m, length_m = np.diff(at_m) / 2, np.zeros(len(at_m))
    length_m[:-1] += half_m
    length_m[1:] += half_m
    return length_m


def least(
    at_m: Floats,
    invert_m: Floats,
    lo_m: Floats,
    hi_m: Floats,
    drop_m: Floats,
    needed_m: float,
) -> Floats | None:
    """The least work, without what is finer than readings are judged by."""
    found_m = least_work(invert_m, lo_m, hi_m, lengths(at_m), drop_m, needed_m)
    if found_m is None:
        return None
    return np.where(np.abs(found_m - invert_m) <= READING_SLACK_M, invert_m, found_m)
