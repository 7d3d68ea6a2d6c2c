"""The unit of a raster's elevations: what its file states, what a caller does."""

from __future__ import annotations

from typing import Final

import pyproj

from yardfall.core.errors import InputError
from yardfall.core.units import VERTICAL_UNITS_M

VERTICAL_NAMES: Final = {
    "m": ("m", "metre", "meter", "metres", "meters"),
    "ft": ("ft", "foot", "feet", "international foot"),
    "us-ft": ("us-ft", "ftus", "us survey foot", "us survey feet", "usft", "foot_us"),
}


def stated_unit(of_band: str | None, crs: pyproj.CRS) -> str | None:
    """The unit that a file states, of its band or of a compound system's vertical axis."""
    up = [axis.unit_name for axis in crs.axis_info if axis.direction == "up"]
    return _named(of_band) or (_named(up[0]) if up else None)


def _named(text: str | None) -> str | None:
    name = (text or "").strip().lower()
    return next((unit for unit, names in VERTICAL_NAMES.items() if name in names), None)


def vertical_unit_m(stated: str | None, vertical_unit: str | None) -> float:
    """Metres in the unit of a raster's elevations, of what its file states and what a caller does.

    Raises InputError: unknown or contradicted.
    """
    if vertical_unit and stated and vertical_unit != stated:
        raise InputError.at(
            "/vertical_unit",
            f"The file states its elevations in {stated}, not {vertical_unit}. "
            "Leave vertical_unit out.",
        )
    unit = stated or vertical_unit
    if unit is None:
        raise InputError.at(
            "/vertical_unit",
            "The raster does not state its vertical unit. Give m, ft or us-ft.",
        )
    return VERTICAL_UNITS_M[unit]
