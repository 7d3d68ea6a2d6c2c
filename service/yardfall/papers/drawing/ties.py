"""Stations tied by tape: two distances from two corners that stand still.

The two arcs must cross well: at an angle of cut from 30° to 150°, nearer a right angle is better
(common practice of tape surveys, no source). A tape does not go through a wall.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from yardfall.core.arrays import Floats
from yardfall.core.units import FOOT_M, INCH_M, UnitSystem
from yardfall.papers.drawing.drawing import shortened
from yardfall.papers.drawing.outlines import geometry
from yardfall.papers.model import DrainLine, Job

LEAST_CUT: Final = math.sin(math.radians(30))
TAPE_M: Final = 100 * FOOT_M
"""The usual long tape (common practice, no source)."""
LONG_TAPE_M: Final = 200 * FOOT_M
NEAREST_M: Final = 0.3
"""From nearer a tape gives no direction."""
TURN_DEG: Final = 20.0
"""A point of an outline that turns less is no corner that a hand finds."""
MOST_CORNERS: Final = 26
MOST_ROUNDS: Final = 4
"""Stakes tied by stakes tied by stakes: further on, errors add up."""
STEP_M: Final = {"us": INCH_M / 16, "si": 0.001}
"""What a distance is told to: at the flattest cut allowed its rounding moves the stake by no more
than half a mark of the trench's own tape, 1/8 in or 2.5 mm."""
INSIDE_M: Final = 0.02
"""A tape along a wall, or from its corner, does not go through it."""


@dataclass(frozen=True, eq=False)
class Corner:
    """Something to hold a tape on: its letter, or the label of a stake that is set already, whose
    it is, and where on the plane (2,), m."""

    letter: str
    name: str
    place_m: Floats


@dataclass(frozen=True)
class Tie:
    """Two corners and the level distances from them, in whole steps of the tape."""

    first: Corner
    second: Corner
    first_m: float
    second_m: float


@dataclass(frozen=True, eq=False)
class StakeOut:
    """The corners that are taped from, lettered, and the ties of each line's stations, by the
    number of the line in the job; None where no two corners serve."""

    corners: tuple[Corner, ...]
    ties: dict[int, tuple[Tie | None, ...]]

    @property
    def from_stakes(self) -> bool:
        """Whether a stake serves as a corner."""
        letters = {corner.letter for corner in self.corners}
        used = {corner.letter for tie in self._all() for corner in (tie.first, tie.second)}
        return not used <= letters

    @property
    def lacking(self) -> bool:
        """Whether a station has no tie."""
        return any(tie is None for ties in self.ties.values() for tie in ties)

    def _all(self) -> list[Tie]:
        return [tie for ties in self.ties.values() for tie in ties if tie]


def stake_out(job: Job) -> StakeOut:
    """Every station on the plane tied by the two corners that cut best."""
    found = _corners(job)
    house = _walls(job)
    step_m = STEP_M[job.units.name]
    tied = {
        k: _tie_line(line, found, house, step_m)
        for k, line in enumerate(job.lines)
        if line.plane_m is not None
    }
    _tie_the_rest(job, tied, found, house, step_m)
    used = {id(c) for ties in tied.values() for t in ties if t for c in (t.first, t.second)}
    kept = [corner for corner in found if id(corner) in used]
    renamed = {
        id(corner): replace(corner, letter=chr(ord("A") + i)) for i, corner in enumerate(kept)
    }

    def named(tie: Tie | None) -> Tie | None:
        if tie is None:
            return None
        first, second = (renamed.get(id(c), c) for c in (tie.first, tie.second))
        return replace(tie, first=first, second=second)

    ties = {k: tuple(map(named, line_ties)) for k, line_ties in tied.items()}
    return StakeOut(tuple(renamed.values()), ties)


def _corners(job: Job) -> list[Corner]:
    """Every corner to tape from, in the order they were given."""
    found: list[tuple[str, Floats]] = []
    for outline in job.fixed:
        ring = outline.rings_m[0]
        if outline.kind == "area":
            ring = ring[:-1][_turns(ring[:-1])]
        found += [(outline.name, place) for place in ring]
    return [Corner("", name, place) for name, place in found[:MOST_CORNERS]]


def _walls(job: Job) -> BaseGeometry | None:
    walls = [geometry(one).buffer(-INSIDE_M) for one in job.fixed if one.kind == "area"]
    if not walls:
        return None
    house = shapely.union_all(walls)
    shapely.prepare(house)
    return house


def _turns(ring: Floats) -> NDArray[np.bool_]:
    """Which points (n,) of a ring that does not repeat its first turn enough to be corners."""
    before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turn_deg = np.degrees(np.abs(np.arctan2(cross, (before * after).sum(axis=1))))
    return np.asarray(turn_deg >= TURN_DEG)


def _tie_line(
    line: DrainLine, among: list[Corner], house: BaseGeometry | None, step_m: float
) -> list[Tie | None]:
    """The tie of each station of a line.

    One pair serves the whole line where it cuts well everywhere, so that nobody moves a tape;
    else each station has its own best, by the usual tape where that reaches.
    """
    places_m = line.plane_m
    assert places_m is not None
    ties: list[Tie | None] = [None] * len(places_m)
    if len(among) < 2:
        return ties
    pairs = list(combinations(range(len(among)), 2))
    for longest_m in (TAPE_M, LONG_TAPE_M):
        cut = _cuts(places_m, among, pairs, house, longest_m)
        worst, best = cut.min(axis=0), cut.argmax(axis=1)
        if worst.max() >= LEAST_CUT:
            best = np.full(len(best), worst.argmax())
        for i, k in enumerate(best.tolist()):
            if ties[i] is None and cut[i, k] >= LEAST_CUT:
                ties[i] = _tie(among[pairs[k][0]], among[pairs[k][1]], places_m[i], step_m)
    return ties


def _tie_the_rest(
    job: Job,
    tied: dict[int, list[Tie | None]],
    among: list[Corner],
    house: BaseGeometry | None,
    step_m: float,
) -> None:
    """Tie what no two corners tie by stakes that are set already, with a corner or two by two."""
    for _ in range(MOST_ROUNDS if among else 0):
        left = [(k, i) for k, ties in tied.items() for i, tie in enumerate(ties) if tie is None]
        stakes = [
            Corner(_stake_label(job, k, i), "", place_m)
            for k, ties in tied.items()
            for i, (tie, place_m) in enumerate(zip(ties, _places_m(job, k), strict=True))
            if tie is not None
        ]
        if not left or not stakes:
            return
        both = [*among, *stakes[:: -(-len(stakes) // MOST_CORNERS)]]
        pairs = [(i, j) for j in range(len(among), len(both)) for i in range(j)]
        if not pairs:
            return
        places_m = np.array([_places_m(job, k)[i] for k, i in left])
        cut = _cuts(places_m, both, pairs, house, TAPE_M)
        for (k, i), place_m, row in zip(left, places_m, cut, strict=True):
            best = int(row.argmax())
            if row[best] >= LEAST_CUT:
                first, second = (both[n] for n in pairs[best])
                tied[k][i] = _tie(first, second, place_m, step_m)
        if all(tied[k][i] is None for k, i in left):
            return


def _places_m(job: Job, k: int) -> Floats:
    places_m = job.lines[k].plane_m
    assert places_m is not None
    return places_m


def _stake_label(job: Job, k: int, i: int) -> str:
    label = str(job.lines[k].stations[i]["label"])
    return label if k == 0 else f"{shortened(job.lines[k].name, 10)} {label}"


def _tie(first: Corner, second: Corner, place_m: Floats, step_m: float) -> Tie:
    away = [float(np.hypot(*(place_m - corner.place_m))) for corner in (first, second)]
    told = [round(length_m / step_m) * step_m for length_m in away]
    return Tie(first, second, *told)


def _cuts(
    places_m: Floats,
    among: list[Corner],
    pairs: list[tuple[int, int]],
    house: BaseGeometry | None,
    longest_m: float,
) -> Floats:
    """The sine of the angle of cut (n, pairs); 0 where a tape does not reach or meets a wall."""
    stands = np.array([corner.place_m for corner in among])
    to = places_m[:, None, :] - stands[None, :, :]
    away_m = np.hypot(to[..., 0], to[..., 1])
    reached = (away_m > NEAREST_M) & (away_m <= longest_m)
    if house is not None:
        ends = np.stack(np.broadcast_arrays(places_m[:, None, :], stands[None, :, :]), axis=2)
        reached &= ~shapely.intersects(house, shapely.linestrings(ends))
    along = to / np.maximum(away_m, NEAREST_M)[..., None]
    i, j = np.array(pairs).T
    cross = along[:, i, 0] * along[:, j, 1] - along[:, i, 1] * along[:, j, 0]
    return np.where(reached[:, i] & reached[:, j], np.abs(cross), 0.0)


def distance_text(length_m: float, units: UnitSystem) -> str:
    """A tape distance as it is read: `23' 4 1/16"`, `7.123 m`."""
    if units.name == "si":
        return f"{length_m:.3f} m"
    feet, rest = divmod(round(length_m / STEP_M["us"]), 12 * 16)
    inches, part = divmod(rest, 16)
    over = 16
    while part and part % 2 == 0:
        part, over = part // 2, over // 2
    fraction = f" {part}/{over}" if part else ""
    return f"{feet}' {inches}{fraction}\""
