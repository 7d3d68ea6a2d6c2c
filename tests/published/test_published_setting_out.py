"""Grade, sight rails and stakes as others printed them."""

from __future__ import annotations

import numpy as np
import pytest

from yardfall.core.design import Design, Grading, Limits, Outlet, Start
from yardfall.core.easing.lay import lay
from yardfall.core.grade_runs import GradeRun
from yardfall.core.ground.blunders import string_sag_m
from yardfall.core.ground.level_book import Shot, from_level_book, reduce_levels
from yardfall.core.ground.profile import from_elevations
from yardfall.core.ground.route import taped
from yardfall.core.pipes import Pipe
from yardfall.core.plan import Plan, make_plan
from yardfall.core.units import FOOT_M, US

THIN = Pipe(None, "a line", "", None, 1e-9, 0.0, 0.0, 0.01, (0.01, 0.01), 0.0, "")

# W. Schofield, Engineering Surveying, exercise 3.5: levels on pegs 100 m apart, from one benchmark
# (28.75 m) to another (24.07 m).
PEGS = [
    Shot("BS", 2.10),
    Shot("IS", 2.85, on="A", at_m=0.0),
    Shot("FS", 3.51, on="B", at_m=100.0),
    Shot("BS", 1.80),
    Shot("IS", 1.58, on="C", at_m=200.0),
    Shot("IS", 2.24, on="D", at_m=300.0),
    Shot("FS", 2.94, on="E", at_m=400.0),
    Shot("BS", 1.68),
    Shot("IS", 2.27, on="F"),
    Shot("IS", 3.06, on="G"),
    Shot("FS", 3.81, on="TBM2"),
]


def planned(ground, length_m: float, start_m: float, grade: float) -> Plan:
    """A line of no thickness at one grade from an invert."""
    return make_plan(
        lay(
            taped(length_m),
            ground,
            Design(
                THIN,
                Start("invert", start_m),
                Grading(grade, grade),
                Limits(-100.0, None, 0.0),
                Outlet("dry_well"),
            ),
            ground.at_m,
        ),
        US.divisions("ft"),
    )


def test_the_notes_close_on_the_second_benchmark() -> None:
    """Schofield, exercise 3.5: 28.75 m to 24.07 m without any misclosure."""
    book = reduce_levels("TBM", 28.75, PEGS, {"TBM2": 24.07}, None)
    assert book.closure is not None
    assert book.closure.misclosure_m == pytest.approx(0, abs=1e-9)


def test_sight_rails_over_a_trench() -> None:
    """Schofield, exercise 3.5 (printed): formation 26.5 m at A falling 1 in 200, boning rod 3 m:
    rails 1.50, 1.66, 0.94, 1.10 and 1.30 m over the pegs. A rail stands as high over the ground as
    the rod is longer than the trench is deep."""
    ground = from_level_book("TBM", 28.75, PEGS, {"TBM2": 24.07}, None)
    plan = planned(ground, 400.0, 26.5, 1 / 200)
    over_m = [3.0 - station.dig_depth_m for station in plan.stations]
    assert over_m == pytest.approx([1.50, 1.66, 0.94, 1.10, 1.30], abs=5e-4)


def test_cuts_marked_on_guard_stakes() -> None:
    """US Navy, NAVEDTRA 14070, sewer stakeout, figure 10-19 (printed): invert out 122.87 ft at
    9 + 00, 2.18 %; 50 ft down the line 121.78. Hubs at 126.94 and 127.33: C 4.07 and C 5.55."""
    at_m = np.array([0.0, 50.0]) * FOOT_M
    ground = from_elevations(at_m, np.array([126.94, 127.33]) * FOOT_M)
    plan = planned(ground, float(at_m[-1]), 122.87 * FOOT_M, 0.0218)
    assert [round(s.invert_m / FOOT_M, 2) for s in plan.stations] == [122.87, 121.78]
    assert [round(s.dig_depth_m / FOOT_M, 2) for s in plan.stations] == [4.07, 5.55]


def test_inverts_every_50_ft() -> None:
    """Ghilani & Wolf, Elementary Surveying, a problem on laying a sewer: 10+00 to 13+20 at -1 %
    from 326.32 ft (problem printed; levels derived by the fall of half a foot in 50)."""
    stations_ft = np.array([0, 50, 100, 150, 200, 250, 300, 320], dtype=float)
    ground = from_elevations(stations_ft * FOOT_M, np.full(8, 335.0) * FOOT_M)
    plan = planned(ground, 320 * FOOT_M, 326.32 * FOOT_M, 0.01)
    assert [round(s.invert_m / FOOT_M, 2) for s in plan.stations] == [
        326.32, 325.82, 325.32, 324.82, 324.32, 323.82, 323.32, 323.12
    ]  # fmt: skip


def test_a_tape_held_too_low() -> None:
    """Slope correction (a civil engineering notes page; printed): the end of a 30 m tape held 0.70
    m too low, h²/2l = 0.00817, horizontal 29.99183 m. Along the slope that is 30 m again; the page
    leaves out h⁴/8l³, a hundredth of a millimetre."""
    run = GradeRun(0.0, 29.99183, 0.70 / 29.99183, 0.70)
    assert run.slope_length_m == pytest.approx(30.0, abs=5e-6)


def test_the_sag_of_a_tape() -> None:
    """Correction for sag (a surveying question page; printed): 72.53 ft supported at its ends, 15
    lb, 0.016 lb a foot: 0.018 ft. A parabola that sags by d over a span L is 8·d²/3L longer; the
    sag of a string here is for 0.001 lb a foot and 20 lb, and goes with weight over pull."""
    sag_ft = string_sag_m(72.53 * FOOT_M) / FOOT_M * (0.016 / 15) / (0.001 / 20)
    assert 8 * sag_ft**2 / (3 * 72.53) == pytest.approx(0.018, abs=5e-4)
