"""What of a laid line may do harm, each number against the document it is from."""

from __future__ import annotations

import numpy as np
import pytest

from yardfall.core.design import Alignment, CoverStretch, Design, Grading, Limits, Outlet, Start
from yardfall.core.grade_runs import GradeRun
from yardfall.core.hydraulics.capacity import Inflow, water_in
from yardfall.core.pipes import CATALOGUE
from yardfall.core.units import FOOT_M, INCH_M
from yardfall.core.usual import SI_USUAL, US_USUAL, Open, Usual
from yardfall.core.warnings.hazards import (
    ANCHORS,
    FAST_M_S,
    VERY_FAST_M_S,
    anchor_spacing_m,
    fast_water,
    steep_runs,
    thin_under_wheels,
)

PIPE = CATALOGUE["pvc-sch40-4"]


# Recommended Standards for Wastewater Facilities (Ten States Standards), 33.46 (printed): anchors
# not over 36 ft (11 m) apart from 20 % to 35 %, 24 ft (7.3 m) from 35 % to 50 %, 16 ft (4.9 m) from
# 50 % on.
@pytest.mark.parametrize(
    ("percent", "feet", "metres"),
    [
        (19.9, None, None),
        (20, 36, 11),
        (34.9, 36, 11),
        (35, 24, 7.3),
        (49.9, 24, 7.3),
        (50, 16, 4.9),
        (80, 16, 4.9),
    ],
)
def test_anchors(percent: float, feet: float | None, metres: float | None) -> None:
    spacing_m = anchor_spacing_m(percent / 100)
    if feet is None:
        assert spacing_m is None
    else:
        assert spacing_m == pytest.approx(feet * FOOT_M)
        assert spacing_m == pytest.approx(metres, abs=0.05)
    told = steep_runs([GradeRun(0.0, 10.0, percent / 100, percent / 10)])
    assert bool(told) is (feet is not None)
    assert len(ANCHORS) == 3


def test_velocities() -> None:
    """Ten States Standards 33.45 (printed): 15 ft/s (4.6 m/s). Lakeside, Texas, code 3.3.8
    (printed): not greater than 10 ft/s, which erodes the inside of pipes and the outfall."""
    assert pytest.approx(10) == FAST_M_S / FOOT_M
    assert pytest.approx(15) == VERY_FAST_M_S / FOOT_M
    assert pytest.approx(4.6, abs=0.05) == VERY_FAST_M_S


@pytest.mark.parametrize(
    ("percent", "code"), [(10, None), (13, "fast_if_full"), (30, "very_fast_if_full")]
)
def test_a_pipe_that_may_run_full(percent: float, code: str | None) -> None:
    """4.026 in at n 0.010: 8.9 ft/s at 10 %, 10.2 at 13 %, 15.5 at 30 % (Manning by hand)."""
    by_hand_ft_s = 1.486 / PIPE.n * (4.026 / 12 / 4) ** (2 / 3) * (percent / 100) ** 0.5
    found = fast_water(PIPE, [GradeRun(0.0, 10.0, percent / 100, percent / 10)], None)
    assert [remark.code for remark in found] == ([] if code is None else [code])
    if found:
        assert found[0].values["speed_m_s"] / FOOT_M == pytest.approx(by_hand_ft_s, rel=1e-3)


def test_with_the_inflows_known_their_own_speed_counts() -> None:
    """A trickle on a steep pipe is slow; the same pipe all but full is not."""
    runs = [GradeRun(0.0, 10.0, 0.30, 3.0)]
    trickle = water_in((Inflow("other", 1e-5),), PIPE, runs)
    flood = water_in((Inflow("other", 0.025),), PIPE, runs)
    assert fast_water(PIPE, runs, trickle) == []
    assert [remark.code for remark in fast_water(PIPE, runs, flood)] == ["very_fast"]


def under_wheels(cover_m: float, usual: Usual = US_USUAL, *, wheels: bool = True):
    """What is told of a drive over a level pipe with so much cover."""
    design = Design(
        PIPE,
        Start("cover", cover_m),
        Grading(0.0),
        Limits(0.0, None, 0.0, covers=(CoverStretch(2.0, 5.0, 0.1, "drive", wheels),)),
        Outlet("dry_well"),
        open=Open(usual),
    )
    at_m = np.linspace(0, 10, 11)
    points = Alignment(at_m, np.zeros(11), np.full(11, True))
    return thin_under_wheels(design, points, np.full(11, -cover_m - design.section.above_invert_m))


def test_a_foot_of_cover_under_wheels() -> None:
    """Napa County, California, code 13.36.070 (printed): drainage piping not less than 1 ft (0.3 m)
    below the surface. AASHTO LRFD, table 12.6.6.3-1 (from memory): 12 in over plastic pipe."""
    assert US_USUAL.wheel_cover_m == pytest.approx(FOOT_M)
    assert SI_USUAL.wheel_cover_m == pytest.approx(0.3)
    assert under_wheels(12 * INCH_M) == []
    (told,) = under_wheels(11 * INCH_M)
    assert told.code == "thin_under_wheels"
    assert told.values["least_m"] == pytest.approx(11 * INCH_M)
    assert under_wheels(0.3, SI_USUAL) == []
    assert under_wheels(0.29, SI_USUAL)


def test_a_walk_is_no_drive() -> None:
    assert under_wheels(6 * INCH_M, wheels=False) == []
