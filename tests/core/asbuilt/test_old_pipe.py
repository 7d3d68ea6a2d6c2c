"""An old pipe: worked by hand, against a linear program, and against errors drawn anew."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog

from yardfall.core.asbuilt.old_pipe import OldPipe, PipeCheck, PipePoint, check_pipe, is_flat
from yardfall.core.errors import InputError
from yardfall.core.pipes import CATALOGUE
from yardfall.core.uncertainty.accuracy import Accuracy
from yardfall.core.uncertainty.instruments import INSTRUMENTS
from yardfall.core.units import FOOT_M, INCH_M

PIPE = CATALOGUE["corrugated-single-4"]


def by_invert(at, invert, fixed=(), **more) -> PipeCheck:
    points = tuple(
        PipePoint(float(x), "invert", float(z), fixed=k in fixed)
        for k, (x, z) in enumerate(zip(at, invert, strict=True))
    )
    return check_pipe(OldPipe(points, None, **({"least_grade": 0.01} | more)))


def test_a_pipe_worked_by_hand() -> None:
    """60 ft read every 15 ft, 20, 22.5, 26.5, 25 and 29.5 in below a string.

    The third reading lies 1.5 in under the fourth. Upstream it falls 4 in over 15 ft, so the water
    reaches 15 × 1.5/4 = 5.625 ft back: 20.625 ft in all. 1.25 % of 15 ft is 2.25 in: the third and
    the fourth must part by 1.5 + 2.25 = 3.75 in. Lifting the third takes it from 4 to 2.25 in under
    the second at most, 1.75 in; lowering the fourth leaves 4.5 − 2.25 in. The fourth's part and the
    third's weigh the same, so any 3.75 in together are the least: 3.75 in × 15 ft.
    """
    down = np.array([20, 22.5, 26.5, 25, 29.5]) * INCH_M
    at = np.arange(5) * 15 * FOOT_M
    points = tuple(PipePoint(x, "down", z) for x, z in zip(at, down, strict=True))
    found = check_pipe(OldPipe(points, PIPE, PIPE.min_grade))
    (belly,) = found.bellies
    assert belly.pond.depth_m / INCH_M == pytest.approx(1.5)
    assert belly.pond.length_m / FOOT_M == pytest.approx(20.625)
    assert belly.pond.from_m / FOOT_M == pytest.approx(24.375)
    assert found.drains == "no"
    assert [s.fall_m / INCH_M for s in found.stretches] == pytest.approx([2.5, 4, -1.5, 4.5])
    assert found.overall.grade == pytest.approx(9.5 / 720)
    assert found.change_m is not None
    assert found.change_m[[0, 1, 4]] == pytest.approx(0)
    assert found.change_m[2] - found.change_m[3] == pytest.approx(3.75 * INCH_M)
    assert 0 <= found.change_m[2] <= 1.75 * INCH_M + 1e-9


def test_a_reading_on_the_top_is_carried_to_the_inside_bottom() -> None:
    """4.6 in outside, 0.3 in of wall: the inside bottom lies 4.3 in under the top."""
    points = (
        PipePoint(0.0, "depth", 0.5, "pipe_top", ground_m=10.0),
        PipePoint(5.0, "depth", 0.7, "invert", ground_m=10.0),
        PipePoint(9.0, "rod", 1.1, "invert"),
    )
    found = check_pipe(OldPipe(points, PIPE, 0.01, height_m=10.3))
    assert found.invert_m == pytest.approx([9.5 - 4.3 * INCH_M, 9.3, 9.2])


def test_points_are_taken_downstream_whatever_their_order() -> None:
    forth, back = by_invert([0, 5, 9], [3, 1, 2]), by_invert([9, 0, 5], [2, 3, 1])
    assert back.order == (1, 2, 0)
    assert forth.at_m.tolist() == back.at_m.tolist()
    assert forth.bellies == back.bellies


MM = st.integers(-60, 60)


@st.composite
def old_pipes(draw):
    n = draw(st.integers(2, 7))
    at = np.cumsum([0] + [draw(st.integers(1, 9)) for _ in range(n - 1)])
    z = np.array([draw(MM) for _ in range(n)]) / 1e3
    fixed = draw(st.sets(st.integers(0, n - 1), max_size=3))
    return at.astype(float), z, fixed, draw(st.integers(0, 20)) / 1e3


def least_by_program(at, z, fixed, grade) -> float | None:
    """Σ wᵢ·|yᵢ − zᵢ| by HiGHS, with y = z + up − down and nothing moved that is fixed."""
    n, half = len(at), np.diff(at) / 2
    weight = np.append(half, 0) + np.append(0, half)
    pairs = [np.eye(n)[i + 1] - np.eye(n)[i] for i in range(n - 1)]
    rows = np.array([np.concatenate([p, -p]) for p in pairs])
    short = -grade * np.diff(at) - np.array(pairs) @ z
    bounds = [(0, 0 if k % n in fixed else None) for k in range(2 * n)]
    found = linprog(np.concatenate([weight, weight]), rows, short, bounds=bounds, method="highs")
    return float(found.fun) if found.status == 0 else None


@settings(max_examples=300, deadline=None)
@given(old_pipes())
def test_the_least_change_is_the_linear_programs(case) -> None:
    at, z, fixed, grade = case
    found = by_invert(at, z, fixed, least_grade=grade)
    wanted = least_by_program(at, z, fixed, grade)
    if wanted is None:
        assert found.change_m is None
        return
    assert found.change_m is not None
    half = np.diff(at) / 2
    weight = np.append(half, 0) + np.append(0, half)
    assert np.abs(found.change_m) @ weight == pytest.approx(wanted, abs=1e-4)
    assert all(found.change_m[k] == 0 for k in fixed)
    moved = by_invert(at, z + found.change_m)
    assert not any(s.grade < grade - 5e-6 for s in moved.stretches)
    assert moved.bellies == () or max(b.pond.depth_m for b in moved.bellies) < 5e-6


@settings(max_examples=300, deadline=None)
@given(old_pipes())
def test_water_stands_as_deep_as_the_highest_invert_downstream(case) -> None:
    """Brute force: every pair of points; a belly starts and ends where the depth is nothing."""
    at, z, _, _ = case
    found = by_invert(at, z)
    deep = [max([0.0, *(z[k:] - z[k])]) for k in range(len(z))]
    assert found.water_m == pytest.approx(deep, abs=2e-6)
    assert found.drains == ("no" if max(deep) > 1e-6 else "yes")
    assert sum(b.pond.depth_m for b in found.bellies) == pytest.approx(
        sum(
            max(d for d, x in zip(deep, at, strict=True) if b.pond.from_m <= x <= b.pond.to_m)
            for b in found.bellies
        )
    )


def test_the_shallowest_belly_told_is_seldom_shown_by_errors_alone() -> None:
    """A level pair read 200,000 times: the errors show as much or more in one case of twenty."""
    sigma_m = 0.004
    found = by_invert([0, 5], [1, 1], accuracy=Accuracy(sigma_m=sigma_m))
    drawn = np.random.default_rng(7).normal(0, sigma_m, (2, 200_000))
    assert np.mean(drawn[1] - drawn[0] > found.least_told_m) == pytest.approx(0.05, abs=0.002)


@pytest.mark.parametrize(
    ("rise_m", "accuracy", "drains", "within"),
    [
        (0.009, Accuracy(sigma_m=0.004), "too_close", True),
        (0.010, Accuracy(sigma_m=0.004), "no", False),
        (0.009, Accuracy(sigma_m=0.0), "no", False),
        (0.009, Accuracy(sigma_m=0.001, common_m=0.5), "no", False),
        (0.009, None, "no", None),
        # 1/4 in every 25 ft: over 50 ft 1/2 in each, and 1.16 in = 29.5 mm of a difference
        (0.029, Accuracy(INSTRUMENTS["line_level"]), "too_close", True),
        (0.030, Accuracy(INSTRUMENTS["line_level"]), "no", False),
    ],
)
def test_a_belly_within_the_readings_errors_is_too_close_to_call(
    rise_m, accuracy, drains, within
) -> None:
    """1.645·√2·4 mm = 9.3 mm, and 1.645·√2·1/2 in = 29.5 mm (z(0.95) = 1.645, any table)."""
    found = by_invert(np.array([0, 25, 50]) * FOOT_M, [1, 0.9, 0.9 + rise_m], accuracy=accuracy)
    (belly,) = found.bellies
    assert (found.drains, belly.within_error) == (drains, within)


def test_one_sure_belly_makes_a_no_beside_one_that_may_be_none() -> None:
    found = by_invert([0, 2, 4, 6, 8], [1, 0.9, 0.902, 0.5, 0.6], accuracy=Accuracy(sigma_m=0.01))
    assert [belly.within_error for belly in found.bellies] == [True, False]
    assert found.drains == "no"


def test_just_the_least_grade_is_enough() -> None:
    at = np.arange(12) * 3.3
    found = by_invert(at, 100 - 0.01 * at)
    assert not any(is_flat(stretch, 0.01) for stretch in found.stretches)
    assert found.change_m is not None
    assert (found.change_m == 0).all()


@pytest.mark.parametrize(
    ("points", "codes"),
    [
        ([(0, 1.0), (5, 1.2)], ["pipe_rises"]),
        ([(0, 1.0), (5, 1.0)], ["pipe_level"]),
        ([(0, 9.0), (5, 1.0)], ["pipe_steep"]),
        ([(0, 1.0), (5, 0.9)], []),
    ],
)
def test_what_is_hardly_meant_is_asked_about(points, codes) -> None:
    found = by_invert(*zip(*points, strict=True), accuracy=Accuracy(sigma_m=0.001))
    assert [remark.code for remark in found.remarks] == codes


@pytest.mark.parametrize(
    ("points", "height_m", "pointer"),
    [
        ([PipePoint(0, "invert", 1), PipePoint(0, "invert", 1)], None, "/points/1/at"),
        ([PipePoint(0, "invert", 1), PipePoint(5, "down", 1, "pipe_top")], 9.0, "/pipe"),
        ([PipePoint(0, "invert", 1), PipePoint(5, "rod", 1)], None, "/height"),
        ([PipePoint(0, "down", 1), PipePoint(5, "rod", 1)], 9.0, "/points/1/rod"),
    ],
)
def test_what_cannot_be_reckoned_is_refused_where_it_stands(points, height_m, pointer) -> None:
    with pytest.raises(InputError) as refused:
        check_pipe(OldPipe(tuple(points), None, 0.01, height_m))
    assert [problem.pointer for problem in refused.value.problems] == [pointer]
