"""Blocks under a level and the gap under a board, by arithmetic and by sags sampled and poured."""

from __future__ import annotations

import numpy as np
import pytest

from yardfall.core.asbuilt.ponding import standing_water
from yardfall.core.stakeout.level_blocks import BOARD_M, board_gap, level_blocks
from yardfall.core.units import FOOT_M, INCH_M, SI, US
from yardfall.web.answers.level_block_answer import mark_text

MM = 0.001


def test_the_block_is_the_grade_times_the_level() -> None:
    """1.25 % of 48 in is 0.6 in, near 5/8 (arithmetic); 1/4 in per ft (International Plumbing Code
    2021, Table 704.1) is 1/2 in under 2 ft and 1 in under 4 ft."""
    two, four = level_blocks(0.0125, "us")
    assert four.block_m / INCH_M == pytest.approx(0.6)
    assert four.cut_m / INCH_M == 5 / 8
    assert two.cut_m / INCH_M == 5 / 16
    assert [one.cut_m / INCH_M for one in level_blocks(0.25 / 12, "us")] == [0.5, 1.0]
    assert [one.cut_m / MM for one in level_blocks(1 / 80, "si")] == pytest.approx([7.5, 15.0])


@pytest.mark.parametrize("grade", [0.0, -0.01, 1e-6])
def test_no_block_where_nothing_falls(grade: float) -> None:
    assert level_blocks(grade, "us") == ()
    assert (board_gap(grade, "us") is None) == (grade <= 0)


def test_a_run_so_flat_that_only_the_longer_level_shows_it() -> None:
    (one,) = level_blocks(0.001, "us")  # 0.024 in under 2 ft is no sixteenth, 0.048 in is
    assert one.level_m == pytest.approx(4 * FOOT_M)


def stands(grade: float, length_m: float, gap_m: np.ndarray) -> bool:
    """Whether water stands on a bottom that lies so far below a board from end to end."""
    at_m = np.linspace(0.0, length_m, len(gap_m))
    return any(pond.depth_m > 1e-9 for pond in standing_water(at_m, -grade * at_m - gap_m))


@pytest.mark.parametrize("system", ["us", "si"])
@pytest.mark.parametrize("grade", [0.005, 0.0104, 0.0125, 0.02, 0.05])
def test_an_even_sag_holds_water_just_beyond_the_gap(system, grade: float) -> None:
    board = board_gap(grade, system)
    assert board is not None
    share = np.linspace(0, 1, 4001)
    even = 4 * share * (1 - share)
    assert not stands(grade, board.length_m, board.gap_m * 0.999 * even)
    assert stands(grade, board.length_m, board.gap_m * 1.1 * even)
    assert board.read_m <= board.gap_m


def test_other_shapes_and_where_the_sag_lies() -> None:
    """A V in the middle may be twice as deep; no sag is dry that is deeper than s·(L − x)."""
    grade, length_m = 0.0125, BOARD_M["us"]
    share = np.linspace(0, 1, 4001)
    even_m = board_gap(grade, "us").gap_m
    vee = 1 - np.abs(2 * share - 1)
    assert not stands(grade, length_m, 1.99 * even_m * vee)
    assert stands(grade, length_m, 2.02 * even_m * vee)
    rng = np.random.default_rng(3)
    for _ in range(200):
        knots = np.concatenate([[0.0], np.sort(rng.uniform(0.05, 0.95, 4)), [1.0]])
        gap_m = np.interp(share, knots, [0, *rng.uniform(0, 3 * even_m, 4), 0])
        if np.any(gap_m > grade * length_m * (1 - share) + 1e-6):
            assert stands(grade, length_m, gap_m)


@pytest.mark.parametrize(
    ("sixteenths", "text"),
    [(1, "1/16 in"), (4, "1/4 in"), (10, "5/8 in"), (16, "1 in"), (17, "1 1/16 in"), (0, "0 in")],
)
def test_marks_in_inches(sixteenths: int, text: str) -> None:
    assert mark_text(sixteenths * INCH_M / 16, US) == text


def test_marks_in_millimetres() -> None:
    assert mark_text(0.0075, SI) == "7.5 mm"
    assert mark_text(0.015, SI) == "15 mm"
