"""Water from roofs and land, and the pits that take it, as others printed it."""

from __future__ import annotations

import math

import pytest

from yardfall.core.hydraulics.dry_well import (
    SAFETY_FACTOR,
    Rain,
    Storm,
    bottom_area_needed,
    cylinder_diameter,
    drain_down,
    size_well,
    storage_needed,
)
from yardfall.core.hydraulics.rational_method import rational_flow, roof_with_wall
from yardfall.core.units import FOOT_M, INCH_M

ACRE = 43560 * FOOT_M**2
CFS = FOOT_M**3
IN_H = INCH_M / 3600
GPM = 231 * INCH_M**3 / 60
AS_ONE = 1.00833
"""An acre-inch an hour in ft³/s, which handbooks take as 1."""


@pytest.mark.parametrize(
    ("coefficient", "in_h", "acres", "printed_cfs"),
    [(0.11, 1.25, 30, 4.125), (0.4, 2.87, 0.20 * 640, 146.944)],
)
def test_the_rational_method(
    coefficient: float, in_h: float, acres: float, printed_cfs: float
) -> None:
    """A US licensing review, problem 79, and a hydrology exercise 7-3 (both printed): 30 acres,
    1.25 in/h, C 0.11: 4.125 ft³/s; 0.20 square miles, 2.87 in/h, C 0.4: 146.944."""
    got = rational_flow(coefficient, in_h * IN_H, acres * ACRE) / CFS
    assert got / AS_ONE == pytest.approx(printed_cfs, rel=1e-5)


@pytest.mark.parametrize(
    ("acres", "printed"),
    [(40, 3.3), (64, 5.3), (80, 6.7), (120, 10.0), (160, 13.3), (240, 20.0), (320, 26.7)],
)
def test_two_inches_a_day(acres: float, printed: float) -> None:
    """University of Missouri Extension G1606, table 1 (printed): 2 in a day is acres over 12."""
    got = rational_flow(1.0, 2 / 24 * IN_H, acres * ACRE) / CFS
    assert got / AS_ONE == pytest.approx(printed, abs=0.05)


@pytest.mark.parametrize(
    ("gpm", "sq_ft"), [(67, 6440), (144, 13840), (261, 25120), (424, 40800), (913, 88000)]
)
def test_roofs_by_an_inch_an_hour(gpm: float, sq_ft: float) -> None:
    """Texas A&M AgriLife B-6240, table 10.2 (printed): roof that a leader of so many gpm takes at 1
    in/h. Its areas are rounded, the last to a thousand."""
    got = rational_flow(1.0, IN_H, sq_ft * FOOT_M**2) / GPM
    assert got == pytest.approx(gpm, rel=0.002)


@pytest.mark.parametrize(
    ("gpm", "sq_ft"), [(144, 13840), (261, 25094), (424, 40805), (913, 87878), (1655, 159334)]
)
def test_roofs_by_another_code(gpm: float, sq_ft: float) -> None:
    """National Standard Plumbing Code 2006, table 13.6.1 (printed)."""
    got = rational_flow(1.0, IN_H, sq_ft * FOOT_M**2) / GPM
    assert got == pytest.approx(gpm, rel=0.002)


def test_a_roof_below_a_wall() -> None:
    """A plumbing teacher's example after the National Plumbing Code of Canada (printed): 12 m² of
    roof under a wall of 12 m² is 18 m²; 30 mm on it are 540 L."""
    area_m2 = roof_with_wall(3 * 4, 3 * 4)
    assert area_m2 == 18
    assert area_m2 * 0.030 * 1000 == pytest.approx(540)


# A drainage engineer's calculation by BRE Digest 365, Cambridgeshire, 2017 (printed): rain of 1 in
# 10 years by minutes, mm, and what 690 m² bring, m³. 8.5e-6 m/s; a trench 23 x 5 m, 0.8 m deep.
SOAKAWAY = [
    (10, 12.69, 8.75), (15, 15.50, 10.69), (30, 19.84, 13.69), (60, 24.80, 17.11),
    (120, 30.01, 20.71), (240, 35.38, 24.41), (360, 38.72, 26.72), (600, 42.96, 29.64),
    (1440, 52.86, 36.48), (2880, 61.31, 42.30), (5760, 70.15, 48.40),
]  # fmt: skip
SOAKS_M_S, BESIDE_M2 = 8.5e-6, 2 * (23 + 5) * 0.8 / 2


@pytest.mark.parametrize(("minutes", "rain_mm", "inflow_m3"), SOAKAWAY)
def test_what_each_storm_brings(minutes: float, rain_mm: float, inflow_m3: float) -> None:
    """Inflow is area times rain, whatever the duration; the sheet keeps more digits than it
    shows."""
    rain = Rain(rain_mm / 1000, minutes * 60)
    (tried,) = size_well(Storm(690.0, (rain,), 0.0, 0.8, safety_factor=1)).tried
    assert tried.storm_m3 == pytest.approx(inflow_m3, abs=0.011)


def test_storage_is_inflow_less_outflow_and_the_worst_governs() -> None:
    """BRE Digest 365: S = I - O, O = a·f·D, over storms of many durations. By the sheet's storms
    and its wall to half the depth (22.4 m²) the longest brings 48.40 and loses 65.8 m³, the
    shortest loses hardly any: neither governs, a storm in between does (derived)."""
    needed = [
        storage_needed(inflow_m3, SOAKS_M_S, BESIDE_M2, minutes * 60)
        for minutes, _, inflow_m3 in SOAKAWAY
    ]
    by_hand = [max(0.0, inflow - 22.4 * 8.5e-6 * minutes * 60) for minutes, _, inflow in SOAKAWAY]
    assert needed == pytest.approx(by_hand)
    assert needed[-1] == 0
    assert max(needed) == needed[7] == pytest.approx(29.64 - 6.85, abs=0.01)


def test_a_pit_is_as_large_as_its_worst_storm_asks() -> None:
    """The same storms on a pit that soaks through its bottom: it holds every one of them, and none
    asks for more."""
    rains = tuple(Rain(rain_mm / 1000, minutes * 60) for minutes, rain_mm, _ in SOAKAWAY)
    well = size_well(Storm(690.0, rains, SOAKS_M_S, 0.8, 0.95))
    for one in well.tried:
        needed = storage_needed(
            one.storm_m3, SOAKS_M_S / SAFETY_FACTOR, well.bottom_m2, one.rain.duration_s
        )
        assert needed <= well.storage_m3 + 1e-9
        assert one.bottom_m2 <= well.bottom_m2
    assert well.governs == rains[well.worst]


def test_half_of_a_soakaway_is_gone_in_37_minutes() -> None:
    """A calculation by BRE Digest 365, 2008 (printed): walls of 5.25 m² at 44.6e-6 m/s, 1.0 m³ to
    store, half of it gone in 37 min 1 s. The store is shown to a tenth: 0.95 to 1.05 m³."""
    wall_m2 = 2 * (2.0 + 1.5) * 1.5 / 2
    assert wall_m2 == pytest.approx(5.25)
    least, most = (drain_down(s, 44.6e-6, wall_m2) / 2 / 60 for s in (0.95, 1.05))
    assert least < 37 + 1 / 60 < most


def test_half_the_measured_rate() -> None:
    """Massachusetts stormwater policy, a worked structure (printed): 303 sq ft, sized by 10 in/h,
    half of the rate measured in the field, loses 0.07 ft³/s: a safety factor of 2."""
    storm = Storm(1.0, (Rain(0.01, 60.0),), 20 * IN_H, 1.0)
    well = size_well(storm)
    assert well.soak_m_s / IN_H == pytest.approx(10)
    assert well.soak_m_s * 303 * FOOT_M**2 / CFS == pytest.approx(0.07, abs=0.005)
    assert storm.safety_factor == 2


def test_the_safety_factor_acts_as_published() -> None:
    """Toronto and Region Conservation Authority (printed form): A = A_c·i·D/(V_R·d + f'·D), f' the
    measured rate over the factor. 100 m², 25 mm in 2 h, 30 mm/h, factor 2.5, voids 0.35, 0.6 m."""
    f, hours = 0.030 / 2.5, 2.0
    printed_form = 100 * 0.025 / (0.35 * 0.6 + f * hours)
    storm = Storm(100.0, (Rain(0.025, hours * 3600),), 0.030 / 3600, 0.6, 0.35, 2.5)
    assert size_well(storm).bottom_m2 == pytest.approx(printed_form)
    assert bottom_area_needed(2.5, 0.6, f / 3600, hours * 3600, 0.35) == pytest.approx(printed_form)


def test_a_ring_of_a_building_control_office() -> None:
    """A building control guidance notice, 1999 (printed): 19.5 m² by 40 mm are 0.78 m³; a ring 1.2
    m across holds 1.13 m³ a metre, so 0.7 m of it."""
    storm = Storm(19.5, (Rain(0.040, 0.0),), 0.0, 0.78 / 1.13, voids=1.0)
    well = size_well(storm)
    assert well.storage_m3 == pytest.approx(0.78, abs=0.005)
    assert well.bottom_m2 == pytest.approx(1.13, abs=0.005)
    assert cylinder_diameter(math.pi * 0.6**2) == pytest.approx(1.2)
    assert well.diameter_m == pytest.approx(1.2, abs=0.005)
    assert round(storm.stone_depth_m, 1) == 0.7


def test_a_two_inch_storm() -> None:
    """A New England fact sheet on dry wells (printed): drainage area over 6, in feet, is the volume
    of a 2 in storm."""
    storm = Storm(600 * FOOT_M**2, (Rain(2 * INCH_M, 0.0),), 0.0, FOOT_M)
    assert size_well(storm).storm_m3 / FOOT_M**3 == pytest.approx(600 / 6)
