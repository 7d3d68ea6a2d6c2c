"""A pipe that lies already, by readings along it: where it falls back, where water stands, what
grade there is, and the least lifting and lowering that makes every stretch fall.

Between the points read the pipe is taken as straight. A belly stands behind the highest invert
further down (`standing`), so its depth is the difference of two readings: of standard error √2·σ
where each has σ. The shallowest that can be told is the one that such a difference exceeds by
error alone in one case of twenty: z(0.95)·√2·σ, z the normal distribution's quantile.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from scipy.special import ndtri

from yardfall.core.arrays import Floats
from yardfall.core.asbuilt.least_work import MOST_MARKS, least_marks, least_work
from yardfall.core.asbuilt.ponding import READING_SLACK_M, Pond, depth_at_points, standing_water
from yardfall.core.chance.chance import TOO_CLOSE
from yardfall.core.errors import InputError, Problem
from yardfall.core.grade_runs import GradeRun
from yardfall.core.ground.route import SAME_STATION_M
from yardfall.core.pipes import Pipe
from yardfall.core.remarks import Remark
from yardfall.core.uncertainty.accuracy import Accuracy
from yardfall.core.warnings.plausibility import LEVEL, STEEP_OVERALL, doubtful_pipe

By = Literal["invert", "depth", "down", "rod"]
On = Literal["invert", "pipe_top"]
Drains = Literal["yes", "no", "too_close"]

FROM_A_LEVEL: Final = ("down", "rod")
"""Ways to read down from one level, a string's or an instrument's."""
FLAT_SLACK: Final = 1e-9
"""A grade below the least by no more than this still keeps it: floating-point rounding."""


@dataclass(frozen=True)
class PipePoint:
    """A reading at a point of the pipe: an elevation `by` invert, else a measure down to `on`.

    `ground_m` is the elevation that a depth is taken from. What is `fixed` cannot be moved.
    """

    at_m: float
    by: By
    value_m: float
    on: On = "invert"
    ground_m: float | None = None
    fixed: bool = False


@dataclass(frozen=True)
class OldPipe:
    """What was read, what pipe it is where that is known, and the least grade it should have.

    `height_m` is the elevation of the string or the instrument; None: inverts count from there.
    """

    points: tuple[PipePoint, ...]
    pipe: Pipe | None
    least_grade: float
    height_m: float | None = None
    accuracy: Accuracy | None = None


@dataclass(frozen=True)
class Belly:
    """A pond, and whether the errors of the readings alone could show it (None: not known)."""

    pond: Pond
    within_error: bool | None


@dataclass(frozen=True, eq=False)
class PipeCheck:
    """The whole check in SI, downstream: n points, n - 1 stretches.

    `order` (n,) are the points' indices as sent. `reading_error_m` is one reading's standard
    error, `least_told_m` the shallowest belly that can be told, None where the accuracy is not
    known. `change_m` (n,) is the least lifting, negative lowering; None where the points that are
    fixed leave no way.
    """

    old: OldPipe
    order: tuple[int, ...]
    at_m: Floats
    invert_m: Floats
    water_m: Floats
    stretches: tuple[GradeRun, ...]
    bellies: tuple[Belly, ...]
    reading_error_m: float | None
    least_told_m: float | None
    change_m: Floats | None
    remarks: tuple[Remark, ...]

    @property
    def drains(self) -> Drains:
        """No where a belly is certain or nothing is known of the errors; else too close, or yes."""
        if not self.bellies:
            return "yes"
        return "too_close" if all(belly.within_error for belly in self.bellies) else "no"

    @property
    def overall(self) -> GradeRun:
        """The first point to the last as one stretch."""
        return _stretch(self.at_m, self.invert_m, 0, -1)


def check_pipe(old: OldPipe, step_m: float | None = None) -> PipeCheck:
    """Check a pipe by its points, in any order; what to lift and lower in whole steps of a tape.

    Raises InputError for two points at one station, for a surface that needs the pipe's sizes,
    and for readings from a level whose elevation is needed and not given.
    """
    order = sorted(range(len(old.points)), key=lambda i: old.points[i].at_m)
    _refuse(old, order)
    at_m = np.array([old.points[i].at_m for i in order])
    invert_m = np.array([_invert_m(old, old.points[i]) for i in order])
    sigma_m = None if old.accuracy is None else old.accuracy.of(float(at_m[-1] - at_m[0]))
    told_m = None if sigma_m is None else float(ndtri(TOO_CLOSE[1])) * 2**0.5 * sigma_m
    stretches = tuple(_stretch(at_m, invert_m, k, k + 1) for k in range(len(at_m) - 1))
    return PipeCheck(
        old=old,
        order=tuple(order),
        at_m=at_m,
        invert_m=invert_m,
        water_m=depth_at_points(invert_m),
        stretches=stretches,
        bellies=tuple(
            Belly(pond, None if told_m is None else pond.depth_m < told_m)
            for pond in standing_water(at_m, invert_m)
        ),
        reading_error_m=sigma_m,
        least_told_m=told_m,
        change_m=_least_change(old, order, at_m, invert_m, step_m),
        remarks=tuple(_remarks(old, stretches, float(invert_m[0] - invert_m[-1]))),
    )


def falls_back(stretch: GradeRun) -> bool:
    """Whether a stretch runs uphill."""
    return stretch.fall_m < -READING_SLACK_M


def lies_level(stretch: GradeRun) -> bool:
    """Whether a stretch has no fall either way."""
    return not falls_back(stretch) and stretch.grade < LEVEL


def is_flat(stretch: GradeRun, least_grade: float) -> bool:
    """Whether a stretch falls less than it should, or not at all."""
    needed_m = least_grade * (stretch.to_m - stretch.from_m)
    return stretch.fall_m < needed_m - max(READING_SLACK_M, FLAT_SLACK * needed_m)


def _stretch(at_m: Floats, invert_m: Floats, i: int, j: int) -> GradeRun:
    length_m, fall_m = float(at_m[j] - at_m[i]), float(invert_m[i] - invert_m[j])
    return GradeRun(float(at_m[i]), float(at_m[j]), fall_m / length_m, fall_m)


def _invert_m(old: OldPipe, point: PipePoint) -> float:
    if point.by == "invert":
        return point.value_m
    zero_m = point.ground_m if point.by == "depth" else old.height_m
    pipe_m = 0.0
    if point.on == "pipe_top" and old.pipe is not None:
        pipe_m = old.pipe.outside_m - old.pipe.wall_m
    return (zero_m or 0.0) - point.value_m - pipe_m


def _refuse(old: OldPipe, order: Sequence[int]) -> None:
    problems = []
    for one, other in itertools.pairwise(order):
        if old.points[other].at_m - old.points[one].at_m <= SAME_STATION_M:
            later, earlier = max(one, other), min(one, other)
            told = (
                f"Point {later + 1} stands at the same station as point {earlier + 1}; give each "
                "station once."
            )
            problems.append(Problem(f"/points/{later}/at", told))
    if old.pipe is None:
        tops = [i for i, point in enumerate(old.points) if point.on == "pipe_top"]
        if tops:
            told = (
                f"Point {tops[0] + 1} was read on the top of the pipe: say which pipe it is, so "
                "that its inside bottom is known."
            )
            problems.append(Problem("/pipe", told))
    ways = [point.by for point in old.points]
    levels = [i for i, by in enumerate(ways) if by in FROM_A_LEVEL]
    mixed = [i for i in levels if ways[i] != ways[levels[0]]]
    if mixed:
        told = (
            "One check takes readings from one level, a string's or an instrument's, not from both."
        )
        problems.append(Problem(f"/points/{mixed[0]}/{ways[mixed[0]]}", told))
    elif old.height_m is None and levels and len(levels) < len(ways):
        told = (
            "Some points are read from a string or an instrument, others by elevation: give the "
            "elevation of the string or the instrument."
        )
        problems.append(Problem("/height", told))
    if problems:
        raise InputError(*problems)


def _least_change(
    old: OldPipe, order: Sequence[int], at_m: Floats, invert_m: Floats, step_m: float | None
) -> Floats | None:
    """The least lifting and lowering (n,), each point's counted half way to its neighbours.

    In whole steps where some serve; what is fixed may leave none.
    """
    half_m, length_m = np.diff(at_m) / 2, np.zeros(len(at_m))
    length_m[:-1] += half_m
    length_m[1:] += half_m
    fixed = np.array([old.points[i].fixed for i in order])
    low_m = np.where(fixed, invert_m - READING_SLACK_M, -np.inf)
    high_m = np.where(fixed, invert_m + READING_SLACK_M, np.inf)
    drop_m = old.least_grade * np.diff(at_m)
    found_m = least_work(invert_m, low_m, high_m, length_m, drop_m, -np.inf)
    if found_m is None:
        return None
    change_m = found_m - invert_m
    if step_m is not None:
        spread_m = min(len(at_m), MOST_MARKS // 2 - 2) * step_m  # each may push the next a step on
        low_m = np.where(fixed, 0.0, change_m - spread_m)
        high_m = np.where(fixed, 0.0, change_m + spread_m)
        levels = invert_m + low_m, invert_m + high_m
        marks_m = least_marks(invert_m, *levels, length_m, drop_m, step_m)
        if marks_m is not None:
            return marks_m
    return np.where(np.abs(change_m) <= 2 * READING_SLACK_M, 0.0, change_m)


def _remarks(old: OldPipe, stretches: Sequence[GradeRun], fall_m: float) -> list[Remark]:
    """Readings that look like a slip, or are worth another look."""
    found = doubtful_pipe(old.pipe) if old.pipe is not None else []
    if fall_m < -READING_SLACK_M:
        found.append(Remark("pipe_rises", "/points", {"rise_m": -fall_m}))
    for stretch in stretches:
        values: dict[str, float | str] = {
            "from_m": stretch.from_m,
            "to_m": stretch.to_m,
            "grade": abs(stretch.grade),
        }
        if abs(stretch.grade) > STEEP_OVERALL:
            found.append(Remark("pipe_steep", "/points", values))
        elif lies_level(stretch):
            found.append(Remark("pipe_level", "/points", values))
    if old.accuracy is None:
        found.append(Remark("accuracy_not_stated", "/accuracy", {}))
    return found
