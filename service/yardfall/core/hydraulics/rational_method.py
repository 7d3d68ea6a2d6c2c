"""Water that reaches the pipe: roofs, yards and pumps.

The rational method, Q = C·i·A, with every quantity in SI (m³/s, m/s, m²), so that it carries
no factor. For areas far below a square kilometre, where the whole area runs at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.core.errors import InputError, Problem
from yardfall.core.ground.route import SAME_STATION_M

ROOF_COEFFICIENT: Final = 1.0
"""All rain on a roof runs off: the plumbing codes' figure. FHWA HEC-22 Table 3-1 gives 0.75 to
0.95 (from memory)."""
LONG_RAIN_S: Final = 3600.0
"""A rain rate of this duration or longer hides the bursts that fill a roof drain."""
BURST_RATIO: Final = 3.0
"""Five-minute rate over one-hour rate, about: 7.14/2.27 = 3.1 in 1 year of 10 and
8.94/3.16 = 2.8 in 1 of 100."""
BURST_SOURCE: Final = (
    "NOAA Atlas 14 Volume 2, one station: 7.14 and 2.27 in/h, 8.94 and 3.16 in/h; roof drains are "
    "designed for the 10-year 5-minute rate (NRCS Conservation Practice Standard 558)"
)


def rational_flow(coefficient: float, rain_m_s: float, area_m2: float) -> float:
    """Flow in m³/s from an area under steady rain: Q = C·i·A.

    C from 0 to 1, i ≥ 0 in m/s, A ≥ 0 in m², measured on the flat. The rational method.
    1 in/h is 7.0556e-6 m/s, 1 mm/h is 2.7778e-7 m/s.

    >>> round(rational_flow(0.95, 20e-3 / 3600, 70e4), 3)  # Ponce: 70 ha at 20 mm/h
    3.694
    """
    return coefficient * rain_m_s * area_m2


def roof_with_wall(plan_m2: float, wall_m2: float) -> float:
    """Area in m² to count for a roof below a wall: A = plan + wall/2.

    For one wall that sheds rain on to the roof; both areas ≥ 0. International Plumbing Code
    1106.4 (from memory); Uniform Plumbing Code 2021 1103.4, a single wall. Two or more walls
    have their own rules there.

    >>> roof_with_wall(80.0, 24.0)
    92.0
    """
    return plan_m2 + wall_m2 / 2


def largest_roof(left_m3s: float, roof_m2: float, roof_m3s: float) -> float | None:
    """Roof area in m², in all, whose water a flow of `left_m3s` takes away: A = Q·ΣA/ΣC·i·A.

    `roof_m2` and `roof_m3s` are the roofs there are and what they bring, all of them made larger or
    smaller by one factor, each with its own rain and coefficient. None without a roof or where
    nothing is left. The rational method turned round.

    >>> round(largest_roof(0.005, 90.0, rational_flow(1.0, 100e-3 / 3600, 90.0)), 1)
    180.0
    """
    return left_m3s * roof_m2 / roof_m3s if left_m3s > 0 and roof_m3s > 0 else None


def flow_in_runs(inflow_at_m: Floats, inflow_m3s: Floats, knot_at_m: Floats) -> Floats:
    """Flow in m³/s in each run (k,) between knots (k + 1,), from inflows (m,) at stations (m,).

    A run carries all that enters above its lower end, so what enters part way down a run counts
    for the whole of it: its lower part must carry it. What enters at a knot is carried by the
    run below. Conservation of mass; the peaks are taken to meet.

    Raises InputError for an inflow that lies off the pipe, or at the very end, below all of it.

    >>> flow_in_runs(np.array([0.0, 12.0]), np.array([2.0, 3.0]), np.array([0.0, 12, 30]))
    array([2., 5.])
    """
    off = (inflow_at_m < knot_at_m[0] - SAME_STATION_M) | (
        inflow_at_m > knot_at_m[-1] - SAME_STATION_M
    )
    if np.any(off):
        raise InputError(
            *(
                Problem(f"/{i}/at", "This inflow does not lie above the end of the pipe.")
                for i in np.flatnonzero(off)
            )
        )
    order = np.argsort(inflow_at_m)
    above = np.searchsorted(inflow_at_m[order], knot_at_m[1:] - SAME_STATION_M)
    return np.concatenate([[0.0], np.cumsum(inflow_m3s[order])])[above]


@dataclass(frozen=True)
class LongRain:
    """A rain rate over too long a time: bursts within it run about `burst_ratio` times as hard."""

    duration_s: float
    burst_ratio: float
    source: str


def long_rain(duration_s: float) -> LongRain | None:
    """What to warn of when a rain rate is stated with its duration; None under 60 minutes.

    NOAA Atlas 14 Volume 2, as in BURST_SOURCE.

    >>> long_rain(300.0) is None, long_rain(3600.0).burst_ratio
    (True, 3.0)
    """
    return LongRain(duration_s, BURST_RATIO, BURST_SOURCE) if duration_s >= LONG_RAIN_S else None
