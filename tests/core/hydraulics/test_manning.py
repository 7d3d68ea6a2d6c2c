"""Gravity flow against printed tables, worked examples and an independent library."""

import doctest
import math

import numpy as np
import pytest
from fluids.geometry import A_partial_circle, SA_partial_cylindrical_body
from fluids.open_flow import V_Manning
from fluids.piping import nearest_pipe
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import approx_fprime

from yardfall.core.hydraulics import manning
from yardfall.core.hydraulics.manning import (
    SELF_CLEANING_M_S,
    SEWER_SELF_CLEANING_M_S,
    capacity_full,
    depth_at_flow,
    flow_at_depth,
    flow_state,
    friction_head,
    grade_for_flow,
    hydraulic_radius,
    least_grade_for_velocity,
    top_width,
    velocity_at_depth,
    velocity_full,
    wetted_angle,
    wetted_area,
    wetted_perimeter,
)

FOOT = 0.3048
INCH = 0.0254
CFS = 0.028316846592
GPM = 6.309019640343866e-5
CASES = 400


def random_pipes():
    """Diameter, grade, n and depth share of CASES pipes, 2 to 40 in, 0.05 to 20 %."""
    draw = np.random.default_rng(20240607)
    return zip(
        draw.uniform(0.05, 1.0, CASES),
        10 ** draw.uniform(-3.3, -0.7, CASES),
        draw.uniform(0.009, 0.025, CASES),
        draw.uniform(0.001, 0.999, CASES),
        strict=True,
    )


def test_worked_figures_in_the_docstrings():
    assert doctest.testmod(manning) == (0, 16)


# International Plumbing Code 2021, Table 1106.2, horizontal storm drains, gpm at 1/16, 1/8, 1/4
# and 1/2 in per ft (printed). Inside diameters: Schedule 40, ASTM D1785. n = 0.010. The rows for
# 2, 5 and 15 in do not follow this rule and are left out.
@pytest.mark.parametrize(
    ("inside_in", "printed_gpm"),
    [
        (3.068, (39, 55, 79, 111)),
        (4.026, (81, 115, 163, 231)),
        (7.981, (505, 714, 1010, 1429)),
    ],
)
def test_code_table_of_storm_drains(inside_in, printed_gpm):
    got = [
        capacity_full(inside_in * INCH, s / 12, 0.010) / GPM for s in (1 / 16, 1 / 8, 1 / 4, 1 / 2)
    ]
    assert got == pytest.approx(printed_gpm, rel=0.016)


def test_schedule_40_inside_diameters():
    """The library's table of ASTM/ASME pipe (in mm, rounded) gives the same inside diameters."""
    for nominal, inside_in in ((3, 3.068), (4, 4.026), (8, 7.981)):
        inside_m = nearest_pipe(NPS=nominal, schedule="40")[1]
        assert inside_m == pytest.approx(inside_in * INCH, abs=0.0002)


# V. M. Ponce, Engineering Hydrology, Table 4-2 (printed; n = 0.013 derived). Depths were read
# from a chart there, to the inch: the greatest difference is 1.20 in, of 27.2.
@pytest.mark.parametrize(
    ("inside_in", "grade", "flow_cfs", "full_cfs", "velocity_ft_s", "depth_in"),
    [
        (12, 0.0085, 2.93, 3.3, 4.6, 9),
        (18, 0.0075, 6.75, 9.2, 5.6, 11),
        (15, 0.0100, 6.16, 6.4, 5.9, 12),
        (36, 0.0030, 33.60, 37.0, 5.9, 26),
    ],
)
def test_gravity_mains_of_ponce(inside_in, grade, flow_cfs, full_cfs, velocity_ft_s, depth_in):
    state = flow_state(flow_cfs * CFS, inside_in * INCH, grade, 0.013)
    assert state.capacity_full_m3s / CFS == pytest.approx(full_cfs, rel=0.02)
    assert state.velocity_m_s / FOOT == pytest.approx(velocity_ft_s, rel=0.03)
    assert state.depth_m / INCH == pytest.approx(depth_in, abs=1.21)
    assert state.share == pytest.approx(flow_cfs / full_cfs, rel=0.02)


def test_half_full_drainage_tile():
    """Mott & Untener, Applied Fluid Mechanics, 7th ed., example 14.2 (answer from memory)."""
    assert flow_at_depth(0.1, 0.2, 0.001, 0.013) == pytest.approx(5.18e-3, abs=0.01e-3)
    assert depth_at_flow(5.18e-3, 0.2, 0.001, 0.013) == pytest.approx(0.1, abs=0.0002)


# Chow, Open-Channel Hydraulics, fig. 6-5, constant n: landmarks from the exact geometry.
@pytest.mark.parametrize(
    ("share_of_depth", "flow_share", "velocity_share"),
    [(0.5, 0.5000, 1.0000), (0.75, 0.9119, None), (0.938, 1.0757, None), (0.81, None, 1.140)],
)
def test_partly_full_landmarks(share_of_depth, flow_share, velocity_share):
    q = flow_at_depth(share_of_depth * 0.1, 0.1, 0.01, 0.010) / capacity_full(0.1, 0.01, 0.010)
    v = velocity_at_depth(share_of_depth * 0.1, 0.1, 0.01, 0.010) / velocity_full(0.1, 0.01, 0.010)
    if flow_share is not None:
        assert q == pytest.approx(flow_share, abs=5e-5)
    if velocity_share is not None:
        assert v == pytest.approx(velocity_share, abs=5e-4)


def test_greatest_flow_and_velocity_lie_where_chow_puts_them():
    y = np.linspace(0, 1, 10001)
    flow_m3s = flow_at_depth(y, 1.0, 0.01, 0.010)
    assert y[flow_m3s.argmax()] == pytest.approx(0.938, abs=5e-4)
    assert flow_m3s.max() / capacity_full(1.0, 0.01, 0.010) == pytest.approx(1.0757, abs=5e-5)
    assert y[velocity_at_depth(y, 1.0, 0.01, 0.010).argmax()] == pytest.approx(0.81, abs=5e-3)


# Older code tables carry about a third less: 4 in at 1/8 in per ft, 3 in/h on 2,506 sq ft
# (IPC 2012 Table 1106.3, printed); 6 in at 1/8 in per ft, 1 in/h on 21,400 sq ft (UPC Appendix D,
# printed). The roughness they imply: about 0.015 (derived), for nominal or Schedule 40 inside.
@pytest.mark.parametrize(
    ("inside_in", "roof_sq_ft", "rain_in_h"),
    [
        (4.000, 2506, 3),
        (4.026, 2506, 3),
        (6.000, 21400, 1),
        (6.065, 21400, 1),
    ],
)
def test_older_code_tables_imply_a_rougher_pipe(inside_in, roof_sq_ft, rain_in_h):
    carried_m3s = roof_sq_ft * FOOT**2 * rain_in_h * INCH / 3600
    smooth_m3s = capacity_full(inside_in * INCH, 1 / 8 / 12, 0.010)
    assert 0.010 * smooth_m3s / carried_m3s == pytest.approx(0.015, abs=0.0005)


# Least grade in percent for 1.4 ft/s at full bore, n = 0.015 and 0.013: University of Minnesota
# Extension (from memory), printed to 0.01 %.
@pytest.mark.parametrize(
    ("inside_in", "rough_percent", "smooth_percent"),
    [(3, 0.81, 0.60), (4, 0.55, 0.41), (5, 0.41, 0.30), (6, 0.32, 0.24)],
)
def test_least_grade_that_keeps_a_drain_clean(inside_in, rough_percent, smooth_percent):
    for n, percent in ((0.015, rough_percent), (0.013, smooth_percent)):
        got = 100 * least_grade_for_velocity(1.4 * FOOT, inside_in * INCH, n)
        assert got == pytest.approx(percent, abs=0.0065)
        assert velocity_full(inside_in * INCH, got / 100, n) == pytest.approx(1.4 * FOOT)


def test_sewer_grade_for_two_feet_a_second():
    """Ten States Standards: 8 in, n 0.013, 2 ft/s needs 0.40 ft per 100 ft; there is a margin in
    the printed figure (from memory)."""
    least = 100 * least_grade_for_velocity(SEWER_SELF_CLEANING_M_S, 8 * INCH, 0.013)
    assert 0.32 < least <= 0.40


def test_geometry_and_velocity_against_fluids():
    """`fluids`: A_partial_circle, SA_partial_cylindrical_body per length, V_Manning."""
    for diameter, grade, n, share in random_pipes():
        depth = share * diameter
        area = A_partial_circle(D=diameter, h=depth)
        perimeter = SA_partial_cylindrical_body(L=1.0, D=diameter, h=depth)
        velocity = V_Manning(Rh=area / perimeter, S=grade, n=n)
        assert wetted_area(depth, diameter) == pytest.approx(area, rel=1e-9)
        assert wetted_perimeter(depth, diameter) == pytest.approx(perimeter, rel=1e-9)
        assert hydraulic_radius(depth, diameter) == pytest.approx(area / perimeter, rel=1e-9)
        assert velocity_at_depth(depth, diameter, grade, n) == pytest.approx(velocity, rel=1e-9)
        assert flow_at_depth(depth, diameter, grade, n) == pytest.approx(velocity * area, rel=1e-9)


def test_depth_solve_against_fluids():
    """The library's flow at the depth found is the flow asked for, and no lower depth gives it."""
    for diameter, grade, n, share in random_pipes():
        full = V_Manning(Rh=diameter / 4, S=grade, n=n) * math.pi / 4 * diameter**2
        asked = share * full
        depth = depth_at_flow(asked, diameter, grade, n)
        area = A_partial_circle(D=diameter, h=depth)
        perimeter = SA_partial_cylindrical_body(L=1.0, D=diameter, h=depth)
        assert V_Manning(Rh=area / perimeter, S=grade, n=n) * area == pytest.approx(asked, rel=1e-7)
        assert depth <= 0.8197 * diameter
        assert full == pytest.approx(capacity_full(diameter, grade, n), rel=1e-12)


def test_friction_of_a_full_pipe_against_fluids():
    """The grade line that the head stands for drives just this flow through the full pipe."""
    for diameter, _, n, share in random_pipes():
        flow_m3s = share * 0.05
        head = friction_head(flow_m3s, diameter, n, 40.0)
        velocity = V_Manning(Rh=diameter / 4, S=head / 40.0, n=n)
        assert velocity * math.pi / 4 * diameter**2 == pytest.approx(flow_m3s, rel=1e-9)
        assert grade_for_flow(flow_m3s, diameter, n) == pytest.approx(head / 40.0, rel=1e-12)


@settings(deadline=None)
@given(st.floats(0.02, 2.0), st.floats(0.01, 0.99))
def test_area_grows_by_the_width_of_the_surface(diameter, share):
    """dA/dy = T: plane geometry, area and width being coded apart."""
    depth = share * diameter
    step = 1e-6 * diameter
    slope = approx_fprime([depth], lambda y: float(wetted_area(float(y[0]), diameter)), step)[0]
    assert slope == pytest.approx(top_width(depth, diameter), rel=1e-3)


@settings(deadline=None)
@given(st.floats(0.02, 2.0), st.floats(1e-5, 0.5), st.floats(0.008, 0.03), st.floats(0.001, 0.8195))
def test_depth_found_is_the_lower_root(diameter, grade, n, share):
    flow_m3s = float(flow_at_depth(share * diameter, diameter, grade, n))
    assert depth_at_flow(flow_m3s, diameter, grade, n) == pytest.approx(share * diameter, rel=1e-5)


def test_over_full_bore_flow_there_is_no_depth():
    """7.6 % more would go by the formula; it is not counted on."""
    full = capacity_full(0.1, 0.01, 0.010)
    state = flow_state(1.03 * full, 0.1, 0.01, 0.010)
    assert depth_at_flow(full, 0.1, 0.01, 0.010) == pytest.approx(0.08196, abs=1e-5)
    assert state.depth_m is None
    assert state.share == pytest.approx(1.03)
    assert state.velocity_m_s == state.velocity_full_m_s


def test_a_flow_sized_to_fill_the_pipe_does_fit():
    for diameter, _, n, share in random_pipes():
        grade = grade_for_flow(share * 0.05, diameter, n)
        assert depth_at_flow(share * 0.05, diameter, grade, n) is not None


def test_no_flow_and_a_level_pipe():
    dry = flow_state(0.0, 0.1, 0.01, 0.010)
    assert (dry.share, dry.depth_m, dry.velocity_m_s) == (0.0, 0.0, 0.0)
    level = flow_state(0.001, 0.1, 0.0, 0.010)
    assert (level.share, level.depth_m, level.velocity_m_s) == (None, None, 0.0)
    assert not level.self_cleaning


def test_self_cleaning_is_judged_at_full_bore_by_the_figure_in_use():
    """1.4 ft/s for drain water, 2 ft/s for a sewer; 4 in at n 0.015 reaches 1.4 at 0.549 %."""
    for percent, clean in ((0.549, True), (0.548, False)):
        assert flow_state(1e-5, 4 * INCH, percent / 100, 0.015).self_cleaning is clean
    as_sewer = flow_state(1e-5, 4 * INCH, 0.0056, 0.015, SEWER_SELF_CLEANING_M_S)
    assert as_sewer.self_cleaning is False
    assert as_sewer.self_cleaning_m_s == pytest.approx(0.6096)
    assert pytest.approx(0.42672) == SELF_CLEANING_M_S


def test_arrays_keep_their_shape_and_scalars_agree():
    depths = np.array([0.0, 0.02, 0.05, 0.1])
    for rule in (wetted_angle, wetted_area, wetted_perimeter, hydraulic_radius, top_width):
        together = rule(depths, 0.1)
        assert together.shape == (4,)
        assert together == pytest.approx([rule(float(y), 0.1) for y in depths])
    assert hydraulic_radius(0.0, 0.1) == 0
    assert top_width(0.1, 0.1) == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize("depth", [-0.001, 0.1001, np.array([0.05, 0.2])])
def test_a_depth_outside_the_pipe_is_refused(depth):
    with pytest.raises(ValueError, match="outside 0 to"):
        wetted_area(depth, 0.1)


def test_a_pipe_that_runs_back_carries_nothing_by_this_formula():
    with pytest.raises(ValueError, match=r"nonnegative|domain"):
        capacity_full(0.1, -0.001, 0.010)
