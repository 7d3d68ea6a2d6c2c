"""A dry well: a pit of stone that holds a storm and lets it soak away through its bottom.

The soil's soaking rate is a velocity (m/s) over the bottom alone, as the guide to infiltration
practices of the Toronto and Region Conservation Authority sizes a pit (from memory). BRE Digest 365
instead counts the sides to half their depth and leaves the bottom out, for a bottom silts up: of a
round pit that is more soaking, and so a smaller pit, where it is deeper than half its width, less
where it is shallower. Steady soaking from the first minute. 1 in/h is 7.0556e-6 m/s.

A short burst is hard and over soon, a long rain brings more and soaks away meanwhile: which of
them asks for the largest pit is found by trying each (BRE Digest 365, Soakaway design: storage =
inflow - outflow for storms of many durations, the worst of them governs, and half of it is to be
gone within 24 hours).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
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


SAFETY_FACTOR: Final = 2.0
"""What a measured soaking rate is divided by, for soil that clogs and tests that flatter.
Minnesota Stormwater Manual, Design criteria for infiltration: 2 or more; CIRIA C753, The SuDS
Manual, table 25.2 (from memory): 1.5 to 10, 2 where a small area's flooding does minor damage."""


HALF_EMPTY_S: Final = 24 * 3600.0
"""Half of it is to be gone within a day, to take the next storm: BRE Digest 365."""


@dataclass(frozen=True)
class Rain:
    """How much falls, and within what time; SI."""

    rain_m: float
    duration_s: float


@dataclass(frozen=True)
class Storm:
    """Storms on an area, one or more, and the stone pit that is to take each; SI.

    `soak_m_s` is the rate as measured; the pit is sized by it over `safety_factor`.
    """

    area_m2: float
    rains: tuple[Rain, ...]
    soak_m_s: float
    stone_depth_m: float
    voids: float = STONE_VOIDS
    safety_factor: float = SAFETY_FACTOR


@dataclass(frozen=True)
class Tried:
    """A storm that was tried: what it brings, and the bottom and storage that it alone needs."""

    rain: Rain
    storm_m3: float
    bottom_m2: float
    storage_m3: float


@dataclass(frozen=True)
class DryWell:
    """A pit sized for the worst storm: its bottom, stone, and how long it takes to empty.

    `storm` is what was asked; `half_s` until half is gone, `empties_s` until all is; None: never.
    `tried` are the storms in the order given, the one that governs at `worst`.
    """

    storm: Storm
    storm_m3: float
    bottom_m2: float
    storage_m3: float
    stone_m3: float
    diameter_m: float
    half_s: float | None
    empties_s: float | None
    tried: tuple[Tried, ...]
    worst: int

    @property
    def soak_m_s(self) -> float:
        """What it was sized by: the measured rate over the safety factor."""
        return self.storm.soak_m_s / self.storm.safety_factor

    @property
    def never_empties(self) -> bool:
        """Whether it takes in no water, so that it is no outlet."""
        return self.empties_s is None

    @property
    def too_slow(self) -> bool:
        """Whether it is not half empty in time for the next storm."""
        return self.half_s is not None and self.half_s > HALF_EMPTY_S * (1 + 1e-9)

    @property
    def soaks_less_by_sides(self) -> bool:
        """Whether BRE Digest 365, which counts the sides to half depth and no bottom, counts on
        less soaking: π·D·d/2 < π·D²/4."""
        return 2 * self.storm.stone_depth_m < self.diameter_m

    def in_time(self) -> DryWell:
        """The pit of so little stone that it is half empty in time: d = 2·f·t/voids.

        Half of what it holds over each unit of bottom, voids·d/2, soaks away at f in time t. The
        storm that governs may hold less than a full pit, so this is no deeper than need be.
        """
        most_m = 2 * self.soak_m_s * HALF_EMPTY_S / self.storm.voids
        return size_well(replace(self.storm, stone_depth_m=min(most_m, self.storm.stone_depth_m)))

    @property
    def governs(self) -> Rain:
        """The storm that asks for the largest pit."""
        return self.tried[self.worst].rain


def size_well(storm: Storm) -> DryWell:
    """The smallest pit of the storm's stone depth that holds what has not soaked away.

    Of every storm; the one that needs the largest bottom governs.

    >>> rain = Rain(0.0254, 7200.0)
    >>> well = size_well(Storm(92.9, (rain,), 7.0556e-6, 1.2, safety_factor=1))
    >>> round(well.bottom_m2, 2), round(well.empties_s / 3600, 1), round(well.half_s / 3600, 1)
    (4.45, 18.9, 9.4)
    """
    soak_m_s = storm.soak_m_s / storm.safety_factor
    tried = tuple(_tried(storm, rain, soak_m_s) for rain in storm.rains)
    worst = max(range(len(tried)), key=lambda k: tried[k].bottom_m2)
    most = tried[worst]
    empties_s = drain_down(most.storage_m3, soak_m_s, most.bottom_m2)
    return DryWell(
        storm,
        most.storm_m3,
        most.bottom_m2,
        most.storage_m3,
        stone_volume(most.storage_m3, storm.voids),
        cylinder_diameter(most.bottom_m2),
        None if empties_s is None else empties_s / 2,
        empties_s,
        tried,
        worst,
    )


def _tried(storm: Storm, rain: Rain, soak_m_s: float) -> Tried:
    storm_m3 = storm.area_m2 * rain.rain_m
    bottom_m2 = bottom_area_needed(
        storm_m3, storm.stone_depth_m, soak_m_s, rain.duration_s, storm.voids
    )
    storage_m3 = storage_needed(storm_m3, soak_m_s, bottom_m2, rain.duration_s)
    return Tried(rain, storm_m3, bottom_m2, storage_m3)
