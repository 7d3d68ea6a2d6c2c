"""Ways to measure, and how far each is out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from yardfall.core.uncertainty.lidar import LIDAR_OF, LIDARS, SOURCE
from yardfall.core.units import FOOT_M, INCH_M


@dataclass(frozen=True)
class Instrument:
    """Working accuracy of a way to measure, as one standard error.

    `error_m` holds at `per_m` of reach and grows with it (0: the same at any reach).
    `common_m` shifts every value alike. `tilt` is what a level that is not turned end for end
    reads wrong by the metre, the same way at every step of a slope stepped down.
    """

    name: str
    label: str
    error_m: float
    per_m: float
    source: str
    common_m: float = 0.0
    tilt: float = 0.0

    def sigma_m(self, reach_m: float) -> float:
        """Standard error of a reading on a span of `reach_m`."""
        grown = self.error_m * reach_m / self.per_m if self.per_m else self.error_m
        return max(grown, READING_M)


READING_M: Final = INCH_M / 16
"""Nobody reads a tape or rod better than this (common practice, no source)."""
_CP: Final = "common practice, no source"
_3DEP: Final = (
    "USGS 3DEP quality levels: RMSEz at most 5, 10, 10, 20 cm for QL0 to QL3 on open ground, most "
    f"of it shared by the whole raster; what differs from cell to cell is {SOURCE}"
)


def _lidar(name: str, label: str, rmse_m: float) -> Instrument:
    apart_m = LIDARS[LIDAR_OF[name]].cell_m
    return Instrument(name, label, apart_m, 0.0, _3DEP, (rmse_m**2 - apart_m**2) ** 0.5)


INSTRUMENTS: Final[dict[str, Instrument]] = {
    i.name: i
    for i in (
        Instrument("line_level", "string and line level", INCH_M / 4, 25 * FOOT_M, _CP, tilt=0.001),
        Instrument("water_level", "water level", INCH_M / 8, 0.0, _CP),
        Instrument("board_level", "board and spirit level", 0.003, 0.0, _CP, tilt=0.0005),
        Instrument("builders_level", "builder's level", INCH_M / 8, 100 * FOOT_M, _CP),
        Instrument("rotary_laser", "rotary laser", INCH_M / 8, 100 * FOOT_M, _CP),
        Instrument("hand_level", "hand level", 0.1 * FOOT_M, 100 * FOOT_M, _CP),
        _lidar("lidar_ql0", "aerial lidar, quality level 0", 0.05),
        _lidar("lidar_ql1", "aerial lidar, quality level 1", 0.10),
        _lidar("lidar_ql2", "aerial lidar, quality level 2", 0.10),
        _lidar("lidar_ql3", "aerial lidar, quality level 3", 0.20),
    )
}
