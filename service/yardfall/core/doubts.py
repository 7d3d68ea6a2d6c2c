"""What is hardly meant as it was sent: units taken for others, and a pipe without fall.

Said as warnings: a steep bank, a culvert and a level pipe there are, but seldom in a yard.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numba import njit

from yardfall.core.decision import Remark
from yardfall.core.ground import GroundProfile
from yardfall.core.pipes import Pipe
from yardfall.core.route import SAME_STATION_M
from yardfall.core.stations import GradeRun

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


def doubtful_grades(pipe: Pipe, runs: Sequence[GradeRun], *, steep_told: bool) -> list[Remark]:
    """A planned grade too steep to be meant, and every run that lies level.

    `steep_told`: the ground was said to be too steep already.
    """
    found = []
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
    return found
