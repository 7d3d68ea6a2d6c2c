"""Values that look like a slip: a unit or a notation of grades taken for another, a pipe with
hardly any fall.

They are told as warnings, for steep banks, culverts and level pipes exist, if seldom in a yard.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction
from typing import Final

import numpy as np
from numba import njit

from yardfall.core.design import Grading
from yardfall.core.grade_runs import GradeRun
from yardfall.core.ground.profile import GroundProfile
from yardfall.core.ground.route import SAME_STATION_M
from yardfall.core.pipes import CATALOGUE, Pipe
from yardfall.core.remarks import Remark
from yardfall.core.units import FOOT_M, plain_number

STEEP_OVERALL: Final = 0.30
"""Steeper ground or pipe is not dug by hand in a yard (common practice, no source)."""
STEEP_BETWEEN: Final = 1.0
"""Steeper between two readings there is a wall or a slip (common practice, no source)."""
LEAST_ACROSS_M: Final = 0.025
MOST_ACROSS_M: Final = 0.610
"""1 in and 24 in: no smaller or larger pipe drains a yard (common practice, no source)."""
LEVEL: Final = 1e-5
"""A flatter run lies level: 1 mm in 100 m."""
FLATTEST_PUBLISHED: Final = 1 / 192
"""1/16 in per ft, the flattest row of International Plumbing Code 2021, Table 1106.2."""

TOO_FLAT: Final = 0.003
"""Flatter by its own statement hardly a drain is laid (common practice, no source)."""
STICK_M: Final = 10 * FOOT_M
"""The usual stick of rigid pipe (common practice, no source). At grade s it lies level once its
upper end settles by s times its length."""
SAME_PERCENT: Final = 0.0051
"""A number of percent this near to a sixteenth is one, told to two decimals."""
MOST_AS_SHARE: Final = 0.0005
"""A number of percent up to 0.05 may be a fall over a length: 0.05 is 5 %."""

GROUND_CODES: Final = ("ground_steep", "ground_steep_between")


def doubtful_ground(ground: GroundProfile, length_m: float) -> list[Remark]:
    """Ground too steep to be meant: overall, else between two of the readings."""
    at_m = ground.at_m
    overall, steepest, k = _steepness(at_m, ground.elevation_m, length_m + SAME_STATION_M)
    if overall > STEEP_OVERALL:
        return [Remark("ground_steep", "/ground", {"grade": overall})]
    if steepest <= STEEP_BETWEEN or ground.source not in ("reading", "given"):
        return []  # cells and spots lie close: there every wall would be named
    values: dict[str, float | str] = {
        "grade": steepest,
        "from_station_m": float(at_m[k - 1]),
        "to_station_m": float(at_m[k]),
    }
    return [Remark("ground_steep_between", "/ground", values)]


def warm() -> None:
    """Compile the loop below, or load what was compiled before, so that no caller waits."""
    one = np.array([0.0, 1.0])
    _steepness(one, one, 1.0)


@njit(cache=True, nogil=True)
def _steepness(at, z, end):  # type: ignore[no-untyped-def]
    """How steep the ground is overall, the steepest stretch, and the point where that ends."""
    low, high, last, steepest, k = z[0], z[0], 0, 0.0, 0
    for i in range(1, len(at)):
        if at[i] > end:
            break
        low, high, last = min(low, z[i]), max(high, z[i]), i
        steep = abs(z[i] - z[i - 1]) / (at[i] - at[i - 1])
        if steep > steepest:
            steepest, k = steep, i
    overall = (high - low) / (at[last] - at[0]) if last else 0.0
    return overall, steepest, k


def doubtful_pipe(pipe: Pipe) -> list[Remark]:
    """A pipe smaller or larger than any in a yard."""
    for name, across_m in (("outside", pipe.outside_m), ("inside", pipe.inside_m)):
        if not LEAST_ACROSS_M <= across_m <= MOST_ACROSS_M:
            return [Remark("pipe_size_unlikely", f"/pipe/{name}", {"across_m": across_m})]
    return []


def other_way(grade: float, pointer: str) -> list[Remark]:
    """A stated grade (a ratio) whose number in percent is one of another way to say a grade.

    An eighth is said for 1/8 in per ft (1/96), 0.0125 for a fall over a length, 80 for 1 : 80.
    """
    percent = grade * 100
    stated = f"{plain_number(percent, 4)} %"
    sixteenths = round(percent * 16)
    if grade >= TOO_FLAT and grade <= STEEP_OVERALL + 1e-9:
        return []
    if grade > STEEP_OVERALL:
        number, meant = plain_number(percent, 4), plain_number(100 / percent, 4)
        values = {"number": number, "meant": meant, "per_metre": plain_number(percent / 10, 4)}
        return [Remark("grade_in_ratio", pointer, {"stated": stated, **values})]
    if sixteenths and abs(percent - sixteenths / 16) <= SAME_PERCENT:
        inches, meant = Fraction(sixteenths, 16), plain_number(sixteenths / 16 / 12 * 100, 4)
        words = {"stated": stated, "inches": str(inches), "meant": meant}
        return [Remark("grade_in_inches", pointer, {**words})]
    if LEVEL < grade <= MOST_AS_SHARE:
        share, meant = plain_number(percent, 6), plain_number(percent * 100, 4)
        words = {"stated": stated, "share": share, "meant": meant}
        return [Remark("grade_as_share", pointer, {**words})]
    return []


def stated_grades(pipe: Pipe, grading: Grading) -> list[Remark]:
    """`other_way` of the least and the greatest grade of a plan; no pipe of the list is so flat."""
    own = grading.min_grade == pipe.min_grade
    found = other_way(grading.min_grade, "/pipe/min_percent" if own else "/grade/min_percent")
    if math.isfinite(grading.max_grade):
        found += other_way(grading.max_grade, "/grade/max_percent")
    return found


def doubtful_grades(
    pipe: Pipe, grading: Grading, runs: Sequence[GradeRun], *, steep_told: bool
) -> list[Remark]:
    """A stated grade said in another way, a planned one too steep to be meant, and level runs.

    `steep_told`: the ground was said to be too steep already.
    """
    found = stated_grades(pipe, grading)
    steep_told = steep_told or any(remark.code == "grade_in_ratio" for remark in found)
    steepest = max(run.grade for run in runs)
    if steepest > STEEP_OVERALL and not steep_told:
        found.append(Remark("grade_steep", "/grade", {"grade": steepest}))
    for run in runs:
        if abs(run.grade) < LEVEL:
            values: dict[str, float | str] = {
                "from_station_m": run.from_m,
                "to_station_m": run.to_m,
                "least_grade": pipe.min_grade or FLATTEST_PUBLISHED,
            }
            found.append(Remark("lies_level", "/grade/min_percent", values))
    return found if found else _flat(pipe, runs)


def _flat(pipe: Pipe, runs: Sequence[GradeRun]) -> list[Remark]:
    """The flattest run that falls, but less than is usual for the pipe; one for a whole line."""
    usual = CATALOGUE[pipe.code].min_grade if pipe.code in CATALOGUE else None
    flat = [run for run in runs if usual and LEVEL <= run.grade < usual - LEVEL]
    if usual is None or not flat:
        return []
    flattest = min(flat, key=lambda run: run.grade)
    values: dict[str, float | str] = {
        "from_station_m": flattest.from_m,
        "to_station_m": flattest.to_m,
        "grade": flattest.grade,
        "least_grade": usual,
        "settles_m": flattest.grade * STICK_M,
    }
    return [Remark("lies_flat", "/grade/min_percent", values)]
