"""Roof and yard water against printed examples."""

import doctest

import numpy as np
import pytest

from yardfall.core.errors import InputError
from yardfall.core.hydraulics import rational_method
from yardfall.core.hydraulics.rational_method import (
    BURST_RATIO,
    flow_in_runs,
    largest_roof,
    long_rain,
    rational_flow,
    roof_with_wall,
)

FOOT = 0.3048
INCH = 0.0254
GPM = 6.309019640343866e-5
CFS = 0.028316846592
INCH_PER_HOUR = 0.0254 / 3600


def test_worked_figures_in_the_docstrings():
    assert doctest.testmod(rational_method) == (0, 5)


def test_rational_method_five_acres():
    """NC State erosion-control course: 5 acres, C 0.62, 6.96 in/h, 21.6 cfs (printed).

    The course takes 1 acre·in/h as 1 cfs; it is 1.00833, so the exact answer is 21.76.
    """
    got_cfs = rational_flow(0.62, 6.96 * INCH_PER_HOUR, 5 * 43560 * FOOT**2) / CFS
    assert got_cfs == pytest.approx(21.6, rel=0.009)
    assert got_cfs / 1.00833 == pytest.approx(21.6, abs=0.05)


def test_rational_method_seventy_hectares():
    """Ponce, Engineering Hydrology: 70 ha, C 0.95, 20 mm/h, 3.694 m³/s (printed)."""
    assert rational_flow(0.95, 0.020 / 3600, 70e4) == pytest.approx(3.694, abs=0.0005)


def test_one_inch_an_hour_on_one_square_foot():
    """National Standard Plumbing Code 2015, App. A: 7.48/720 = 0.01039 gpm (printed)."""
    assert rational_flow(1.0, INCH_PER_HOUR, FOOT**2) / GPM == pytest.approx(0.01039, abs=5e-6)


def test_asheville_roof():
    """1,000 sq ft at the 10-year 5-minute rate of Asheville NC, 6.96 in/h (NOAA Atlas 14, via NC
    State): 72.3 gpm (derived). The factor rounded to 0.0104 gives 72.4, within its rounding."""
    got = rational_flow(1.0, 6.96 * INCH_PER_HOUR, 1000 * FOOT**2) / GPM
    assert got == pytest.approx(6.96 * 1000 * 7.48 / 720, rel=1e-4)
    assert got == pytest.approx(72.4, rel=0.0015)


def test_two_downspouts_and_a_pump():
    """Two roofs of 800 sq ft at 5 in/h and a 45 gpm pump: 128 gpm (derived)."""
    roof_m3s = rational_flow(1.0, 5 * INCH_PER_HOUR, 800 * FOOT**2)
    carried = flow_in_runs(
        np.array([0.0, 6.0, 12.0]),
        np.array([roof_m3s, 45 * GPM, roof_m3s]),
        np.array([0.0, 6.0, 12.0, 30.0]),
    )
    assert carried / GPM == pytest.approx([41.6, 86.6, 128.1], abs=0.05)


def test_roof_area_scales_with_the_rain_rate():
    """Uniform Plumbing Code, Appendix D: what carries 21,400 sq ft at 1 in/h carries 6,688 sq ft
    at 3.2 in/h (printed)."""
    flow_m3s = rational_flow(1.0, INCH_PER_HOUR, 21400 * FOOT**2)
    harder_m3s = rational_flow(1.0, 3.2 * INCH_PER_HOUR, 100 * FOOT**2)
    got = largest_roof(flow_m3s, 100.0, harder_m3s)
    assert got == pytest.approx(6688, abs=0.51)


def test_older_code_table_in_gpm():
    """IPC 2012 Table 1106.3: 4 in at 1/8 in per ft, 3 in/h, 2,506 sq ft (printed) = 78.2 gpm
    (derived with 0.0104 gpm; 78.1 exact)."""
    got = rational_flow(1.0, 3 * INCH_PER_HOUR, 2506 * FOOT**2) / GPM
    assert got == pytest.approx(78.2, abs=0.1)
    assert largest_roof(78.2 * GPM, 2506, got * GPM) == pytest.approx(2506, rel=0.002)


def test_a_rougher_surface_lets_a_larger_one_drain():
    """The rational method turned round: half the coefficient, twice the area."""
    whole, half = (largest_roof(0.005, 60.0, rational_flow(c, 2e-5, 60.0)) for c in (1, 0.5))
    assert whole is not None
    assert half == pytest.approx(2 * whole)
    assert rational_flow(0.5, 2e-5, 2 * whole) == pytest.approx(0.005)


def test_without_a_roof_or_room_there_is_no_largest():
    assert largest_roof(0.005, 0.0, 0.0) is None
    assert largest_roof(0.0, 60.0, 0.001) is None
    assert largest_roof(-0.001, 60.0, 0.001) is None


def test_half_of_one_wall_counts():
    """UPC 2021 1103.4: 50 % of a single wall is added to the roof below it (printed)."""
    roof_sq_ft, wall_sq_ft = 1000, 20 * 12
    got = roof_with_wall(roof_sq_ft * FOOT**2, wall_sq_ft * FOOT**2)
    assert got / FOOT**2 == pytest.approx(1120)


@pytest.mark.parametrize(
    ("at_m", "expected"),
    [
        ([0.0, 0.0], [5, 5]),  # both at the start
        ([0.0, 10.0], [2, 5]),  # at a knot: carried below it
        ([0.0, 9.0], [5, 5]),  # part way down a run: the whole run is judged by it
        ([0.0, 11.0], [2, 5]),
        ([10.0, 0.0], [3, 5]),  # order does not matter
        ([5.0, 10.0 + 1e-9], [2, 5]),  # the same station, but for rounding
        ([5.0, 10.0 - 1e-9], [2, 5]),
    ],
)
def test_flow_adds_up_downstream(at_m, expected):
    """Conservation of mass; counted by hand."""
    got = flow_in_runs(np.array(at_m), np.array([2.0, 3.0]), np.array([0.0, 10.0, 20.0]))
    assert got == pytest.approx(expected)


def test_no_inflow_at_all():
    assert flow_in_runs(np.array([]), np.array([]), np.array([0.0, 10.0])) == pytest.approx([0])


@pytest.mark.parametrize("lost_m", [-1.0, 20.0, 21.0])
def test_an_inflow_off_the_pipe_is_refused_by_name(lost_m):
    with pytest.raises(InputError) as caught:
        flow_in_runs(np.array([0.0, lost_m]), np.array([2.0, 3.0]), np.array([0.0, 10.0, 20.0]))
    assert [p.pointer for p in caught.value.problems] == ["/1/at"]


def test_an_hourly_rain_rate_draws_a_warning():
    """Threshold: 60 minutes and more."""
    assert long_rain(5 * 60.0) is None
    assert long_rain(59.9 * 60) is None
    warned = long_rain(60 * 60.0)
    assert warned is not None
    assert warned.burst_ratio == BURST_RATIO
    assert "NOAA Atlas 14" in warned.source
    assert long_rain(24 * 3600.0) is not None


@pytest.mark.parametrize(("five_minutes", "one_hour"), [(7.14, 2.27), (8.94, 3.16)])
def test_about_threefold_is_what_the_atlas_shows(five_minutes, one_hour):
    """NOAA Atlas 14 Vol. 2, one station, in/h: AEP 1/10 and 1/100 (printed)."""
    assert five_minutes / one_hour == pytest.approx(BURST_RATIO, rel=0.06)
