"""How sure a whole tree is: the readings of all its lines drawn together.

On every draw the recursion of `tree` runs anew, from the leaves to the outlet: each branch's
highest end is one more upper limit of the line it joins. A draw fits where every line exists.

Lines over one raster share its errors; the readings of all others are drawn apart. A crossing that
may be passed either way is passed as each draw allows, and for `least_dig` any number of changes of
grade counts.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from yardfall.core.arrays import Floats
from yardfall.core.chance.chance import share_that_fits
from yardfall.core.chance.draws import DRAWS, SEED, draws_of
from yardfall.core.chance.monte_carlo import Caps, on_many_grounds
from yardfall.core.chance.shared_cells import draw_lines
from yardfall.core.grading.band import DECISION_SLACK_M, Band
from yardfall.core.grading.decision import bands_of
from yardfall.core.network.tree import Line
from yardfall.core.uncertainty.accuracy import ErrorModel


@dataclass(frozen=True, eq=False)
class DrawnLine:
    """A line on each draw: the least margin (d,) of it and all above it, its highest end (d,)."""

    margin_m: Floats
    end_m: Floats
    ground_m: Floats
    above: tuple[DrawnLine, ...]

    @property
    def chance(self) -> float:
        """Share of the draws in which the line and all that join it exist."""
        return share_that_fits(self.margin_m)


def draw_tree(line: Line, models: Sequence[ErrorModel | None], count: int = DRAWS) -> DrawnLine:
    """Draw the readings of all lines and run the tree on every draw.

    `models` are those of the lines, in the order main, first branch, its branches,
    next branch; None for ground taken as certain.
    """
    lines = lines_of(line)
    count = min(count, *(draws_of(len(one.points.at_m)) for one in lines))
    changes = (
        np.zeros((1, count)) if drawn is None else drawn.onto(one.points.at_m).change_m
        for one, drawn in zip(lines, draw_lines(models, count, SEED), strict=True)
    )
    return on_changed_ground(line, changes)


def lines_of(line: Line) -> list[Line]:
    """The line and all above it, in the order of `draw_tree`."""
    return [line, *(one for branch in line.joined for one in lines_of(branch.line))]


def on_changed_ground(line: Line, changes_m: Iterable[Floats]) -> DrawnLine:
    """The tree where each line's ground is higher by (n, d), in the order of `draw_tree`."""
    return _on_draws(line, iter(changes_m))


def _on_draws(line: Line, waiting: Iterator[Floats]) -> DrawnLine:
    change_m, n = next(waiting), len(line.points.at_m)
    if len(change_m) < n:
        change_m = np.repeat(change_m, n, axis=0)
    above = tuple(_on_draws(branch.line, waiting) for branch in line.joined)
    caps = Caps(
        np.array([branch.place_on(line.points) for branch in line.joined], dtype=np.int64),
        np.empty((len(above), change_m.shape[1])),
    )
    for cap_m, i, branch, drawn in zip(caps.level_m, caps.point, line.joined, above, strict=True):
        cap_m[:] = drawn.end_m - branch.drop_m - branch.offset_m
        if branch.tied_by_ground:
            cap_m += change_m[i] - drawn.ground_m
    margin_m, end_m = _best_of(line, change_m, caps)
    least_m = np.minimum.reduce([margin_m, *(drawn.margin_m for drawn in above)])
    return DrawnLine(least_m, end_m, change_m[-1], above)


def _best_of(line: Line, change_m: Floats, caps: Caps) -> tuple[Floats, Floats]:
    """Margin (d,) and highest end (d,) by the best way past the crossings on each draw.

    Of ways that leave a line that is the one that may end highest.
    """
    ends = []
    for band in _bands_without_joins(line):
        margin_m, end_m = on_many_grounds(
            band,
            change_m,
            straight=line.straight,
            may_rise=line.design.start.shallowest_cover_m is not None,
            caps=caps,
        )
        ends.append((margin_m, end_m))
    margin_m, end_m = ends[0]
    for other_m, other_end_m in ends[1:]:
        fits, other_fits = margin_m >= -DECISION_SLACK_M, other_m >= -DECISION_SLACK_M
        better = np.where(fits & other_fits, other_end_m > end_m, other_m > margin_m)
        margin_m = np.where(better, other_m, margin_m)
        end_m = np.where(better, other_end_m, end_m)
    return margin_m, end_m


def _bands_without_joins(line: Line) -> list[Band]:
    """The limits but for the branches', whose points are told apart from those that set both."""
    bands = []
    for band in bands_of(replace(line.design, joins=()), line.points, line.ways):
        why: NDArray[np.object_] = np.array(band.hi_why, dtype=object)
        for branch in line.joined:
            why[branch.place_on(line.points)] = f"branch {branch.name}"
        bands.append(replace(band, hi_why=tuple(why)))
    return bands
