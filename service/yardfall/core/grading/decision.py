"""The decision: what is asked of the pipe, the line that answers it, and whether it fits."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from yardfall.core import deadline
from yardfall.core.arrays import Floats
from yardfall.core.design import (
    Alignment,
    Crossing,
    Design,
    Grading,
    Section,
)
from yardfall.core.errors import InputError
from yardfall.core.grading.band import DECISION_SLACK_M, Band, Pinch, find_pinch, highest_line
from yardfall.core.grading.break_shortage import break_shortage
from yardfall.core.grading.least_dig import GradedLine, least_dig
from yardfall.core.grading.limits import make_band
from yardfall.core.grading.one_break import best_one_break
from yardfall.core.grading.straight import StraightRange, least_raise, straight_from
from yardfall.core.quantities.earthwork import side_area_m2
from yardfall.core.remarks import Remark

MOST_EITHER: Final = 6
"""Crossings that may be passed either way: each doubles the lines that are tried."""
MOST_WAYS: Final = 4
"""Ways past crossings that a chance is told by: of more, those that come nearest to a line."""
GAP_STEPS: Final = 10_000
STEEPEST_LAID: Final = 0.30
"""No line that digs least falls more steeply where one that does not fits: a foot of pipe at 150 %
beside a crossing is something that nobody lays (common practice, no source)."""


@dataclass(frozen=True, eq=False)
class Decision:
    """The chosen line and why.

    `margin_m` is the spare, negative for a shortage; `blocked_by_shape` is set when limits would
    be met by a line with more changes of grade. `ways` tells how each crossing is passed.
    When `yes` is false the line is the one that comes nearest in the upper limits. `gap` bounds
    how much less any line of the shape `least_dig` could dig, as a share: 0 where proven.
    """

    band: Band
    invert_m: Floats
    yes: bool
    pinch: Pinch
    margin_m: float
    blocked_by_shape: bool
    raised_m: float
    ways: tuple[str, ...]
    remarks: tuple[Remark, ...] = ()
    gap: float = 0.0


def decide(
    design: Design, points: Alignment, *, any_line: bool = False, shortage: bool = True
) -> Decision:
    """The best line over every way of passing the crossings: one that fits, with least digging.

    `any_line`: the margin is the same, the line need not be the one with least digging. Without
    `shortage` a no is told as soon as it is sure, its margin at the most what any line has.
    Raises InputError for more than MOST_EITHER crossings left open.
    """
    open_ways = list(ways_to_pass(design.crossings))
    any_line = any_line and len(open_ways) == 1
    found = [_decide_passing(design, points, ways, any_line, shortage) for ways in open_ways]
    if len(found) == 1:
        return found[0]
    if not any(d.yes for d in found):
        return max(found, key=lambda d: d.margin_m)
    return max(
        (d for d in found if d.yes), key=lambda d: float(np.trapezoid(d.invert_m, points.at_m))
    )


def ways_to_pass(crossings: tuple[Crossing, ...]) -> Iterator[tuple[str, ...]]:
    """Every combination of over and under that the crossings leave open."""
    either = sum(c.passing == "either" for c in crossings)
    if either > MOST_EITHER:
        raise InputError.at(
            "/crossings",
            f"{either} crossings may be passed either way; at most {MOST_EITHER} are tried. Say "
            "over or under for some of them.",
        )
    return itertools.product(
        *(("over", "under") if c.passing == "either" else (c.passing,) for c in crossings)
    )


def passing(design: Design, ways: tuple[str, ...]) -> Design:
    """The design with its crossings passed in the given ways."""
    passed = tuple(
        replace(crossing, passing="over" if way == "over" else "under")
        for crossing, way in zip(design.crossings, ways, strict=True)
    )
    return replace(design, crossings=passed)


def bands_of(design: Design, points: Alignment, first: tuple[str, ...]) -> tuple[Band, ...]:
    """The band by each way of passing the crossings, that of `first` before all, at most MOST_WAYS.

    On other ground than was read another way may be the one that leaves a line.
    """
    others = [w for w in ways_to_pass(design.crossings) if w != first]
    bands = [band_of(design, points, ways) for ways in others]
    if len(bands) >= MOST_WAYS:
        bands.sort(key=lambda band: -find_pinch(band).margin_m)
    return (band_of(design, points, first), *bands[: MOST_WAYS - 1])


def band_of(design: Design, points: Alignment, ways: tuple[str, ...]) -> Band:
    """The band of a design with its crossings passed in the given ways."""
    band = make_band(
        points,
        design.section,
        design.start,
        design.limits,
        design.outlet,
        tuple(zip(design.crossings, ways, strict=True)),
        design.joins,
        design.grading.min_grade,
        design.grading.max_grade,
    )
    if design.grading.max_breaks:
        return band
    return replace(band, changes_at=np.empty(0, dtype=np.int64))


def margin_with_any_breaks(design: Design, points: Alignment) -> float:
    """Margin of a line that may change its grade anywhere: no line has more."""
    ways = ways_to_pass(design.crossings)
    return max(find_pinch(band_of(design, points, each)).margin_m for each in ways)


def _decide_passing(
    design: Design, points: Alignment, ways: tuple[str, ...], any_line: bool, shortage: bool
) -> Decision:
    deadline.check()
    band = band_of(design, points, ways)
    stated_m = design.start_invert_m(float(points.ground_m[0]))
    lowest_m, highest_m = float(band.lo_m[0]), float(band.hi_m[0])
    if lowest_m > highest_m + DECISION_SLACK_M:  # the start contradicts a limit: draw it as stated
        line, least = _line(band, stated_m, band.least_grade), find_pinch(band)
        why = (f"start {design.start.by}",)
        held = band.from_start(stated_m)
        held = replace(held, hi_why=why + held.hi_why[1:], lo_why=why + held.lo_why[1:])
        least = min(least, _shaped(design, held), key=lambda pinch: pinch.margin_m)
        return Decision(band, line, False, least, least.margin_m, False, 0.0, ways)
    raised = least_raise(band, lowest_m, highest_m)
    if design.straight:
        return _straight(design, band, points, raised, stated_m, ways)
    return _bent(design, band, points, raised, stated_m, ways, any_line, shortage)


def _straight(
    design: Design,
    band: Band,
    points: Alignment,
    found: StraightRange,
    stated_m: float,
    ways: tuple[str, ...],
) -> Decision:
    raised_m = found.start_m - stated_m
    pinch = found.pinch
    if not found.fits:
        blocked = find_pinch(band).margin_m >= -DECISION_SLACK_M
        line = _line(band, found.start_m, min(found.flattest, band.greatest_grade))
        return Decision(band, line, False, pinch, pinch.margin_m, blocked, raised_m, ways)
    grade, remarks = choose_grade(design, band, found, float(points.ground_m[-1]))
    line = _line(band, found.start_m, grade)
    return Decision(band, line, True, pinch, pinch.margin_m, False, raised_m, ways, remarks)


def _bent(
    design: Design,
    band: Band,
    points: Alignment,
    straight: StraightRange,
    stated_m: float,
    ways: tuple[str, ...],
    any_line: bool,
    shortage: bool,
) -> Decision:
    general = find_pinch(band)
    fits = general.margin_m >= -DECISION_SLACK_M
    as_stated = straight.start_m <= max(stated_m, float(band.lo_m[0])) + DECISION_SLACK_M
    if any_line and fits and straight.fits and as_stated:
        pinch = _shaped(design, band.from_start(straight.start_m))
        line = _line(band, straight.start_m, straight.flattest)
        raised_m = straight.start_m - stated_m
        return Decision(band, line, True, pinch, pinch.margin_m, False, raised_m, ways)
    stated = band.from_start(max(stated_m, float(band.lo_m[0])))
    for held in (stated, band) if fits else ():
        found = least_dig_line(design.grading, held, points, any_line=any_line)
        if found is not None:
            pinch = _shaped(design, held)
            line = found.invert_m
            return Decision(
                band, line, True, pinch, pinch.margin_m, False, float(line[0]) - stated_m, ways,
                gap=dig_gap(found, design.section, points),
            )  # fmt: skip
    if fits:
        pinch = _shaped(design, band) if shortage else general
        margin_m = pinch.margin_m
        if shortage and not design.one_change:
            margin_m = break_shortage(design.grading.max_breaks, band, points)
        line = _line(band, straight.start_m, min(straight.flattest, band.greatest_grade))
        return Decision(band, line, False, pinch, margin_m, True, 0.0, ways)
    pinch = _shaped(design, band) if shortage else general
    line = highest_line(band.at_m, band.hi_m, band.least_grade, band.greatest_grade)
    return Decision(band, line, False, pinch, pinch.margin_m, False, 0.0, ways)


def _shaped(design: Design, band: Band) -> Pinch:
    """What leaves a line of the design's shape least room, its start within the band's.

    Of one straight grade and of one change of grade that is exact. Where more changes are allowed
    it is the least over pairs of points: no such line has more, and one that may change its grade
    wherever it needs to has as much.
    """
    if design.straight:
        return straight_from(band, float(band.hi_m[0])).pinch
    general = find_pinch(band)
    if not design.one_change:
        return general
    places = np.empty(0, dtype=np.int64) if band.changes_at is None else band.changes_at
    margin_m, at_b, (start_m, there_m, end_m) = best_one_break(band, places)
    if not np.isfinite(margin_m) or margin_m >= general.margin_m - DECISION_SLACK_M:
        return general
    x, last = band.at_m, len(band.at_m) - 1
    corners = np.unique([0, at_b, last])
    levels = {0: start_m, last: end_m, at_b: there_m}
    line = np.interp(x, x[corners], [levels[int(i)] for i in corners])
    room_m = line[1:] - band.lo_m[1:]
    if not band.collides[last] and room_m[-1] < margin_m - DECISION_SLACK_M:
        room_m[-1] = np.inf  # the outlet's own range is not held against itself
    i = 1 + int(np.argmin(room_m))
    available_m = start_m - float(band.lo_m[i])
    why = (band.hi_why[0], band.lo_why[i])
    return Pinch(0, i, why, available_m, available_m - margin_m)


def least_dig_line(
    grading: Grading,
    band: Band,
    points: Alignment,
    max_breaks: int | None = None,
    *,
    any_line: bool = False,
) -> GradedLine | None:
    """The line with the least digging, grade changes at stations only; None: none.

    Where no greatest grade is stated, none steeper than STEEPEST_LAID if one so flat fits.
    `any_line`: any that fits will do.
    """
    deadline.check()
    inside = np.flatnonzero(points.is_station[1:-1]) + 1
    most = grading.max_breaks if max_breaks is None else max_breaks
    stated = None if math.isinf(band.greatest_grade) else band.greatest_grade
    usual = max(STEEPEST_LAID, band.least_grade)
    for greatest in (usual, None) if stated is None and not any_line else (stated,):
        limits = band.at_m, band.lo_m, band.hi_m, band.least_grade, greatest
        line = least_dig(*limits, inside, most, any_line=any_line)
        if line is not None:
            return line
    return None


def dig_gap(line: GradedLine, section: Section, points: Alignment) -> float:
    """How much less any line could dig at the most, as a share of what this one digs.

    Rounded up, so that only what is proven is told as 0.
    """
    dug_m2 = side_area_m2(points.at_m, points.ground_m - line.invert_m + section.below_invert_m)
    share = line.more_m2 / max(dug_m2, line.more_m2) if line.more_m2 > 0 else 0.0
    return float(np.ceil(share * GAP_STEPS)) / GAP_STEPS


def choose_grade(
    design: Design, band: Band, found: StraightRange, outlet_ground_m: float
) -> tuple[float, tuple[Remark, ...]]:
    """The grade between flattest and steepest that the aim and the fall step ask for."""
    length_m = float(band.at_m[-1])
    grading = design.grading
    steepest = max(found.steepest, found.flattest)
    if grading.aim == "outlet_depth":
        aimed_m = design.outlet.preferred_m(outlet_ground_m, design.section)
        if aimed_m is not None:
            grade = (found.start_m - aimed_m) / length_m
            return min(max(grade, found.flattest), steepest), ()
    if grading.fall_step_m is None:
        return found.flattest, ()
    step_m = grading.fall_step_m
    fall_m = float(np.ceil(found.flattest * length_m / step_m - 1e-9) * step_m)
    if fall_m / length_m <= steepest + DECISION_SLACK_M / length_m:
        return fall_m / length_m, ()
    remark = Remark("fall_step_left_out", "/grade/fall_step", {"fall_m": fall_m})
    return found.flattest, (remark,)


def _line(band: Band, start_m: float, grade: float) -> Floats:
    return start_m - grade * band.at_m
