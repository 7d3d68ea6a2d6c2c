"""A part of a named source kept as a raster of one's own."""

from __future__ import annotations

import io
from contextlib import suppress
from typing import Any, Final

import numpy as np
import pyproj
from affine import Affine
from rasterio.io import MemoryFile
from rasterio.windows import Window

from yardfall.core.arrays import Floats
from yardfall.core.errors import InputError, NotFoundError, TooLargeError
from yardfall.core.units import VERTICAL_UNITS_M
from yardfall.geo.crs import find_crs, is_on_earth, transform
from yardfall.geo.elevations import OpenElevations
from yardfall.geo.raster import inspect_raster, pyproj_crs
from yardfall.sentences import say
from yardfall.store.uploads.rasters import RasterRecord, RasterStore
from yardfall.use_cases.grounds import source_elevations
from yardfall.use_cases.uploads import add_raster

MOST_CELLS: Final = 2_000_000
MOST_REMEMBERED: Final = 256
EMPTY: Final = -99_999.0
ALONG: Final = np.linspace(0.0, 1.0, 21)
"""Places along each side of what is asked for: a straight side is bent in another system."""


_KEPT_AS: Final[dict[object, str]] = {}
"""Under which id this process kept or found a part of a source, by the source's state and whose it
is: so that it need not be read again to see that it is the same."""


def keep_part(name: str, bounds: list[float], system: str, rasters: RasterStore) -> RasterRecord:
    """Keep what a source has between west, south, east and north of a system, or find it kept.

    Raises NotFoundError, InputError at /bounds and /crs, TooLargeError, UnavailableError.
    """
    crs, edge = edge_of(bounds, system)
    sources = rasters.sources
    part = (sources.folder, name, sources.state(name), tuple(bounds), system, rasters.keeper)
    with suppress(KeyError, NotFoundError):
        return rasters.get(_KEPT_AS[part])
    with source_elevations(name, sources, "/bounds")(edge, crs, 0.0) as its:
        own = pyproj_crs(its.dataset.crs.to_wkt())
        written = _written(its, transform(edge, crs, own), name)
    assert its.source is not None
    title = f"{name} {its.source.date}".strip()
    record = add_raster(
        io.BytesIO(written), title, rasters, inspect_raster, its.source, keep_once=True
    )
    if len(_KEPT_AS) >= MOST_REMEMBERED:
        _KEPT_AS.clear()
    _KEPT_AS[part] = record.id
    return record


def edge_of(bounds: list[float], system: str) -> tuple[pyproj.CRS, Floats]:
    """A system, and points (n, 2) along the sides of west, south, east, north of it.

    Raises InputError at /bounds and /crs.
    """
    west, south, east, north = bounds
    crs = find_crs(system)
    assert crs is not None, "local is none of those that a part is asked in"
    if not (west < east and south < north and _has_ends(bounds, crs)):
        raise InputError.at("/bounds", say("sources.window_order"))
    start, end = np.zeros_like(ALONG), np.ones_like(ALONG)
    across = np.concatenate([ALONG, end, ALONG, start])
    up = np.concatenate([start, ALONG, end, ALONG])
    return crs, np.column_stack([west + (east - west) * across, south + (north - south) * up])


def _has_ends(bounds: list[float], crs: pyproj.CRS) -> bool:
    """Whether both corners can be places of a system."""
    corners = np.reshape(bounds, (2, 2))
    return all(is_on_earth(corner, crs) for corner in corners)


def _written(its: OpenElevations, edge: Floats, name: str) -> bytes:
    """The cells about an edge (n, 2) as a GeoTIFF on the same grid, as they are."""
    dataset = its.dataset
    window = window_about(dataset, edge, name, "sources.window_cells")
    z = dataset.read(1, window=window)
    known = np.isfinite(z)
    if not known.any():
        raise InputError.at("/bounds", say("sources.window_empty", name=name))
    single = bool((z[known].astype(np.float32) == z[known]).all())
    profile: dict[str, Any] = {
        "driver": "GTiff",
        "count": 1,
        "dtype": "float32" if single else "float64",
        "width": window.width,
        "height": window.height,
        "crs": dataset.crs.to_wkt(),
        "transform": dataset.transform @ Affine.translation(window.col_off, window.row_off),
        "nodata": EMPTY,
        "compress": "deflate",
        "predictor": 3,
    }
    unit = next(unit for unit, metres in VERTICAL_UNITS_M.items() if metres == its.unit_m)
    with MemoryFile() as memory:
        with memory.open(**profile) as out:
            out.write(np.where(known, z, EMPTY).astype(profile["dtype"]), 1)
            out.units = (unit,)
            out.scales, out.offsets = dataset.scales, dataset.offsets
        return bytes(memory.read())


def window_about(dataset: Any, edge: Floats, name: str, too_many: str, beside: int = 0) -> Window:
    """The cells that hold an edge (n, 2) of its own system and so many beside it, as far as there
    are any.

    Raises InputError at /bounds where there are none, TooLargeError by the sentence `too_many`.
    """
    back = ~dataset.transform
    column = back.a * edge[:, 0] + back.b * edge[:, 1] + back.c
    row = back.d * edge[:, 0] + back.e * edge[:, 1] + back.f
    left, top = (max(int(np.floor(side.min())) - beside, 0) for side in (column, row))
    right = min(int(np.ceil(column.max())) + beside, dataset.width)
    low = min(int(np.ceil(row.max())) + beside, dataset.height)
    wide, tall = right - left, low - top
    if wide <= 0 or tall <= 0:
        raise InputError.at("/bounds", say("sources.window_empty", name=name))
    if wide * tall > MOST_CELLS:
        raise TooLargeError(say(too_many, cells=f"{wide * tall:,}", most=f"{MOST_CELLS:,}"))
    return Window(left, top, wide, tall)
