"""A grade checked without a laser: a block under a level, and a straight board on the bottom.

A level of length L lies at grade s when its low end stands on a block of s·L: then its bubble is
in the middle.

A straight board of length L is laid along the trench bottom. Let d(x) be the gap under it, x from
its upper end, d(0) = d(L) = 0, the board itself falling at s. The bottom lies at −s·x − d(x), and
water stands where that rises: where −d'(x) > s. An even sag is a parabola, d = 4·D·x·(L − x)/L²,
steepest at the lower end, where −d' = 4·D/L. So no water stands while

    D ≤ s·L/4.

Where the sag is a sharp V in the middle, −d' = 2·D/L, and D may be twice that; where its deepest
point lies nearer the lower end, it may be less: no shape keeps dry with d(x) > s·(L − x).
The same rule for a stick of pipe that sags between its ends.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from yardfall.core.units import FOOT_M, INCH_M, UnitName

LEVELS_M: Final[dict[UnitName, tuple[float, ...]]] = {
    "us": (2 * FOOT_M, 4 * FOOT_M),
    "si": (0.6, 1.2),
}
"""Lengths of the levels that crews carry (common practice, no source)."""
BOARD_M: Final[dict[UnitName, float]] = {"us": 8 * FOOT_M, "si": 2.4}
"""A stud or a straight plank (common practice, no source)."""
FINE_M: Final[dict[UnitName, float]] = {"us": INCH_M / 16, "si": 0.0005}
"""What a block can be cut or packed to."""


@dataclass(frozen=True)
class LevelBlock:
    """The block under the low end of a level, exactly and to the nearest that can be cut."""

    level_m: float
    block_m: float
    cut_m: float


@dataclass(frozen=True)
class Board:
    """The most that may show in the middle under a straight board, and that to read on a tape."""

    length_m: float
    gap_m: float
    read_m: float


def level_blocks(grade: float, units: UnitName) -> tuple[LevelBlock, ...]:
    """The block for each level; none for a run that does not fall, or by less than can be cut."""
    fine_m = FINE_M[units]
    made = [
        LevelBlock(length_m, grade * length_m, round(grade * length_m / fine_m) * fine_m)
        for length_m in LEVELS_M[units]
    ]
    return tuple(one for one in made if one.cut_m > 0)


def board_gap(grade: float, units: UnitName) -> Board | None:
    """The gap s·L/4 in the middle; None for a run that does not fall.

    To read on a tape it is rounded down: a limit.
    """
    length_m, fine_m = BOARD_M[units], FINE_M[units]
    gap_m = grade * length_m / 4
    if gap_m <= 0:
        return None
    return Board(length_m, gap_m, int(gap_m / fine_m + 1e-9) * fine_m)
