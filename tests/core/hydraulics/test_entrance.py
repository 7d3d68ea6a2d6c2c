"""Getting into a pipe: critical depth and the entrance, by sums worked another way."""

from __future__ import annotations

import doctest

import numpy as np
import pytest
from scipy.optimize import minimize_scalar

from yardfall.core.hydraulics import entrance
from yardfall.core.hydraulics.entrance import critical_depth, entrance_head

GPM, INCH, G = 0.003785411784 / 60, 0.0254, 9.80665


def area(y: float, d: float) -> float:
    """A segment of a circle, by the arc cosine."""
    angle = 2 * np.arccos(1 - 2 * y / d)
    return d**2 / 8 * (angle - np.sin(angle))


def test_worked_figures_in_the_docstrings() -> None:
    assert doctest.testmod(entrance) == (0, 3)


@pytest.mark.parametrize("share", [0.05, 0.3, 0.7, 1.2])
@pytest.mark.parametrize("d", [0.05, 0.1, 0.3])
def test_critical_depth_is_where_the_energy_is_least(share: float, d: float) -> None:
    """Chow ch. 3: of all depths that carry a flow, the critical one has the least y + V²/2g."""
    flow = share * 0.5 * d**2.5 * G**0.5
    least = minimize_scalar(
        lambda y: y + (flow / area(y, d)) ** 2 / (2 * G), bounds=(1e-3 * d, d), method="bounded"
    )
    assert critical_depth(flow, d) == pytest.approx(least.x, rel=2e-3)


def test_85_gpm_into_a_4_in_pipe_by_hand() -> None:
    """Worked by hand: y_c 2.95 in, 1.5·V²/2g 2.13 in, 5.1 in over the invert."""
    flow, d = 85 * GPM, 4 * INCH
    assert critical_depth(flow, d) / INCH == pytest.approx(2.95, abs=0.02)
    assert entrance_head(flow, d) / INCH == pytest.approx(5.08, abs=0.03)


def test_a_full_pipe_by_hand() -> None:
    """Full bore: V = Q/(π·D²/4), and 1.5·V²/2g stands over the water in the pipe (HDS-5)."""
    flow, d = 0.006, 0.1
    velocity = flow / (np.pi * d**2 / 4)
    assert entrance_head(flow, d, 0.4) == pytest.approx(0.4 + 1.5 * velocity**2 / (2 * G))


def test_more_water_never_stands_lower() -> None:
    d = 0.1
    heads = [[entrance_head(q, d, y) for y in np.linspace(0, 0.3, 40)] for q in (0.001, 0.004)]
    for one in heads:
        assert np.all(np.diff(one) >= -1e-12)
    assert np.all(np.array(heads[1]) > np.array(heads[0]))


def test_without_a_flow_the_water_is_the_pipes_own() -> None:
    assert critical_depth(0.0, 0.1) == 0
    assert entrance_head(0.0, 0.1, 0.02) == 0.02
