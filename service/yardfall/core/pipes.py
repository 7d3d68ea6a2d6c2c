"""The pipe catalogue, each value with its source."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from yardfall.core.units import INCH_M


@dataclass(frozen=True)
class Pipe:
    """A pipe in SI. `wall_m` is from the lowest inside point to the lowest outside point.

    n is Manning's roughness, `n_range` the spread of published values, `n_other` a published
    design value that disagrees and is shown beside. `min_grade` is a ratio, not a percent.
    """

    code: str | None
    name: str
    material: str
    nominal_in: float | None
    outside_m: float
    inside_m: float
    wall_m: float
    n: float
    n_range: tuple[float, float]
    min_grade: float
    source: str
    n_other: float | None = None


N_SMOOTH: Final = "n: FHWA HDS-5; Austin Drainage Criteria Manual Table 5-2"
N_CORRUGATED: Final = (
    "n 0.022 (0.020 to 0.025): Caltrans Highway Design Manual Table 851.2; 0.015: NRCS National "
    "Engineering Handbook 650 ch. 14 (from memory)"
)
LEAST_SMOOTH: Final = "minimum grade 1 %: common practice, no source"
LEAST_SMALL: Final = "minimum grade 1/4 in per ft up to 2-1/2 in: IPC 2021 Table 704.1"
LEAST_CORRUGATED: Final = "minimum grade 1.25 %: common practice, no source"


def _smooth(
    code: str, name: str, nominal_in: float, outside_in: float, wall_in: float, source: str
) -> Pipe:
    small = nominal_in <= 2.5
    return Pipe(
        code=code,
        name=name,
        material="PVC, smooth",
        nominal_in=nominal_in,
        outside_m=outside_in * INCH_M,
        inside_m=(outside_in - 2 * wall_in) * INCH_M,
        wall_m=wall_in * INCH_M,
        n=0.010,
        n_range=(0.009, 0.011),
        min_grade=0.25 / 12 if small else 0.01,
        source=f"{source}; {N_SMOOTH}; {LEAST_SMALL if small else LEAST_SMOOTH}",
    )


def _single_wall(nominal_in: float, outside_in: float) -> Pipe:
    return Pipe(
        code=f"corrugated-single-{nominal_in:g}",
        name=f"{nominal_in:g} in corrugated, single wall",
        material="polyethylene, corrugated inside",
        nominal_in=nominal_in,
        outside_m=outside_in * INCH_M,
        inside_m=nominal_in * INCH_M,
        wall_m=(outside_in - nominal_in) / 2 * INCH_M,
        n=0.022,
        n_range=(0.015, 0.025),
        min_grade=0.0125,
        source="ASTM F405 (nominal size is nominal inside); outside varies by maker, about "
        f"{outside_in:g} in from memory: measure yours; {N_CORRUGATED}; {LEAST_CORRUGATED}",
        n_other=0.015,
    )


def _dual_wall(nominal_in: float, outside_in: float) -> Pipe:
    return Pipe(
        code=f"corrugated-dual-{nominal_in:g}",
        name=f"{nominal_in:g} in corrugated, smooth inside",
        material="polyethylene, smooth inside",
        nominal_in=nominal_in,
        outside_m=outside_in * INCH_M,
        inside_m=nominal_in * INCH_M,
        wall_m=(outside_in - nominal_in) / 2 * INCH_M,
        n=0.012,
        n_range=(0.010, 0.013),
        min_grade=0.01,
        source="AASHTO M252 (inside nominal, +3 % / -1.5 %); outside varies by maker, about "
        f"{outside_in:g} in from memory: measure yours; n: Caltrans Highway Design Manual "
        f"Table 851.2; {LEAST_SMOOTH}",
    )


_D1785: Final = "ASTM D1785"
_D3034: Final = "ASTM D3034"
_D2729: Final = "ASTM D2729 (from memory)"

CATALOGUE: Final[dict[str, Pipe]] = {
    str(pipe.code): pipe
    for pipe in (
        _single_wall(3, 3.6),
        _single_wall(4, 4.6),
        _single_wall(5, 5.7),
        _single_wall(6, 6.9),
        _dual_wall(4, 4.8),
        _dual_wall(6, 7.0),
        _dual_wall(8, 9.4),
        _smooth("pvc-drain-3", "3 in PVC drain pipe", 3, 3.250, 0.070, _D2729),
        _smooth("pvc-drain-4", "4 in PVC drain pipe", 4, 4.215, 0.075, _D2729),
        _smooth("pvc-drain-6", "6 in PVC drain pipe", 6, 6.275, 0.100, _D2729),
        _smooth("pvc-sdr35-4", "4 in PVC SDR 35", 4, 4.215, 0.120, _D3034),
        _smooth("pvc-sdr35-6", "6 in PVC SDR 35", 6, 6.275, 0.180, _D3034),
        _smooth("pvc-sch40-2", "2 in PVC Schedule 40", 2, 2.375, 0.154, _D1785),
        _smooth("pvc-sch40-3", "3 in PVC Schedule 40", 3, 3.500, 0.216, _D1785),
        _smooth("pvc-sch40-4", "4 in PVC Schedule 40", 4, 4.500, 0.237, _D1785),
        _smooth("pvc-sch40-6", "6 in PVC Schedule 40", 6, 6.625, 0.280, _D1785),
    )
}
