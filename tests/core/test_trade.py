"""Facts of the trade that every plan must show: common practice, no source, unless one is named."""

from __future__ import annotations

import numpy as np
import pytest
from fluids.piping import nearest_pipe
from hypothesis import given, settings
from hypothesis import strategies as st

from yardfall.core.design import Design, Grading, Limits, Outlet, Start
from yardfall.core.easing.lay import lay
from yardfall.core.ground.profile import GroundProfile, from_elevations
from yardfall.core.ground.route import taped
from yardfall.core.pipes import CATALOGUE
from yardfall.core.plan import Plan, make_plan
from yardfall.core.units import FOOT_M, INCH_M, US

PIPE = CATALOGUE["corrugated-single-4"]


def plan_on(ground: GroundProfile, cover_in: float = 8, least: float = 0.0125) -> Plan:
    length_m = float(ground.at_m[-1])
    return make_plan(
        lay(
            taped(length_m),
            ground,
            Design(
                PIPE,
                Start("cover", cover_in * INCH_M),
                Grading(least),
                Limits(-10.0, None, 0.0),
                Outlet("dry_well"),
            ),
            np.linspace(0, length_m, 6),
        ),
        US.divisions("ft"),
    )


def level_ground(length_ft: float = 50) -> GroundProfile:
    at_m = np.linspace(0, length_ft, 6) * FOOT_M
    return from_elevations(at_m, np.zeros(6))


def test_least_grades() -> None:
    """Single-wall corrugated 1.25 %, smooth wall 1 % (common practice, no source)."""
    for code, pipe in CATALOGUE.items():
        if code.startswith("corrugated-single"):
            assert pipe.min_grade == 0.0125
        elif code == "pvc-sch40-2":
            assert pipe.min_grade == pytest.approx(0.25 / 12)  # IPC 2021 Table 704.1
        else:
            assert pipe.min_grade == 0.01


@pytest.mark.parametrize("nominal", [2, 3, 4, 6])
def test_schedule_40_inside_diameters(nominal: int) -> None:
    """ASTM D1785 sizes: printed 2.067, 3.068, 4.026, 6.065 in, and as `fluids.piping` has them."""
    printed = {2: 2.067, 3: 3.068, 4: 4.026, 6: 6.065}
    pipe = CATALOGUE[f"pvc-sch40-{nominal}"]
    _, inside_m, outside_m, wall_m = nearest_pipe(NPS=nominal, schedule="40")
    assert pipe.inside_m / INCH_M == pytest.approx(printed[nominal], abs=0.0005)
    assert pipe.inside_m == pytest.approx(inside_m, abs=1e-4)
    assert pipe.outside_m == pytest.approx(outside_m, abs=1e-4)
    assert pipe.wall_m == pytest.approx(wall_m, abs=1e-4)


def test_sdr_35_inside_is_outside_less_two_walls() -> None:
    """ASTM D3034: 4 in 4.215 − 2 × 0.120 = 3.975; 6 in 6.275 − 2 × 0.180 = 5.915."""
    assert CATALOGUE["pvc-sdr35-4"].inside_m / INCH_M == pytest.approx(3.975)
    assert CATALOGUE["pvc-sdr35-6"].inside_m / INCH_M == pytest.approx(5.915)


def test_a_4_in_pipe_under_10_in_of_soil_starts_14_in_deep() -> None:
    """Common practice, no source: cover plus the pipe's nominal size, to the inch below."""
    first = plan_on(level_ground(), cover_in=10).stations[0]
    assert int(first.dig_depth_m / INCH_M) == 14


def test_ground_that_rises_makes_the_trench_deeper_by_as_much() -> None:
    flat = plan_on(level_ground())
    bumped = level_ground().elevation_m.copy()
    bumped[2] += 3 * INCH_M
    bumped[3] -= 2 * INCH_M
    plan = plan_on(from_elevations(level_ground().at_m, bumped))
    change = [
        (b.dig_depth_m - a.dig_depth_m) / INCH_M
        for a, b in zip(flat.stations, plan.stations, strict=True)
    ]
    assert change == pytest.approx([0, 0, 3, -2, 0, 0], abs=1e-9)


def test_from_the_string_the_bottom_falls_by_the_same_step() -> None:
    """Whatever the ground does, equal stations step down equally: the best check there is."""
    rng = np.random.default_rng(7)
    ground = from_elevations(level_ground().at_m, rng.normal(0, 0.05, 6))
    bottoms = np.array([s.ground_m - s.dig_depth_m for s in plan_on(ground).stations])
    steps = -np.diff(bottoms) / INCH_M
    assert steps == pytest.approx([10 * 12 * 0.0125] * 5)


@pytest.mark.parametrize(("length_ft", "fall_in"), [(50, 6.2), (100, 12.5), (150, 18.7)])
def test_fall_at_an_eighth_of_an_inch_per_foot(length_ft: float, fall_in: float) -> None:
    """1/8 in per ft is 1.04 %: 50 ft 6.2 in, 100 ft 12.5 in, 150 ft 18.7 in (rounded)."""
    run = plan_on(level_ground(length_ft), least=0.125 / 12).runs[0]
    assert run.fall_m / INCH_M == pytest.approx(fall_in, abs=0.06)
    assert run.grade * 100 == pytest.approx(1.04, abs=0.005)


def test_a_flat_100_ft_run_from_14_in_ends_26_in_deep() -> None:
    plan = plan_on(level_ground(100), cover_in=14 - 4.6, least=0.125 / 12)
    assert plan.stations[0].dig_depth_m / INCH_M == pytest.approx(14)
    assert plan.stations[-1].dig_depth_m / INCH_M == pytest.approx(26.5)


@settings(max_examples=100, deadline=None)
@given(lift_m=st.floats(-500, 500), seed=st.integers(0, 10**6))
def test_raising_everything_changes_no_depth(lift_m: float, seed: int) -> None:
    rng = np.random.default_rng(seed)
    at_m = np.linspace(0, 20, 8)
    ground_m = -0.02 * at_m + rng.normal(0, 0.05, 8)
    one = plan_on(from_elevations(at_m, ground_m))
    two = plan_on(from_elevations(at_m, ground_m + lift_m))
    assert [s.dig_depth_m for s in one.stations] == pytest.approx(
        [s.dig_depth_m for s in two.stations], abs=1e-9
    )
    assert one.verdict == two.verdict
