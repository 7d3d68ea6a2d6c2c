"""How sure a whole tree is: the readings of all its lines drawn together.

On every draw the recursion of `tree` runs anew, from the leaves to the outlet: each branch's
highest end is one more upper limit of the line it joins. A draw fits where every line exists.

The lines' readings are drawn apart. Two lines over one raster share the cells at their join; that
is left out, so the answer there is a little less sure than it could be. Crossings are passed as
planned, and for `least_dig` any number of changes of grade counts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from yardfall.core.accuracy import ErrorModel
from yardfall.core.band import Band, margins
from yardfall.core.chance import DRAWS, DRAWS_AT_ONCE, SEED, draw, share_that_fits
from yardfall.core.decision import band_of
from yardfall.core.raised import bent_ends, margins_from, raised_margins, straight_ends
from yardfall.core.route import Floats
from yardfall.core.tree import Line


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

    `models` are those of the lines on their points, in the order main, first branch, its branches,
    next branch; None for ground taken as certain.
    """
    changes = [
        np.zeros((1, count)) if model is None else draw(model, count, SEED + i).ground_change_m()
        for i, model in enumerate(models)
    ]
    return on_changed_ground(line, changes)


def on_changed_ground(line: Line, changes_m: list[Floats]) -> DrawnLine:
    """The tree where each line's ground is higher by (n, d), in the order of `draw_tree`."""
    return _on_draws(line, list(changes_m))


def _on_draws(line: Line, waiting: list[Floats]) -> DrawnLine:
    change_m = waiting.pop(0)
    change_m = np.broadcast_to(change_m, (len(line.points.at_m), change_m.shape[1]))
    above = tuple(_on_draws(branch.line, waiting) for branch in line.joined)
    band = _band_without_joins(line)
    count = change_m.shape[1]
    per = max(1, DRAWS_AT_ONCE // len(band.at_m))
    least, ends = [], []
    for first in range(0, count, per):
        part = slice(first, first + per)
        hi, lo = band.on_other_ground(change_m[:, part])
        for branch, drawn in zip(line.joined, above, strict=True):
            i = branch.place_on(line.points)
            highest = drawn.end_m[part] - branch.drop_m - branch.offset_m
            if branch.tied_by_ground:
                highest += change_m[i, part] - drawn.ground_m[part]
            np.minimum(hi[i], highest, out=hi[i])
        margin, end = _own(line, band, hi, lo)
        least.append(np.minimum.reduce([margin, *(drawn.margin_m[part] for drawn in above)]))
        ends.append(end)
    return DrawnLine(np.concatenate(least), np.concatenate(ends), change_m[-1], above)


def _own(line: Line, band: Band, hi: Floats, lo: Floats) -> tuple[Floats, Floats]:
    if not line.straight:
        return margins(band, hi, lo), bent_ends(band, hi)
    may_rise = line.design.start.shallowest_cover_m is not None
    margin, _ = margins_from(band, hi, lo, lo[0])
    if band.collides[0]:
        margin = np.minimum(margin, hi[0] - lo[0])
    if may_rise:
        margin = raised_margins(band, hi, lo, margin)
    return margin, straight_ends(band, hi, lo, may_rise=may_rise)


def _band_without_joins(line: Line) -> Band:
    """The limits but for the branches', whose points are told apart from those that set both."""
    band = band_of(replace(line.design, joins=()), line.points, line.ways)
    why: NDArray[np.object_] = np.array(band.hi_why, dtype=object)
    for branch in line.joined:
        why[branch.place_on(line.points)] = f"branch {branch.name}"
    return replace(band, hi_why=tuple(why))
