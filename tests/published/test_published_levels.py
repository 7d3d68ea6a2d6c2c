"""Levelling notes as others printed them, reduced here, each to the source's own precision."""

from __future__ import annotations

import pytest

from yardfall.core.ground.level_book import LevelBook, Shot, reduce_levels
from yardfall.core.units import FOOT_M


def reduced(benchmark_m: float, shots: list[Shot], **known_m: float) -> LevelBook:
    return reduce_levels("BM", benchmark_m, shots, known_m, None)


def levels(book: LevelBook, unit_m: float = 1.0) -> list[float]:
    return [level_m / unit_m for level_m in book.shot_m]


def test_one_set_up_of_elementary_surveying() -> None:
    """Ghilani & Wolf, Elementary Surveying, chapter on differential leveling (printed): 820.00 ft
    and a plus sight of 8.42 give HI 828.42; a minus sight of 1.20 gives 827.22."""
    shots = [Shot("BS", 8.42 * FOOT_M), Shot("FS", 1.20 * FOOT_M, on="X")]
    book = reduced(820.00 * FOOT_M, shots)
    assert book.heights_m[0] / FOOT_M == pytest.approx(828.42, abs=1e-9)
    assert book.points_m["X"] / FOOT_M == pytest.approx(827.22, abs=1e-9)


def test_from_a_catch_basin() -> None:
    """A US surveying course, part A (printed): 2156.77 ft, BS 2.67, FS 6.72, X at 2152.72."""
    shots = [Shot("BS", 2.67 * FOOT_M), Shot("FS", 6.72 * FOOT_M, on="X")]
    book = reduced(2156.77 * FOOT_M, shots)
    assert book.points_m["X"] / FOOT_M == pytest.approx(2152.72, abs=1e-9)


BOOK = [
    Shot("BS", 6.482),
    Shot("FS", 2.159, on="CP1"),
    Shot("BS", 5.844),
    Shot("IS", 3.141, on="C"),
    Shot("IS", 5.600, on="E"),
    Shot("FS", 7.318, on="CP2"),
    Shot("BS", 4.298),
    Shot("IS", 3.015, on="F"),
    Shot("FS", 4.264, on="BM2"),
]


def test_a_level_book_by_height_of_instrument() -> None:
    """Papua New Guinea University of Technology, surveying lecture two (printed, to the mm).

    BM1 40.000; heights of instrument 46.482, 50.167, 47.147. The inverted staff under a bridge
    (D) is left out: a rod here stands on the ground.
    """
    book = reduced(40.000, BOOK)
    assert [round(h, 3) for h in book.heights_m] == [46.482, 50.167, 47.147]
    named = {name: round(level, 3) for name, level in book.points_m.items()}
    assert named == {
        "CP1": 44.323,
        "C": 47.026,
        "E": 44.567,
        "CP2": 42.849,
        "F": 44.132,
        "BM2": 42.883,
    }


def test_its_arithmetic_check() -> None:
    """The same page: sights back 16.624 less sights fore 13.741 are 2.883, last less first."""
    back = sum(shot.rod_m for shot in BOOK if shot.sight == "BS")
    fore = sum(shot.rod_m for shot in BOOK if shot.sight == "FS")
    assert (round(back, 3), round(fore, 3)) == (16.624, 13.741)
    assert reduced(40.000, BOOK).points_m["BM2"] - 40.000 == pytest.approx(2.883, abs=1e-9)


SLIPPED = [
    Shot("BS", 1.855),
    Shot("IS", 2.410, on="A"),
    Shot("IS", 1.280, on="B"),
    Shot("FS", 0.995, on="CP1"),
    Shot("BS", 2.165),
    Shot("FS", 1.720, on="C"),
]


def test_rise_and_fall_up_to_a_slip() -> None:
    """A worked example of rise and fall (civil engineering questions, levelling no. 75; printed):
    100.000, fall 0.555 to A 99.445, rise 1.130 to B 100.575, rise 0.285 to CP1 100.860."""
    book = reduced(100.000, SLIPPED)
    named = book.points_m
    assert [round(named[n], 3) for n in ("A", "B", "CP1")] == [99.445, 100.575, 100.860]


def test_the_slip_is_not_fitted() -> None:
    """The same example prints C as 100.415, a fall of 0.445 from CP1. The sight back on CP1 is
    2.165 and the one on C 1.720: the smaller reading is the higher ground, a rise. The example's
    own check says so: sights back 4.020 less sights fore 2.715 are 1.305, not 0.415."""
    c_m = reduced(100.000, SLIPPED).points_m["C"]
    assert c_m == pytest.approx(101.305, abs=1e-9)
    assert c_m - 100.000 == pytest.approx(4.020 - 2.715, abs=1e-9)
    assert c_m != pytest.approx(100.415, abs=0.01)


def difference_m(at_a_m: float, at_b_m: float) -> float:
    """How much lower B stands than A by one set-up."""
    shots = [Shot("BS", at_a_m), Shot("FS", at_b_m, on="B")]
    return 100.0 - reduced(100.0, shots).points_m["B"]


def test_two_pegs_with_the_level_nearer_to_one() -> None:
    """Two-peg test (a question bank in surveying, levels on pegs A 283.665 and B 284.295; printed:
    0.060 m in 100 m). Level 25 m from A and 50 m from B, staff 2.847 and 3.462. The bank takes the
    levels as falling by 0.630 from A to B, as the readings do; by its words B is the higher."""
    apparent_m = difference_m(2.847, 3.462)
    assert apparent_m == pytest.approx(0.615, abs=1e-9)
    off_m_m = (apparent_m - (284.295 - 283.665)) / (50 - 25)
    assert abs(off_m_m) * 100 == pytest.approx(0.060, abs=5e-4)


def test_two_pegs_from_the_middle_and_beyond() -> None:
    """Two-peg test (the same bank; printed: the far staff should read 1.345). Pegs 80 m apart: from
    the middle 1.32 and 1.56; 10 m beyond A 1.11 and 1.39, so sights of 10 and 90 m."""
    true_m, apparent_m = difference_m(1.32, 1.56), difference_m(1.11, 1.39)
    assert (true_m, apparent_m) == (pytest.approx(0.24), pytest.approx(0.28))
    off_m_m = (apparent_m - true_m) / (90 - 10)
    assert 1.39 - 90 * off_m_m == pytest.approx(1.345, abs=5e-4)
