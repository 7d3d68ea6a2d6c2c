"""Dry well sums against printed and derived figures."""

import doctest

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from yardfall.core.hydraulics import dry_well
from yardfall.core.hydraulics.dry_well import (
    STONE_VOIDS,
    bottom_area_needed,
    box_length,
    cylinder_diameter,
    drain_down,
    stone_volume,
    storage_needed,
)

FOOT = 0.3048
INCH = 0.0254
GALLON = 0.003785411784
CUBIC_YARD = 0.764554857984
INCH_PER_HOUR = 0.0254 / 3600


def test_worked_figures_in_the_docstrings():
    assert doctest.testmod(dry_well) == (0, 9)


def test_an_inch_of_rain_on_a_thousand_square_feet():
    """623 gal, 7.7 cu yd of stone at 40 % voids (derived; 40 % is common practice)."""
    storm_m3 = 1000 * FOOT**2 * INCH
    assert storm_m3 / GALLON == pytest.approx(623, abs=0.5)
    held_m3 = storage_needed(storm_m3, 0.0, 5.0, 3600.0)
    assert stone_volume(held_m3) / CUBIC_YARD == pytest.approx(7.7, abs=0.05)


def test_trench_of_a_pennsylvania_ordinance():
    """A Pennsylvania municipal stormwater ordinance, example sizing for infiltration trenches
    (printed): 2.04 in on 824 sq ft is 140 cu ft; at 40 % voids 350 cu ft; 3 ft deep 117 sq ft;
    6 ft wide 20 ft long (19.4, rounded up there)."""
    storm_m3 = 2.04 * INCH * 824 * FOOT**2
    assert storm_m3 / FOOT**3 == pytest.approx(140, abs=0.5)
    assert stone_volume(storm_m3, 0.4) / FOOT**3 == pytest.approx(350, abs=0.5)
    bottom_m2 = bottom_area_needed(storm_m3, 3 * FOOT, 0.0, 0.0, 0.4)
    assert bottom_m2 / FOOT**2 == pytest.approx(117, abs=0.5)
    assert 19 < box_length(bottom_m2, 6 * FOOT) / FOOT < 20


@pytest.mark.parametrize(
    ("soak_in_h", "hours"), [(0.5, 28.8), (0.27, 53.3), (0.3, 48.0), (0.6, 24.0)]
)
def test_time_to_empty(soak_in_h, hours):
    """36 in of stone at 40 % voids holds 14.4 in of water: over the soaking rate (derived)."""
    bottom_m2 = 3.7
    held_m3 = 36 * INCH * 0.40 * bottom_m2
    seconds = drain_down(held_m3, soak_in_h * INCH_PER_HOUR, bottom_m2)
    assert seconds / 3600 == pytest.approx(hours, abs=0.05)


def test_soil_that_takes_nothing_never_empties_the_well():
    assert drain_down(2.0, 0.0, 4.0) is None


def test_soaking_during_the_storm_is_taken_off():
    """1 in/h over 100 sq ft for 2 h is 16.7 cu ft (derived); more soaking than storm leaves 0."""
    storm_m3 = 50 * FOOT**3
    left_m3 = storage_needed(storm_m3, INCH_PER_HOUR, 100 * FOOT**2, 7200.0)
    assert left_m3 / FOOT**3 == pytest.approx(50 - 16.667, abs=0.001)
    assert storage_needed(storm_m3, INCH_PER_HOUR, 1000 * FOOT**2, 7200.0) == 0


@settings(deadline=None)
@given(
    st.floats(0.1, 50.0),
    st.floats(0.3, 3.0),
    st.floats(0.0, 2e-5),
    st.floats(0.0, 86400.0),
    st.floats(0.2, 1.0),
)
def test_the_bottom_found_holds_just_the_storm(storm_m3, depth_m, soak_m_s, duration_s, voids):
    """The closed form agrees with the two sums it joins."""
    bottom_m2 = bottom_area_needed(storm_m3, depth_m, soak_m_s, duration_s, voids)
    held_m3 = storage_needed(storm_m3, soak_m_s, bottom_m2, duration_s)
    assert stone_volume(held_m3, voids) == pytest.approx(bottom_m2 * depth_m, rel=1e-6, abs=1e-9)


def test_round_and_square_wells_of_one_bottom():
    """A circle 4 ft across is 12.57 sq ft (plane geometry)."""
    assert cylinder_diameter(12.566 * FOOT**2) / FOOT == pytest.approx(4.0, abs=0.001)
    assert box_length(12.566 * FOOT**2, 4 * FOOT) / FOOT == pytest.approx(3.14, abs=0.005)
    assert STONE_VOIDS == 0.40
