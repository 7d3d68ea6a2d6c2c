"""What it takes to get into a pipe: the water over the invert where it enters, at rest.

Water that stands in a basin or at a pipe's mouth must first be set moving, and loses some of that
in the eddies behind the edge. Over the invert of the entrance it stands

    H = y + (1 + Ke)·V²/2g,   V = Q/A(y)

with y the depth just inside: critical depth y_c where the pipe falls so much that the water runs
off faster, else the depth that the water in the pipe has. The greater of both is taken. Energy
from the pool to the section inside; FHWA HDS-5, Hydraulic Design of Highway Culverts, sec. 3.1
(outlet control; from memory), and any text on hydraulics.
"""

from __future__ import annotations

import math
from typing import Final

from scipy.optimize import brentq

from yardfall.core.hydraulics.manning import top_width, wetted_area

SQUARE_EDGE_KE: Final = 0.5
"""Entrance loss of a square-cut end: HDS-5, table C.2 (from memory). A pipe that sticks out of
the wall, thick as a drain's, loses as much; a rounded or beveled one less."""
G_M_S2: Final = 9.80665


def critical_depth(flow_m3s: float, diameter_m: float) -> float:
    """Depth in m at which Q²·T/(g·A³) = 1, by Brent's method to 1e-9 of the bore; flow ≥ 0.

    Chow, Open-Channel Hydraulics, ch. 4. It nears the full bore as the flow grows.

    >>> round(critical_depth(0.0053626, 0.1016) / 0.0254, 2)  # 85 gpm in 4 in
    2.95
    """
    if flow_m3s <= 0:
        return 0.0

    def over(y: float) -> float:
        area = wetted_area(y * diameter_m, diameter_m)
        return flow_m3s**2 * top_width(y * diameter_m, diameter_m) - G_M_S2 * area**3

    least, most = 1e-6, 1 - 1e-9
    if over(least) <= 0:
        return least * diameter_m
    if over(most) >= 0:
        return diameter_m
    return diameter_m * float(brentq(over, least, most, xtol=1e-9))


def entrance_head(flow_m3s: float, diameter_m: float, depth_m: float = 0.0) -> float:
    """Water in m over the invert of an entrance, H of above; `depth_m` is the pipe's own water.

    Flow and depth ≥ 0; a depth over the bore is of water under pressure.

    >>> round(entrance_head(0.0053626, 0.1016) / 0.0254, 1)  # 85 gpm in 4 in: 2.95 + 2.13
    5.1
    >>> entrance_head(0.0, 0.1, 0.03)
    0.03
    """
    if flow_m3s <= 0:
        return depth_m
    critical_m = critical_depth(flow_m3s, diameter_m)
    return max(
        _head(flow_m3s, diameter_m, critical_m),
        _head(flow_m3s, diameter_m, max(depth_m, critical_m)),
    )


def _head(flow_m3s: float, diameter_m: float, depth_m: float) -> float:
    area_m2 = wetted_area(min(depth_m, diameter_m), diameter_m)
    velocity_m_s = flow_m3s / area_m2
    return depth_m + (1 + SQUARE_EDGE_KE) * math.pow(velocity_m_s, 2) / (2 * G_M_S2)
