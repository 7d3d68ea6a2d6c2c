"""Gravity flow in a round pipe, full and partly full.

Manning in SI, V = R^(2/3)·S^(1/2)/n, with the exact geometry of a circular segment and n the
same at every depth. Steady uniform flow: no allowance for bends, joins, dirt or the outlet.
R. Manning, 1891; V. T. Chow, Open-Channel Hydraulics, 1959, ch. 5 and 6 (from memory).

Throughout: diameter > 0 is the inside diameter, grade ≥ 0 a ratio (fall over length, not a
percent), n > 0 Manning's roughness, flow ≥ 0. Depths are scalars or arrays (k,), and an answer
has the shape of the depth given.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, TypeVar

import numpy as np
from scipy.optimize import brentq

from yardfall.core.arrays import Floats
from yardfall.core.units import FOOT_M

Depth = TypeVar("Depth", float, Floats)

SELF_CLEANING_M_S: Final = 1.4 * FOOT_M
"""Full-bore velocity that keeps fine sand and silt moving in a drain: 1.4 ft/s, University of
Minnesota Extension (from memory); also J. Panuska, The Basics of Agricultural Tile Drainage,
University of Wisconsin, step VI."""
SEWER_SELF_CLEANING_M_S: Final = 2.0 * FOOT_M
"""The same for a sanitary sewer: 2 ft/s, Ten States Standards section 33.4 (from memory)."""
FULL_SLACK: Final = 1e-9
"""A flow over full by no more than this share is rounding, and counts as full."""
_LOWER_ROOT_BELOW: Final = 0.9
"""Flow rises with depth up to y/D = 0.938; it passes full-bore flow at y/D = 0.820."""


def wetted_angle(depth_m: Depth, diameter_m: float) -> Depth:
    """Angle in radians that the wetted arc subtends at the centre: θ = 4·atan2(√y, √(D − y)).

    The same as 2·acos(1 − 2y/D), without its loss of digits at small depths. 0 to 2π for
    0 ≤ y ≤ D; a depth outside raises ValueError. Plane geometry.

    >>> round(float(wetted_angle(0.05, 0.1)), 6)  # half full: π
    3.141593
    """
    if np.any(np.less(depth_m, 0)) or np.any(np.greater(depth_m, diameter_m)):
        raise ValueError(f"a depth lies outside 0 to {diameter_m} m")
    return 4 * np.arctan2(np.sqrt(depth_m), np.sqrt(diameter_m - depth_m))


def wetted_area(depth_m: Depth, diameter_m: float) -> Depth:
    """Area of water in m²: A = D²/8·(θ − sin θ). 0 ≤ y ≤ D. Plane geometry.

    >>> round(float(wetted_area(0.1, 0.1)), 6)  # full: π/4·0.1²
    0.007854
    """
    angle = wetted_angle(depth_m, diameter_m)
    return diameter_m**2 / 8 * (angle - np.sin(angle))


def wetted_perimeter(depth_m: Depth, diameter_m: float) -> Depth:
    """Length of wall under water in m: P = D·θ/2. 0 ≤ y ≤ D. Plane geometry.

    >>> round(float(wetted_perimeter(0.05, 0.1)), 6)
    0.15708
    """
    return diameter_m / 2 * wetted_angle(depth_m, diameter_m)


def hydraulic_radius(depth_m: Depth, diameter_m: float) -> Depth:
    """R = A/P = D/4·(1 − sin θ/θ) in m; 0 at no depth. 0 ≤ y ≤ D. Plane geometry.

    >>> round(float(hydraulic_radius(0.05, 0.1)), 6)  # half full as full: D/4
    0.025
    """
    return diameter_m / 4 * (1 - np.sinc(wetted_angle(depth_m, diameter_m) / np.pi))


def top_width(depth_m: Depth, diameter_m: float) -> Depth:
    """Width of the water surface in m: T = D·sin(θ/2). 0 ≤ y ≤ D. Plane geometry.

    >>> round(float(top_width(0.05, 0.1)), 6)
    0.1
    """
    return diameter_m * np.sin(wetted_angle(depth_m, diameter_m) / 2)


def velocity_at_depth(depth_m: Depth, diameter_m: float, grade: float, n: float) -> Depth:
    """Mean velocity in m/s, V = R^(2/3)·S^(1/2)/n. 0 ≤ y ≤ D. Manning, after Chow ch. 5.

    Greatest, 1.140 times the full-bore velocity, at y/D = 0.813.

    >>> round(float(velocity_at_depth(0.1, 0.2, 0.001, 0.013)), 4)
    0.3301
    """
    return hydraulic_radius(depth_m, diameter_m) ** (2 / 3) * math.sqrt(grade) / n


def flow_at_depth(depth_m: Depth, diameter_m: float, grade: float, n: float) -> Depth:
    """Flow in m³/s, Q = V·A. 0 ≤ y ≤ D. Manning, after Chow ch. 6.

    Greatest, 1.076 times the full-bore flow, at y/D = 0.938.

    >>> f"{flow_at_depth(0.1, 0.2, 0.001, 0.013):.6f}"  # Mott & Untener, example 14.2
    '0.005186'
    """
    velocity_m_s = velocity_at_depth(depth_m, diameter_m, grade, n)
    return velocity_m_s * wetted_area(depth_m, diameter_m)


def velocity_full(diameter_m: float, grade: float, n: float) -> float:
    """Full-bore velocity in m/s, V = (D/4)^(2/3)·S^(1/2)/n; that of half full too. Manning.

    >>> round(velocity_full(0.1, 0.01, 0.010), 4)
    0.855
    """
    return math.pow(diameter_m / 4, 2 / 3) * math.sqrt(grade) / n


def capacity_full(diameter_m: float, grade: float, n: float) -> float:
    """Full-bore flow in m³/s, Q = π/4·D²·V. Manning.

    This is what a pipe is said to carry. The 7.6 % more that the formula allows at y/D = 0.938
    is not counted on: the least ripple fills the pipe.

    >>> round(capacity_full(0.1, 0.01, 0.010), 6)
    0.006715
    """
    return math.pi / 4 * diameter_m**2 * velocity_full(diameter_m, grade, n)


def depth_at_flow(flow_m3s: float, diameter_m: float, grade: float, n: float) -> float | None:
    """Depth in m at which the pipe carries a flow; None where that is over its full-bore flow.

    The lower root, 0 ≤ y ≤ 0.820·D, of the wetted angle θ by Brent's method to 1e-12:

        Q/Q_full = (θ − sin θ)^(5/3) / (2π·θ^(2/3)),   y = D·sin²(θ/4),

    which is `flow_at_depth` over `capacity_full`. Between 0.820·D and full there is a second depth
    for the same flow, which is not steady. Manning; Chow fig. 6-5.

    >>> round(depth_at_flow(0.005185, 0.2, 0.001, 0.013), 4)
    0.1
    >>> depth_at_flow(0.0105, 0.2, 0.001, 0.013) is None
    True
    """
    full_m3s = capacity_full(diameter_m, grade, n)
    if flow_m3s > full_m3s * (1 + FULL_SLACK):
        return None
    if flow_m3s == 0:
        return 0.0
    share = 2 * math.pi * flow_m3s / full_m3s

    def over(angle: float) -> float:
        wet = (angle - math.sin(angle)) ** (5 / 3) / angle ** (2 / 3) if angle else 0.0
        return wet - share

    most = float(wetted_angle(_LOWER_ROOT_BELOW, 1.0))
    angle: float = brentq(over, 0.0, most, xtol=1e-12)
    return diameter_m * math.sin(angle / 4) ** 2


def least_grade_for_velocity(velocity_m_s: float, diameter_m: float, n: float) -> float:
    """Grade, a ratio, that gives a full-bore velocity: S = (V·n/(D/4)^(2/3))². Manning.

    >>> f"{least_grade_for_velocity(SELF_CLEANING_M_S, 0.1016, 0.015):.4f}"  # 4 in: 0.55 %
    '0.0055'
    """
    return (velocity_m_s * n / math.pow(diameter_m / 4, 2 / 3)) ** 2


def grade_for_flow(flow_m3s: float, diameter_m: float, n: float) -> float:
    """Grade, a ratio, at which the pipe just carries a flow full: S = (Q·n/(A·R^(2/3)))².

    Manning, full bore: A = π/4·D², R = D/4.

    >>> f"{grade_for_flow(0.006715, 0.1, 0.010):.4f}"
    '0.0100'
    """
    velocity_m_s = flow_m3s / (math.pi / 4 * diameter_m**2)
    return least_grade_for_velocity(velocity_m_s, diameter_m, n)


def friction_head(flow_m3s: float, diameter_m: float, n: float, length_m: float) -> float:
    """Head in m lost over a length of pipe running full: h = L·(Q·n/(A·R^(2/3)))².

    How much higher than the outlet the water stands at the inlet, whatever the pipe's own
    grade: for a check that it does not come out at the house. Manning; friction of the straight
    pipe only. length ≥ 0.

    >>> round(friction_head(0.006715, 0.1, 0.010, 30.0), 3)
    0.3
    """
    return grade_for_flow(flow_m3s, diameter_m, n) * length_m


@dataclass(frozen=True)
class FlowState:
    """How a pipe carries a flow.

    `share` is flow over full-bore capacity, None for a level pipe, which has none. `depth_m` is
    None where the flow is over capacity; the pipe then runs full at `velocity_full_m_s` and the
    rest backs up. `self_cleaning` says that the velocity at full or half full reaches
    `self_cleaning_m_s`.
    """

    flow_m3s: float
    capacity_full_m3s: float
    share: float | None
    depth_m: float | None
    velocity_m_s: float
    velocity_full_m_s: float
    self_cleaning: bool
    self_cleaning_m_s: float


def flow_state(
    flow_m3s: float,
    diameter_m: float,
    grade: float,
    n: float,
    self_cleaning_m_s: float = SELF_CLEANING_M_S,
) -> FlowState:
    """A flow in a pipe at a grade: capacity, depth, velocity. Manning, as the functions above.

    >>> state = flow_state(0.003, 0.1, 0.01, 0.010)
    >>> f"{state.share:.3f} {state.depth_m:.4f} m {state.velocity_m_s:.3f} m/s"
    '0.447 0.0468 m 0.831 m/s'
    """
    capacity_m3s = capacity_full(diameter_m, grade, n)
    full_m_s = velocity_full(diameter_m, grade, n)
    depth_m = depth_at_flow(flow_m3s, diameter_m, grade, n)
    return FlowState(
        flow_m3s=flow_m3s,
        capacity_full_m3s=capacity_m3s,
        share=flow_m3s / capacity_m3s if capacity_m3s else None,
        depth_m=depth_m,
        velocity_m_s=(
            full_m_s if depth_m is None else float(velocity_at_depth(depth_m, diameter_m, grade, n))
        ),
        velocity_full_m_s=full_m_s,
        self_cleaning=full_m_s >= self_cleaning_m_s,
        self_cleaning_m_s=self_cleaning_m_s,
    )
