"""Supply and prices from the caller's units to SI."""

from __future__ import annotations

import itertools
from typing import Any, Final

from yardfall.core.errors import InputError
from yardfall.core.quantities.bill import DEPTH_CLASSES_M, Prices, Supply
from yardfall.core.quantities.earthwork import COMMON_EARTH_SWELL
from yardfall.core.units import UnitSystem

CLASSES_M: Final = {"us": DEPTH_CLASSES_M, "si": (0.45, 0.6, 0.9, 1.2, 1.5)}


def read_supply(body: dict[str, Any], units: UnitSystem) -> Supply:
    """`supply` and `prices` of a plan body, either of which may be left out."""
    supply, prices = body.get("supply", {}), body.get("prices")
    bounds = supply.get("depth_classes")
    if bounds is not None and any(b <= a for a, b in itertools.pairwise(bounds)):
        raise InputError.at("/supply/depth_classes", "Give the depths from least to greatest.")
    piece, by_machine = supply.get("piece_length"), supply.get("by_machine")
    by_hand, waste = supply.get("by_hand"), supply.get("waste_percent")
    return Supply(
        None if piece is None else piece * units.length_m,
        None if waste is None else waste / 100,
        supply.get("swell_percent", COMMON_EARTH_SWELL * 100) / 100,
        CLASSES_M[units.name] if bounds is None else tuple(b * units.depth_m for b in bounds),
        None if by_hand is None else by_hand * units.length_m,
        None if by_machine is None else by_machine * units.length_m,
        None if prices is None else _prices(prices, units),
    )


def _prices(body: dict[str, Any], units: UnitSystem) -> Prices:
    if "hour_by_hand" in body and "hour_by_machine" in body:
        raise InputError.at(
            "/prices/hour_by_machine",
            "Give the price of an hour by hand or by machine, not both: the trench is dug once.",
        )

    def each(name: str, unit: float) -> float | None:
        return body[name] / unit if name in body else None

    return Prices(
        body.get("currency", ""),
        body.get("pipe_piece"),
        each("bedding", units.volume_m3),
        each("haul", units.volume_m3),
        each("fill", units.volume_m3),
        each("sod", units.area_m2),
        body.get("hour_by_hand"),
        body.get("hour_by_machine"),
        body.get("parts", {}),
    )
