"""The ground of a named source as a picture of any part of it, in whatever system is asked for."""

from __future__ import annotations

from typing import Final

import numpy as np
import pyproj
from scipy.ndimage import map_coordinates

from yardfall.core.arrays import Floats
from yardfall.core.errors import InputError
from yardfall.core.units import VERTICAL_UNITS_M, UnitName
from yardfall.geo.crs import transform
from yardfall.geo.elevations import OpenElevations
from yardfall.geo.raster import cell_values, metres_per_unit, pyproj_crs
from yardfall.geo.relief import LONG_SIDE_PX, relief_of
from yardfall.sentences import say
from yardfall.store.sources import SourceStore
from yardfall.use_cases.grounds import source_elevations
from yardfall.use_cases.source_window import edge_of, window_about

LATTICE: Final = 33
"""Points to a side that are carried into the source's own system; between them it is straight. Over
a kilometre that is off by less than a millimetre."""


def draw_part(
    name: str, bounds: list[float], system: str, sources: SourceStore, units: UnitName
) -> tuple[bytes, str]:
    """Shading and contours between west, south, east and north of a system, as PNG, north up there;
    and what lies between two contours, with its unit.

    Nothing is kept. Raises NotFoundError, InputError at /bounds and /crs, TooLargeError,
    UnavailableError.
    """
    crs, edge = edge_of(bounds, system)
    with source_elevations(name, sources, "/bounds")(edge, crs, 0.0) as its:
        own = pyproj_crs(its.dataset.crs.to_wkt())
        there = transform(edge, crs, own)
        window = window_about(its.dataset, there, name, "sources.relief_cells", 1)
        z = cell_values(its.dataset, window)
        rows, columns = _pixels(bounds, crs, its, own)
    # Beyond the outermost centres a cell's own value holds as far as the cell does.
    rows, columns = rows - window.row_off, columns - window.col_off
    beyond = (rows < -0.5) | (columns < -0.5)
    beyond |= (rows > window.height - 0.5) | (columns > window.width - 0.5)
    at = np.clip(rows, 0, window.height - 1), np.clip(columns, 0, window.width - 1)
    seen = map_coordinates(z, at, order=1, mode="nearest")
    seen[beyond] = np.nan
    if not np.isfinite(seen).any():
        raise InputError.at("/bounds", say("sources.window_empty", name=name))
    own_unit = next(unit for unit, metres in VERTICAL_UNITS_M.items() if metres == its.unit_m)
    return relief_of(seen, own_unit, units)


def _pixels(
    bounds: list[float], crs: pyproj.CRS, its: OpenElevations, own: pyproj.CRS
) -> tuple[Floats, Floats]:
    """The dataset's row and column, counted from the centre of the first cell, of each pixel of the
    picture (tall, wide), LONG_SIDE_PX on its longer side."""
    west, south, east, north = bounds
    across_m, up_m = metres_per_unit(crs, (south + north) / 2)
    wide_m, tall_m = (east - west) * across_m, (north - south) * up_m
    pixel_m = max(wide_m, tall_m) / LONG_SIDE_PX
    wide, tall = max(1, round(wide_m / pixel_m)), max(1, round(tall_m / pixel_m))
    x, y = np.meshgrid(np.linspace(west, east, LATTICE), np.linspace(north, south, LATTICE))
    there = transform(np.column_stack([x.ravel(), y.ravel()]), crs, own)
    back = ~its.dataset.transform
    column = back.a * there[:, 0] + back.b * there[:, 1] + back.c - 0.5
    row = back.d * there[:, 0] + back.e * there[:, 1] + back.f - 0.5
    down, along = _weights(tall), _weights(wide)
    rows, columns = (down @ side.reshape(LATTICE, LATTICE) @ along.T for side in (row, column))
    return rows, columns


def _weights(pixels: int) -> Floats:
    """What each point of the lattice (LATTICE) weighs at each pixel's centre along a side."""
    at = (np.arange(pixels) + 0.5) * ((LATTICE - 1) / pixels)
    weights: Floats = np.maximum(0.0, 1.0 - np.abs(at[:, None] - np.arange(LATTICE)))
    return weights
