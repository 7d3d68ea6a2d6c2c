"""Branches: the same decision from the leaves to the outlet.

A branch may come in no lower than the main's invert plus the join's drop. So what a branch asks of
the main is one number, the highest level its end can have: with it as one more upper limit the
main's own decision is exact, and the branch's line is then planned to the level the main has there.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from yardfall.core.design import Alignment, Design
from yardfall.core.grading.band import DECISION_SLACK_M, Band, Pinch, find_pinch, highest_line
from yardfall.core.grading.decision import band_of, ways_to_pass
from yardfall.core.grading.straight import StraightRange, least_raise
from yardfall.core.numerics.root_finding import first_that_works
from yardfall.core.pipes import Pipe

HIGHEST_RAISE_M: Final = 10.0
"""No branch is asked to come in more than this much higher."""


def highest_end_m(design: Design, points: Alignment) -> float:
    """The highest invert that the end of a line can have within its limits and grades.

    Where no line keeps the lower limits, they are left to the line's own plan. For `least_dig`
    any number of changes of grade is counted on.
    """
    straight = design.straight
    ends = []
    for ways in ways_to_pass(design.crossings):
        band = band_of(design, points, ways)
        ends.append(_straight_end(band) if straight else _bent_end(band))
    return max(ends)


def _bent_end(band: Band) -> float:
    line = highest_line(band.at_m, band.hi_m, band.least_grade, band.greatest_grade)
    return float(line[-1])


def _straight_end(band: Band) -> float:
    """End of the flattest straight line, from the start that brings it out highest."""
    best = _best_start(band)
    return best.start_m - best.flattest * float(band.at_m[-1])


def _best_start(band: Band) -> StraightRange:
    """The start whose flattest straight line ends highest.

    Raising the start raises the end until the cover somewhere forces a steeper grade. Beyond that
    it lowers the end, and is done only as far as the lower limits ask.
    """
    x, s = band.at_m, band.least_grade
    highest_m = max(float(band.hi_m[0]), float(band.lo_m[0]))
    start_m = min(max(float(np.min(band.hi_m[1:] + s * x[1:])), float(band.lo_m[0])), highest_m)
    found = least_raise(band, start_m, highest_m)
    return found if found.fits else least_raise(band, start_m, start_m)


def usual_drop_m(branch: Pipe, main: Pipe) -> float:
    """Crown to crown: a smaller branch comes in as much higher as its bore is smaller."""
    return max(0.0, main.inside_m - branch.inside_m)


@dataclass(frozen=True, eq=False)
class Line:
    """One line of a tree: its design, a branch's with its end left open, its points, what joins."""

    design: Design
    points: Alignment
    ways: tuple[str, ...]
    joined: tuple[Joined, ...] = ()

    @property
    def straight(self) -> bool:
        """Whether it is held to one straight grade."""
        return self.design.straight

    @property
    def band(self) -> Band:
        """Its limits, its branches' among them."""
        return band_of(self.design, self.points, self.ways)


@dataclass(frozen=True, eq=False)
class Joined:
    """A branch of a line: where it joins, its drop, and what its levels are over the line's.

    `tied_by_ground`: its levels count from a level of its own, tied by the ground at the join.
    """

    name: str
    line: Line
    at_m: float
    drop_m: float
    offset_m: float = 0.0
    tied_by_ground: bool = False

    def place_on(self, points: Alignment) -> int:
        """Its point on the line it joins."""
        return int(np.argmin(np.abs(points.at_m - self.at_m)))


@dataclass(frozen=True)
class Place:
    """A limit at a station of a line; the line by the names of the branches that lead to it."""

    line: tuple[str, ...]
    at_m: float
    limit: str


@dataclass(frozen=True)
class TreePinch:
    """The least margin over every pair of points of the tree, and the limits that collide there.

    `turns_on`: for a straight line, the limit that forces it down on its way. `raise_m`: by how
    much higher the branch that forces the line down would have to come in, None where it does
    not, or where that would not be enough.
    """

    margin_m: float
    upstream: Place
    downstream: Place
    turns_on: Place | None = None
    raise_m: float | None = None

    @property
    def across_a_join(self) -> bool:
        """Whether its limits lie on different lines."""
        ends = [self.upstream, self.downstream, self.turns_on or self.upstream]
        return len({end.line for end in ends}) > 1


def tree_pinch(line: Line, path: tuple[str, ...] = ()) -> TreePinch:
    """The pinch of a tree, each line free to lie where the others let it."""
    band, pinch, margin_m = _free_pinch(line)
    up = _place(line, path, pinch.upstream, pinch.limits[0])
    down = _place(line, path, pinch.downstream, pinch.limits[1])
    turn = pinch.turns_on
    turns_on = None if turn is None else _place(line, path, turn, band.hi_why[turn])
    by = next(
        (
            b
            for b in line.joined
            for end in (up, turns_on)
            if end is not None and end.line[len(path) :][:1] == (b.name,)
        ),
        None,
    )
    raise_m = None if by is None or margin_m >= -DECISION_SLACK_M else _raise_of(line, by)
    own = TreePinch(margin_m, up, down, turns_on, raise_m)
    below = [tree_pinch(b.line, (*path, b.name)) for b in line.joined]
    return min([own, *below], key=lambda found: found.margin_m)


def _free_pinch(line: Line) -> tuple[Band, Pinch, float]:
    band = line.band
    if line.straight:
        found = least_raise(band, float(band.lo_m[0]), float(band.hi_m[0]))
        return band, found.pinch, found.margin_m
    pinch = find_pinch(band)
    return band, pinch, pinch.margin_m


def _place(line: Line, path: tuple[str, ...], i: int, limit: str) -> Place:
    """A point of a line; where a branch sets the limit, the point of the branch behind it."""
    for branch in line.joined:
        if limit == f"branch {branch.name}":
            below = branch.line
            band = below.band
            k = _behind_the_end(below, band)
            return _place(below, (*path, branch.name), k, band.hi_why[k])
    return Place(path, float(line.points.at_m[i]), limit)


def _behind_the_end(line: Line, band: Band) -> int:
    """The point whose upper limit keeps a line's end from being higher."""
    x = band.at_m
    if not line.straight:
        return int(np.argmin(band.hi_m + band.least_grade * x))
    best = _best_start(band)
    falls = (best.start_m - band.hi_m[1:]) / x[1:]
    k = int(np.argmax(falls))
    touches = best.start_m - band.hi_m[k + 1] >= best.flattest * x[k + 1] - DECISION_SLACK_M
    return k + 1 if touches else 0


def _raise_of(line: Line, branch: Joined) -> float | None:
    """How much higher a branch would have to come in for its line to fit."""

    def margin(more_m: float) -> float:
        joins = tuple(
            replace(j, highest_m=j.highest_m + more_m) if j.branch == branch.name else j
            for j in line.design.joins
        )
        return _free_pinch(replace(line, design=replace(line.design, joins=joins)))[2]

    return first_that_works(margin, 0.0, HIGHEST_RAISE_M)
