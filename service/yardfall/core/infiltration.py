"""A dry well: a pit of stone that holds a storm and lets it soak away through its bottom.

The soil's soaking rate is a velocity (m/s) over the bottom alone; the sides are left out, on
the safe side. Steady soaking from the first minute, no clogging. 1 in/h is 7.0556e-6 m/s.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

STONE_VOIDS: Final = 0.40
"""Share of a volume of clean, even stone that is voids (the porosity; the trade calls it the
void ratio). Common practice; stormwater ordinances of Pennsylvania use it."""


def storage_needed(storm_m3: float, soak_m_s: float, bottom_m2: float, duration_s: float) -> float:
    """Water in m³ to hold: S = V − f·A·t, never below 0.

    The storm's volume V less what soaks away through bottom A at rate f during its duration t;
    all ≥ 0. A duration of 0 leaves soaking out. Conservation of mass.

    >>> round(storage_needed(2.36, 7.0556e-6, 4.0, 7200.0), 3)
    2.157
    """
    return max(0.0, storm_m3 - soak_m_s * bottom_m2 * duration_s)


def stone_volume(storage_m3: float, voids: float = STONE_VOIDS) -> float:
    """Stone in m³ whose voids hold the storage: V = S/voids, 0 < voids ≤ 1 (1 is an empty tank).

    Definition of porosity.

    >>> round(stone_volume(2.36), 2)  # 1,000 sq ft × 1 in: 7.7 cu yd
    5.9
    """
    return storage_m3 / voids


def drain_down(storage_m3: float, soak_m_s: float, bottom_m2: float) -> float | None:
    """Time in s for a full well to empty through its bottom: t = S/(f·A).

    None where the soil takes nothing. Storage, rate and area ≥ 0. Conservation of mass.

    >>> round(drain_down(2.36, 7.0556e-6, 4.0) / 3600, 1)  # hours
    23.2
    """
    taken_m3s = soak_m_s * bottom_m2
    return storage_m3 / taken_m3s if taken_m3s > 0 else None


def bottom_area_needed(
    storm_m3: float,
    depth_m: float,
    soak_m_s: float,
    duration_s: float,
    voids: float = STONE_VOIDS,
) -> float:
    """Bottom in m² of a well of given depth of stone: A = V/(voids·d + f·t).

    What soaks away meanwhile depends on the area sought, hence the sum below the line. Depth
    over 0, the rest ≥ 0. Toronto and Region Conservation Authority's guide to infiltration
    practices gives this form; soaking through the bottom only.

    >>> round(bottom_area_needed(2.36, 1.2, 7.0556e-6, 7200.0), 2)
    4.45
    """
    return storm_m3 / (voids * depth_m + soak_m_s * duration_s)


def cylinder_diameter(bottom_m2: float) -> float:
    """Diameter in m of a round well with that bottom, ≥ 0: D = √(4A/π). Plane geometry.

    >>> round(cylinder_diameter(4.45), 2)
    2.38
    """
    return math.sqrt(4 * bottom_m2 / math.pi)


def box_length(bottom_m2: float, width_m: float) -> float:
    """Length in m of a well with that bottom, ≥ 0, and that width, over 0: L = A/w.

    Plane geometry.

    >>> round(box_length(4.45, 1.5), 2)
    2.97
    """
    return bottom_m2 / width_m


@dataclass(frozen=True)
class Storm:
    """A storm on an area, and the stone pit that is to take it; SI."""

    area_m2: float
    rain_m: float
    duration_s: float
    soak_m_s: float
    stone_depth_m: float
    voids: float = STONE_VOIDS


@dataclass(frozen=True)
class DryWell:
    """A pit sized for a storm: its bottom, stone, and how long it takes to empty (None: never)."""

    storm_m3: float
    bottom_m2: float
    storage_m3: float
    stone_m3: float
    diameter_m: float
    empties_s: float | None


def size_well(storm: Storm) -> DryWell:
    """The smallest pit of the storm's stone depth that holds what has not soaked away.

    >>> well = size_well(Storm(92.9, 0.0254, 7200.0, 7.0556e-6, 1.2))
    >>> round(well.bottom_m2, 2), round(well.empties_s / 3600, 1)
    (4.45, 18.9)
    """
    storm_m3 = storm.area_m2 * storm.rain_m
    bottom_m2 = bottom_area_needed(
        storm_m3, storm.stone_depth_m, storm.soak_m_s, storm.duration_s, storm.voids
    )
    storage_m3 = storage_needed(storm_m3, storm.soak_m_s, bottom_m2, storm.duration_s)
    return DryWell(
        storm_m3,
        bottom_m2,
        storage_m3,
        stone_volume(storage_m3, storm.voids),
        cylinder_diameter(bottom_m2),
        drain_down(storage_m3, storm.soak_m_s, bottom_m2),
    )
