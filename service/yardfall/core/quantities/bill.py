"""The bill of quantities of one line: earth, pipe, parts, hours, and cost by the prices given."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.core.cautions import PROTECTION_M
from yardfall.core.design import Alignment, Design
from yardfall.core.quantities.earthwork import (
    COMMON_EARTH_SWELL,
    DIGGERS_M,
    WORKING_WIDTHS_M,
    Earthwork,
    Sloped,
    earthwork,
    laid_back,
    no_deeper,
)
from yardfall.core.quantities.parts import Part, PipeBill, fittings, outlet_parts, pipe_bill
from yardfall.core.units import FOOT_M, INCH_M

BY_HAND_M_H: Final = 4 * FOOT_M
"""About 4 ft an hour each by hand, sod and all (common practice, no source), in a trench of up to
HAND_DEPTH_M. Deeper it goes by the soil: as much slower as the trench is deeper, and below
THROW_M the soil is thrown twice."""
HAND_DEPTH_M: Final = 24 * INCH_M
THROW_M: Final = 1.5
THROWN_TWICE: Final = 0.57 / 0.38
"""Trenches dug by hand, firm soil: 0.57 m³ an hour to 1.5 m deep, 0.38 below (Guild of Project
Controls, Excavate and reduce levels, planningplanet.com)."""
HAND_BOUNDS_M: Final = np.array([HAND_DEPTH_M, THROW_M, np.inf])
MACHINES_M_H: Final = {
    "trencher_18": 60 * FOOT_M,
    "trencher_24": 60 * FOOT_M,
    "trencher_36": 45 * FOOT_M,
    "small_excavator": 30 * FOOT_M,
}
"""Trench an hour with the machine on site (common practice from memory, no source)."""
DEPTH_CLASSES_M: Final = tuple(depth * INCH_M for depth in (18, 24, 36, 48, 60))


@dataclass(frozen=True)
class Prices:
    """Prices as the user gives them, per SI unit; what is left out stays without a cost."""

    currency: str = ""
    pipe_piece: float | None = None
    bedding_m3: float | None = None
    haul_m3: float | None = None
    fill_m3: float | None = None
    sod_m2: float | None = None
    hour_by_hand: float | None = None
    hour_by_machine: float | None = None
    parts: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Supply:
    """How things are bought and dug where the usual does not hold; None takes the usual."""

    piece_m: float | None = None
    waste: float | None = None
    swell: float = COMMON_EARTH_SWELL
    depth_classes_m: tuple[float, ...] = DEPTH_CLASSES_M
    by_hand_m_h: float | None = None
    by_machine_m_h: float | None = None
    prices: Prices | None = None


USUAL_SUPPLY: Final = Supply()


@dataclass(frozen=True)
class Hours:
    """Digging alone; `machine` is the least that digs so deep, None: none of those known."""

    by_hand_h: float
    machine: str | None
    by_machine_h: float | None


@dataclass(frozen=True)
class CostLine:
    """One priced figure: quantity in SI (m³, m², pieces, hours) times the price of one."""

    what: str
    quantity: float
    price: float

    @property
    def amount(self) -> float:
        """What it comes to."""
        return self.quantity * self.price


@dataclass(frozen=True)
class Cost:
    """What was priced, and the names of what was not: it has no price, or nobody knows how much."""

    currency: str
    lines: tuple[CostLine, ...]
    left_out: tuple[str, ...]

    @property
    def total(self) -> float:
        """The sum of what was priced."""
        return sum(line.amount for line in self.lines)


@dataclass(frozen=True, eq=False)
class Bill:
    """Everything to dig, buy and do for one line."""

    supply: Supply
    earth: Earthwork
    pipe: PipeBill
    fittings: tuple[Part, ...]
    outlet_parts: tuple[Part, ...]
    hours: Hours
    sloped: Sloped | None
    cost: Cost | None


def make_bill(
    design: Design,
    points: Alignment,
    invert_m: Floats,
    laid_m: float,
    entries: Sequence[tuple[str, float]],
    turns_deg: Floats,
    supply: Supply,
    *,
    steps_down: bool = False,
) -> Bill:
    """The bill of a line of inverts (n,) at its points.

    `laid_m` is the pipe's length along the slope, `entries` what enters it (kind, station),
    `turns_deg` the bends of the route. `steps_down`: its end lies above the wye that it joins.
    """
    limits = design.limits
    depth_m = points.ground_m - invert_m + design.section.below_invert_m
    widths_m = WORKING_WIDTHS_M if design.open is not None and design.open.trench_width else ()
    earth = earthwork(
        points.at_m,
        depth_m,
        supply.depth_classes_m,
        limits.trench_width_m,
        limits.bedding_m,
        design.pipe.outside_m,
        supply.swell,
        widths_m,
        sum(fill.volume_m3 for fill in limits.fills),
    )
    length_m = float(points.at_m[-1])
    pipe = pipe_bill(design.pipe, laid_m, supply.piece_m, supply.waste)
    along = fittings(entries, turns_deg, length_m, pipe)
    ending = outlet_parts(design.outlet.kind, steps_down=steps_down)
    hours = _hours(points.at_m, depth_m, supply)
    cost = None
    if supply.prices is not None:
        cost = _cost(supply.prices, earth, pipe, (*along, *ending), hours)
    width_m = limits.trench_width_m
    sloped = laid_back(points.at_m, depth_m, PROTECTION_M, width_m, widths_m)
    return Bill(supply, earth, pipe, along, ending, hours, sloped, cost)


def _hours(at_m: Floats, depth_m: Floats, supply: Supply) -> Hours:
    length_m, deepest_m = float(at_m[-1] - at_m[0]), float(depth_m.max())
    by_hand_h = _by_hand_h(at_m, depth_m)
    if supply.by_hand_m_h is not None:
        by_hand_h = length_m / supply.by_hand_m_h
    machine = next((name for name in MACHINES_M_H if deepest_m <= DIGGERS_M[name] + 1e-9), None)
    rate = supply.by_machine_m_h or (MACHINES_M_H[machine] if machine else None)
    return Hours(by_hand_h, machine, length_m / rate if rate else None)


def _by_hand_h(at_m: Floats, depth_m: Floats) -> float:
    """Hours of one person at the usual pace, which falls as the trench gets deeper."""
    lengths_m, areas_m2 = no_deeper(at_m, depth_m, HAND_BOUNDS_M)
    shallow_m2, thrown_m2, whole_m2 = areas_m2.tolist()
    deep_m2 = thrown_m2 - shallow_m2 + THROWN_TWICE * (whole_m2 - thrown_m2)
    return (float(lengths_m[0]) + deep_m2 / HAND_DEPTH_M) / BY_HAND_M_H


def _cost(
    prices: Prices, earth: Earthwork, pipe: PipeBill, parts: Sequence[Part], hours: Hours
) -> Cost:
    counts: dict[str, int] = {}
    for part in parts:
        counts[part.code] = counts.get(part.code, 0) + part.count
    by_machine = prices.hour_by_machine is not None
    figures: list[tuple[str, float | None, float | None]] = [
        ("pipe", pipe.pieces, prices.pipe_piece),
        ("bedding", earth.bedding_m3, prices.bedding_m3),
        ("haul", earth.haul_loose_m3, prices.haul_m3),
        ("fill", earth.fill_brought_m3, prices.fill_m3),
        ("sod", earth.sod_m2, prices.sod_m2),
        ("hour_by_machine", hours.by_machine_h, prices.hour_by_machine)
        if by_machine
        else ("hour_by_hand", hours.by_hand_h, prices.hour_by_hand),
        *((code, count, prices.parts.get(code)) for code, count in counts.items()),
    ]
    needed = [figure for figure in figures if figure[1] is None or figure[1] > 0]
    return Cost(
        prices.currency,
        tuple(CostLine(*figure) for figure in needed if None not in figure),  # type: ignore[arg-type]
        tuple(figure[0] for figure in needed if None in figure),
    )
