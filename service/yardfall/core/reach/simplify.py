"""A way over a grid pulled into a route with few bends."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.core.design import Alignment, Design
from yardfall.core.grading.band import DECISION_SLACK_M, find_pinch, highest_line
from yardfall.core.grading.decision import band_of
from yardfall.core.ground.route import planar_legs
from yardfall.core.reach.grid import Grid

MOST_TRIALS: Final = 600
LEAST_LEG_M: Final = 0.05
KNOWN_SHARE: Final = 1 / 8
"""Of a cell: a straight leg is looked along for holes at this spacing."""


@dataclass(frozen=True)
class Trial:
    """What a route over the grid would bring: fall to spare, side area of the trench, length."""

    margin_m: float
    area_m2: float
    length_m: float


def try_route(
    grid: Grid, design: Design, line: Floats, margin_of: Callable[[Floats], float] | None = None
) -> Trial | None:
    """A route (k, 2) tried on the grid's ground; None where that is not known.

    Ground is taken at no more than a cell's spacing. `margin_of` tells the fall to spare of a
    shape; without it the grade may change anywhere.
    """
    legs_m = planar_legs(line)
    if not len(legs_m) or legs_m.min() < LEAST_LEG_M:
        return None
    corner_m = np.concatenate([[0.0], np.cumsum(legs_m)])
    spacing_m = min(grid.dx_m, grid.dy_m)
    at_m = np.concatenate(
        [
            np.linspace(a, b, max(int(np.ceil((b - a) / spacing_m)), 1), endpoint=False)
            for a, b in itertools.pairwise(corner_m)
        ]
        + [corner_m[-1:]]
    )
    at_m = np.unique(np.append(at_m, design.limits.edges_m(float(corner_m[-1]))))
    xy = np.column_stack([np.interp(at_m, corner_m, line[:, axis]) for axis in (0, 1)])
    ground_m = grid.ground_m(xy)
    if not np.isfinite(ground_m).all():
        return None
    band = band_of(design, Alignment(at_m, ground_m, np.zeros(len(at_m), dtype=bool)), ())
    invert_m = highest_line(at_m, band.hi_m, band.least_grade, band.greatest_grade)
    depth_m = ground_m - invert_m + design.section.below_invert_m
    return Trial(
        find_pinch(band).margin_m if margin_of is None else margin_of(line),
        float(np.trapezoid(np.maximum(depth_m, 0.0), at_m)),
        float(corner_m[-1]),
    )


def over_known(grid: Grid, line: Floats) -> bool:
    """Whether the ground is known all along a route (k, 2): no corner of a hole is cut."""
    if grid.known.all():
        return True
    spacing_m = min(grid.dx_m, grid.dy_m) * KNOWN_SHARE
    for one, two in itertools.pairwise(line):
        count = max(2, int(np.ceil(np.hypot(*(two - one)) / spacing_m)) + 1)
        if not np.isfinite(grid.ground_m(np.linspace(one, two, count))).all():
            return False
    return True


def straighten(line: Floats, serves: Callable[[Floats], bool]) -> Floats:
    """The line (k, 2) with as many of its points left out as `serves` allows, flattest first.

    Its ends stay. At most MOST_TRIALS lines are tried; one that does not serve even whole is
    only freed of points between two legs of one direction.
    """
    line = _without_straight_points(line)
    trials, passed = 0, 0
    while len(line) > 2 and trials < MOST_TRIALS:
        order = np.argsort(_corner_areas(line), kind="stable") + 1
        for i in order:
            trials += 1
            shorter = np.delete(line, i, axis=0)
            if serves(shorter):
                line, passed = shorter, passed + 1
                break
            if trials >= MOST_TRIALS:
                break
        else:
            break
    return line


def _corner_areas(line: Floats) -> Floats:
    one, two = line[1:-1] - line[:-2], line[2:] - line[1:-1]
    return np.abs(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0])


def _without_straight_points(line: Floats) -> Floats:
    keep = np.concatenate([[True], planar_legs(line) > LEAST_LEG_M])
    keep[-1] = True
    line = line[keep]
    if len(line) > 2 and planar_legs(line[-2:])[0] <= LEAST_LEG_M:
        line = np.delete(line, -2, axis=0)
    bent = _corner_areas(line) > 1e-9 if len(line) > 2 else np.zeros(0, dtype=bool)
    return line[np.concatenate([[True], bent, [True]])]


def margin_kept(base: Trial, least_m: float) -> float:
    """The margin a straightened line must keep: what it had, or `least_m` if that is less."""
    return min(base.margin_m, least_m) - DECISION_SLACK_M
