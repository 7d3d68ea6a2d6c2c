"""What is hardly meant is asked about, and what yards have is left in peace."""

from __future__ import annotations

import numpy as np
import pytest

from yardfall.core.design import Grading
from yardfall.core.grade_runs import GradeRun
from yardfall.core.ground.profile import from_elevations
from yardfall.core.pipes import CATALOGUE, Pipe
from yardfall.core.warnings.plausibility import (
    doubtful_grades,
    doubtful_ground,
    doubtful_pipe,
    other_way,
)

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
        return [
            r.code
            for r in doubtful_grades(PIPE, Grading(PIPE.min_grade), runs, steep_told=steep_told)
        ]

    assert told(0.29, 0.0125) == []
    assert told(0.31) == ["grade_steep"]
    assert told(0.31, steep_told=True) == []
    assert told(0.01, 0.0) == ["lies_level"]
    assert told(0.0, 0.01, 0.0) == ["lies_level"] * 2


def test_a_pipe_flatter_than_usual_is_told_of_once_by_its_flattest_run() -> None:
    """At 0.5 % one end of a 10 ft stick settles by 0.005 × 120 in = 0.6 in until it is level."""
    runs = [run(0.02), run(0.008), GradeRun(10.0, 30.0, 0.005, 0.1)]
    (one,) = doubtful_grades(PIPE, Grading(0.005), runs, steep_told=False)
    assert one.code == "lies_flat"
    assert (one.values["from_station_m"], one.values["to_station_m"]) == (10.0, 30.0)
    assert one.values["settles_m"] == pytest.approx(0.6 * 0.0254)
    assert one.values["least_grade"] == PIPE.min_grade
    as_usual = [run(PIPE.min_grade)]
    assert doubtful_grades(PIPE, Grading(0.005), as_usual, steep_told=False) == []
    own_pipe = Pipe(None, "own", "own", None, 0.11, 0.104, 0.003, 0.01, (0.01, 0.01), 0.0, "")
    assert doubtful_grades(own_pipe, Grading(0.005), runs, steep_told=False) == []


def test_a_level_pipe_is_given_its_own_least_grade_or_the_flattest_published() -> None:
    """1/16 in per ft is 1/192 (International Plumbing Code 2021, Table 1106.2, its first row)."""
    (one,) = doubtful_grades(PIPE, Grading(PIPE.min_grade), [run(0.0)], steep_told=False)
    assert one.values["least_grade"] == PIPE.min_grade
    flat = Pipe(None, "own", "own", None, 0.11, 0.104, 0.003, 0.01, (0.01, 0.01), 0.0, "")
    (one,) = doubtful_grades(flat, Grading(0.0), [run(0.0)], steep_told=False)
    assert one.values["least_grade"] == pytest.approx(1 / 16 / 12)


@pytest.mark.parametrize(
    ("percent", "code", "said"),
    [
        # 1/8 in per ft is 1/96, 1.0417 %; 1/4 is 1/48, 2.0833 %; 1/16 is 1/192, 0.5208 %
        (0.125, "grade_in_inches", {"inches": "1/8", "meant": "1.0417"}),
        (0.13, "grade_in_inches", {"inches": "1/8", "meant": "1.0417"}),
        (0.25, "grade_in_inches", {"inches": "1/4", "meant": "2.0833"}),
        (0.0625, "grade_in_inches", {"inches": "1/16", "meant": "0.5208"}),
        (0.0125, "grade_as_share", {"share": "0.0125", "meant": "1.25"}),
        (0.0104, "grade_as_share", {"share": "0.0104", "meant": "1.04"}),
        # 1 in 80 is 1.25 %, 1 in 40 is 2.5 %; 80 mm in a metre are 8 %
        (80, "grade_in_ratio", {"number": "80", "meant": "1.25", "per_metre": "8"}),
        (40, "grade_in_ratio", {"number": "40", "meant": "2.5", "per_metre": "4"}),
        (0.2, None, {}),
        (0.3, None, {}),
        (0.0, None, {}),
        (1.25, None, {}),
        (30, None, {}),
    ],
)
def test_a_number_of_another_way_to_say_a_grade_is_told(
    percent: float, code: str | None, said: dict[str, str]
) -> None:
    found = other_way(percent / 100, "/grade/min_percent")
    assert [remark.code for remark in found] == ([] if code is None else [code])
    assert not found or said.items() <= dict(found[0].values).items()


def test_both_ends_of_a_grade_are_looked_at_and_steepness_is_told_once() -> None:
    told = doubtful_grades(PIPE, Grading(0.00125, 0.8), [run(0.4)], steep_told=False)
    assert [(one.code, one.pointer) for one in told] == [
        ("grade_in_inches", "/grade/min_percent"),
        ("grade_in_ratio", "/grade/max_percent"),
    ]
    flat = Pipe(None, "own", "own", None, 0.11, 0.104, 0.003, 0.01, (0.01, 0.01), 0.0025, "")
    (one,) = doubtful_grades(flat, Grading(0.0025), [run(0.01)], steep_told=False)
    assert one.pointer == "/pipe/min_percent"
