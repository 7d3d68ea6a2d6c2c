"""What is hardly meant is asked about, and what yards have is left in peace."""

from __future__ import annotations

import numpy as np
import pytest

from yardfall.core.doubts import doubtful_grades, doubtful_ground, doubtful_pipe
from yardfall.core.ground import from_elevations
from yardfall.core.pipes import CATALOGUE, Pipe
from yardfall.core.stations import GradeRun

PIPE = CATALOGUE["pvc-sdr35-4"]


def codes(at_m: list[float], z_m: list[float], length_m: float = 20.0) -> list[str]:
    return [
        r.code for r in doubtful_ground(from_elevations(np.array(at_m), np.array(z_m)), length_m)
    ]


def test_ground_is_asked_about_from_30_percent_overall_or_100_between_two() -> None:
    """5.9 m and 6.1 m over 20 m are 29.5 and 30.5 %; 0.9 m and 1.1 m in 1 m are 90 and 110 %."""
    assert codes([0, 10, 20], [5.9, 3, 0]) == []
    assert codes([0, 10, 20], [6.1, 3, 0]) == ["ground_steep"]
    assert codes([0, 10, 20], [0, 3, 6.1]) == ["ground_steep"]
    assert codes([0, 10, 11, 20], [1.5, 1.4, 0.5, 0.3]) == []
    assert codes([0, 10, 11, 20], [1.5, 1.4, 0.3, 0.1]) == ["ground_steep_between"]


def test_only_the_ground_under_the_route_counts() -> None:
    assert codes([0, 10, 20, 21], [1, 0.5, 0, -9]) == []


def own(outside_m: float, inside_m: float) -> Pipe:
    wall_m = (outside_m - inside_m) / 2
    return Pipe(None, "own", "own", None, outside_m, inside_m, wall_m, 0.01, (0.01, 0.01), 0.01, "")


@pytest.mark.parametrize(
    ("pipe", "pointers"),
    [
        (own(0.110, 0.104), []),
        (own(0.610, 0.500), []),
        (own(0.0254, 0.025), []),
        (own(0.0041, 0.0039), ["/pipe/outside"]),
        (own(0.030, 0.024), ["/pipe/inside"]),
        (own(110 * 0.0254, 104 * 0.0254), ["/pipe/outside"]),  # 110 mm sent as inches
    ],
)
def test_a_pipe_of_no_yard_is_asked_about(pipe: Pipe, pointers: list[str]) -> None:
    assert [remark.pointer for remark in doubtful_pipe(pipe)] == pointers


def test_no_pipe_of_the_list_is_asked_about() -> None:
    assert [pipe.code for pipe in CATALOGUE.values() if doubtful_pipe(pipe)] == []


def run(grade: float) -> GradeRun:
    return GradeRun(0.0, 10.0, grade, 10 * grade)


def test_grades_are_asked_about_at_both_ends() -> None:
    def told(*grades: float, steep_told: bool = False) -> list[str]:
        runs = [run(grade) for grade in grades]
        return [r.code for r in doubtful_grades(PIPE, runs, steep_told=steep_told)]

    assert told(0.29, 0.001) == []
    assert told(0.31) == ["grade_steep"]
    assert told(0.31, steep_told=True) == []
    assert told(0.01, 0.0) == ["lies_level"]
    assert told(0.0, 0.01, 0.0) == ["lies_level"] * 2


def test_a_level_pipe_is_given_its_own_least_grade_or_the_flattest_published() -> None:
    """1/16 in per ft is 1/192 (International Plumbing Code 2021, Table 1106.2, its first row)."""
    (one,) = doubtful_grades(PIPE, [run(0.0)], steep_told=False)
    assert one.values["least_grade"] == PIPE.min_grade
    flat = Pipe(None, "own", "own", None, 0.11, 0.104, 0.003, 0.01, (0.01, 0.01), 0.0, "")
    (one,) = doubtful_grades(flat, [run(0.0)], steep_told=False)
    assert one.values["least_grade"] == pytest.approx(1 / 16 / 12)
