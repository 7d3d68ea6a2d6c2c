"""Pressure loss against a printed table, a second printed formula and Darcy–Weisbach."""

import doctest
import math

import pytest
from fluids.friction import friction_factor

from yardfall.core.hydraulics import pump_leg
from yardfall.core.hydraulics.pump_leg import PumpLeg, friction_loss, head_left, total_dynamic_head

FOOT = 0.3048
INCH = 0.0254
GPM = 6.309019640343866e-5
HUNDRED_FEET = 30.48
INSIDE_IN = {1.25: 1.380, 1.5: 1.610, 2: 2.067, 3: 3.068, 4: 4.026}
"""Schedule 40, ASTM D1785; 1-1/4 and 1-1/2 in from memory."""


def test_worked_figures_in_the_docstrings():
    assert doctest.testmod(pump_leg) == (0, 3)


# Illinois Administrative Code title 77 part 906, appendix A, exhibit I: friction loss in Schedule
# 40 plastic pipe, C = 150, ft per 100 ft (printed to 0.01 ft; rows of 0.7 ft and more are used).
@pytest.mark.parametrize(
    ("nominal_in", "flow_gpm", "printed_ft"),
    [
        (1.25, 10, 1.46), (1.25, 15, 3.06), (1.25, 20, 5.23),
        (1.5, 15, 1.45), (1.5, 20, 2.46), (1.5, 25, 3.75), (1.5, 30, 5.22),
        (2, 20, 0.74), (2, 30, 1.54), (2, 40, 2.62), (2, 45, 3.27), (2, 50, 3.98),
        (3, 60, 0.81), (3, 80, 1.38), (3, 100, 2.09),
        (4, 150, 1.17),
    ],
)  # fmt: skip
def test_table_of_friction_loss(nominal_in, flow_gpm, printed_ft):
    got_m = friction_loss(flow_gpm * GPM, INSIDE_IN[nominal_in] * INCH, HUNDRED_FEET)
    assert got_m / FOOT == pytest.approx(printed_ft, rel=0.02)


@pytest.mark.parametrize(("nominal_in", "known_ft"), [(1.5, 11.0), (2, 3.3)])
def test_sump_line_at_45_gpm(nominal_in, known_ft):
    """Common practice, no source: a 1-1/2 in line loses 11 ft per 100 ft, a 2 in one 3.3 ft.
    Schedule 40 and C = 150 give them."""
    got_ft = friction_loss(45 * GPM, INSIDE_IN[nominal_in] * INCH, HUNDRED_FEET, 150) / FOOT
    assert got_ft == pytest.approx(known_ft, rel=0.01)


@pytest.mark.parametrize("inside_in", [1.61, 2.067, 4.026])
@pytest.mark.parametrize("flow_gpm", [10, 45, 200])
@pytest.mark.parametrize("c", [120, 150])
def test_formula_of_the_fire_code(inside_in, flow_gpm, c):
    """NFPA 13 (from memory): psi/ft = 4.52·Q^1.85/(C^1.85·d^4.87), gpm and in.

    1 psi is 2.3067 ft of water.
    """
    psi_per_ft = 4.52 * flow_gpm**1.85 / (c**1.85 * inside_in**4.87)
    got = friction_loss(flow_gpm * GPM, inside_in * INCH, 1.0, c)
    assert got == pytest.approx(psi_per_ft * 2.3067, rel=0.005)


@pytest.mark.parametrize("inside_in", [1.61, 2.067, 3.068, 4.026])
@pytest.mark.parametrize(
    ("velocity_m_s", "off"), [(0.5, 0.12), (1.0, 0.065), (2.0, 0.03), (3.0, 0.045)]
)
def test_beside_darcy_weisbach(inside_in, velocity_m_s, off):
    """`fluids` friction factor, smooth pipe (1.5 µm), water at 15 °C (1.14e-6 m²/s, from memory).

    Two different laws: the figures are how far they part, which the module's heading states.
    """
    diameter = inside_in * INCH
    factor = friction_factor(Re=velocity_m_s * diameter / 1.14e-6, eD=1.5e-6 / diameter)
    darcy = factor / diameter * velocity_m_s**2 / (2 * 9.80665)
    got = friction_loss(velocity_m_s * math.pi / 4 * diameter**2, diameter, 1.0)
    assert got == pytest.approx(darcy, rel=off)


def test_total_head_of_a_sump_pump():
    """8 ft of lift, 20 ft of 1-1/2 in pipe and fittings worth 15 ft more, 30 gpm; 5.22 ft per
    100 ft by the Illinois table: 8 + 0.35 × 5.22 = 9.83 ft (derived)."""
    leg = PumpLeg(8 * FOOT, 20 * FOOT, 15 * FOOT, 1.610 * INCH)
    assert total_dynamic_head(leg, 30 * GPM) / FOOT == pytest.approx(9.83, abs=0.02)
    assert head_left(12 * FOOT, leg, 30 * GPM) / FOOT == pytest.approx(2.17, abs=0.02)
    assert head_left(9 * FOOT, leg, 30 * GPM) < 0


def test_at_rest_only_the_lift_is_left():
    assert total_dynamic_head(PumpLeg(2.5, 30.0, 5.0, 0.04), 0.0) == 2.5
