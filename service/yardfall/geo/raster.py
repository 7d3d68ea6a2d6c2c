"""Elevation rasters: what a file is, and the ground under a route.

A value belongs to the centre of its pixel. Between centres it is bilinear on the four cells
around; where any of them is missing, so is the point. Only the window under the route is read,
so the cost does not grow with the size of the file.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

import numpy as np
import pyproj
import rasterio
from numpy.typing import NDArray
from rasterio.enums import MaskFlags
from rasterio.windows import Window

from yardfall.core.arrays import Floats
from yardfall.core.errors import FileRefusedError, TooLargeError
from yardfall.core.ground.profile import NamedSource
from yardfall.geo.geotiff import GDAL_OPTIONS, UNREADABLE, open_raster
from yardfall.geo.tiff import DAMAGED, MAX_CELLS, check_structure
from yardfall.geo.vertical_unit import stated_unit
from yardfall.sentences import say

Indices = NDArray[np.intp]

ELSEWHERE: Final = re.compile(
    r"grids\s*=|PARAMETERFILE|\.(?:gsb|gtx|tif|gvb|lla|los|las|ct2)\b|://", re.IGNORECASE
)
"""What a description of a coordinate system holds that points to a file or an address."""
DTYPES: Final = ("float32", "float64", "int16", "uint16", "int32", "uint32", "uint8")
COMPRESSIONS: Final = ("", "DEFLATE", "LZW", "PACKBITS", "ZSTD", "LZMA", "LERC")
MAX_BLOCK_CELLS: Final = 4_194_304
MAX_WINDOW_CELLS: Final = 16_000_000
MOST_DEGREES: Final = (361.0, 91.0)
"""Longitude and latitude; a degree more than there are, for cells that reach over the edge."""
MOST_UNITS: Final = (1e9, 1e9)
LEAST_CELL_M: Final = 0.001
DRY_LAND: Final = (-1500.0, 30_000.0)
"""No land lies lower or higher, in metres or in feet (Dead Sea shore about -1,410 ft, Everest
29,032 ft; from memory)."""
ON_CENTRE: Final = 1e-5
"""Cells: a hundredth of a millimetre on a metre's cell."""
SAME_EMPTY: Final = 1e-6
"""A cell this share off the stated empty value is empty: the value stands in the file as text."""


@dataclass(frozen=True)
class RasterFacts:
    """What a raster file says of itself.

    `bounds` (xmin, ymin, xmax, ymax) in its own coordinate system, `metres_per_unit` along x
    and y there, `cell_m` the size of a cell, `vertical_unit` None when the file does not state
    it, `lowest` and `highest` in that unit (None when every cell is empty). `named` is the source
    that it is a window of.
    """

    crs: str
    epsg: int | None
    geographic: bool
    bounds: tuple[float, float, float, float]
    metres_per_unit: tuple[float, float]
    width: int
    height: int
    cell_m: tuple[float, float]
    vertical_unit: str | None
    lowest: float | None
    highest: float | None
    empty_share: float
    named: NamedSource | None = None


def inspect_raster(path: Path) -> RasterFacts:
    """Look at a file's structure before any pixel, then at its values.

    Raises FileRefusedError when it is no single-band elevation GeoTIFF with a coordinate
    system, TooLargeError over MAX_CELLS or MAX_BLOCK_CELLS.
    """
    check_structure(path)
    try:
        with rasterio.Env(**GDAL_OPTIONS), open_raster(path) as dataset:
            refuse_structure(dataset)
            return _facts(dataset)
    except UNREADABLE as error:
        raise FileRefusedError(DAMAGED) from error


def refuse_structure(dataset: Any) -> None:
    """Refuse what is no single-band elevation raster with a place. Raises FileRefusedError,
    TooLargeError."""
    if dataset.count != 1:
        raise FileRefusedError(
            f"The file has {dataset.count} bands; an elevation raster has one. "
            "Is it a picture? Upload that as a site plan."
        )
    if dataset.dtypes[0] not in DTYPES:
        raise FileRefusedError(f"Cells of type {dataset.dtypes[0]} are not elevations.")
    compression = dataset.tags(ns="IMAGE_STRUCTURE").get("COMPRESSION", "")
    if compression not in COMPRESSIONS:
        raise FileRefusedError(f"{compression} compression is not taken; use DEFLATE, LZW or none.")
    if dataset.width * dataset.height > MAX_CELLS:
        raise TooLargeError(
            f"The raster has {dataset.width * dataset.height:,} cells; at most {MAX_CELLS:,} are "
            "taken. Cut it to the neighbourhood of the yard."
        )
    rows, columns = dataset.block_shapes[0]
    if rows * columns > MAX_BLOCK_CELLS:
        raise TooLargeError(
            f"The raster is stored in blocks of {rows * columns:,} cells; at most "
            f"{MAX_BLOCK_CELLS:,} are taken. Save it tiled, 256 by 256."
        )
    if dataset.crs is None:
        raise FileRefusedError(
            "The raster states no coordinate system, so it cannot be placed on the ground."
        )
    transform_ = dataset.transform
    if transform_.is_identity or transform_.is_degenerate:
        raise FileRefusedError("The raster states no position on the ground.")


def _facts(dataset: Any) -> RasterFacts:
    crs = pyproj_crs(dataset.crs.to_wkt())
    if not (crs.is_geographic or crs.is_projected):
        raise FileRefusedError("The raster's coordinate system is no map and no longitude.")
    geographic = bool(crs.is_geographic)
    t = dataset.transform
    corners = np.array(
        [
            (t.a * column + t.b * row + t.c, t.d * column + t.e * row + t.f)
            for column in (0, dataset.width)
            for row in (0, dataset.height)
        ]
    )
    reach = MOST_DEGREES if geographic else MOST_UNITS
    if not (np.abs(corners) <= reach).all():
        raise FileRefusedError("The raster's position lies outside its own coordinate system.")
    (xmin, ymin), (xmax, ymax) = corners.min(axis=0), corners.max(axis=0)
    scale = metres_per_unit(crs, (ymin + ymax) / 2)
    cell_m = (
        float(np.hypot(t.a * scale[0], t.d * scale[1])),
        float(np.hypot(t.b * scale[0], t.e * scale[1])),
    )
    if not min(cell_m) >= LEAST_CELL_M:
        raise FileRefusedError(f"The raster's cells are {min(cell_m):.2g} m wide; no ground is.")
    lowest, highest, empty = _value_range(dataset)
    if (
        lowest is not None
        and highest is not None
        and not DRY_LAND[0] <= lowest <= highest <= DRY_LAND[1]
    ):
        raise FileRefusedError(
            f"The raster holds values from {lowest:.6g} to {highest:.6g}, and no land lies so. It "
            "seems to have empty cells without saying which value stands for them: state its "
            "NODATA value."
        )
    epsg = crs.to_2d().to_epsg()
    return RasterFacts(
        crs="OGC:CRS84" if geographic else f"EPSG:{epsg}" if epsg else crs.name,
        epsg=epsg,
        geographic=geographic,
        bounds=(float(xmin), float(ymin), float(xmax), float(ymax)),
        metres_per_unit=scale,
        width=dataset.width,
        height=dataset.height,
        cell_m=cell_m,
        vertical_unit=stated_unit(dataset.units[0], crs),
        lowest=lowest,
        highest=highest,
        empty_share=empty,
    )


def metres_per_unit(crs: pyproj.CRS, middle_y: float) -> tuple[float, float]:
    """Metres along x and y in one unit of a system, at a latitude of a geographic one."""
    if not crs.is_geographic:
        factor = float(crs.axis_info[0].unit_conversion_factor)
        return factor, factor
    geod = crs.get_geod() or pyproj.Geod(ellps="WGS84")
    step = 1e-3
    east = geod.inv(0, middle_y, step, middle_y)[2] / step
    north = geod.inv(0, middle_y - step / 2, 0, middle_y + step / 2)[2] / step
    return float(east), float(north)


def _value_range(dataset: Any) -> tuple[float | None, float | None, float]:
    """Lowest and highest value and the share of empty cells, a block at a time."""
    low, high, missing = np.inf, -np.inf, 0
    for _, window in dataset.block_windows(1):
        cells = cell_values(dataset, window)
        known = np.isfinite(cells)
        missing += int(cells.size - known.sum())
        if known.any():
            low = min(low, float(cells[known].min()))
            high = max(high, float(cells[known].max()))
    share = missing / (dataset.width * dataset.height)
    return (low, high, share) if high >= low else (None, None, share)


def cell_values(dataset: Any, window: Window) -> Floats:
    """Elevations of a window with scale and offset applied; NaN where missing."""
    cells = dataset.read(1, window=window, masked=True)
    values = np.ma.filled(cells.astype(np.float64), np.nan)
    scale, offset = dataset.scales[0], dataset.offsets[0]
    if scale != 1 or offset != 0:
        values = values * scale + offset
    return values


def bilinear(dataset: Any, xy: Floats) -> Floats:
    """Values (n,) at points (n, 2) in the raster's own system; NaN where missing or outside.

    One read of the window under the points. Raises TooLargeError over MAX_WINDOW_CELLS.
    """
    return _sampled(dataset, xy)[0]


def sampled(dataset: Any, xy: Floats) -> tuple[Floats, Floats, Floats]:
    """Values as of `bilinear`, the points' column and row (n, 2), and the cells that they were
    found from, (k, 3): column, row and value; a cell as often as it was used."""
    found, places, used = _sampled(dataset, xy)
    if used is None:
        return found, places, np.empty((0, 3))
    cells: Floats = np.stack([*used], axis=2).transpose(1, 0, 2).reshape(-1, 3)
    return found, places, cells


def _sampled(
    dataset: Any, xy: Floats
) -> tuple[Floats, Floats, tuple[Indices, Indices, Floats] | None]:
    """Values and places as of `sampled`; columns, rows and values (4, m) of the cells around the
    points inside, None where no point is."""
    inverse = ~dataset.transform
    x, y = xy[:, 0], xy[:, 1]
    column = inverse.a * x + inverse.b * y + inverse.c - 0.5
    row = inverse.d * x + inverse.e * y + inverse.f - 0.5
    found = np.full(len(xy), np.nan)
    places = np.column_stack([column, row])
    with np.errstate(invalid="ignore"):
        inside = (column >= 0) & (column <= dataset.width - 1)
        inside &= (row >= 0) & (row <= dataset.height - 1)
    if not inside.any():
        return found, places, None
    column, row = _snapped(column[inside]), _snapped(row[inside])
    c0, r0 = np.floor(column).astype(np.intp), np.floor(row).astype(np.intp)
    across, down = column - c0, row - r0
    c1, r1 = c0 + (across > 0), r0 + (down > 0)
    left, top = int(c0.min()), int(r0.min())
    width, height = int(c1.max()) - left + 1, int(r1.max()) - top + 1
    if width * height > MAX_WINDOW_CELLS:
        raise TooLargeError(
            f"The route spans {width * height:,} cells of the raster; at most "
            f"{MAX_WINDOW_CELLS:,} are read. Plan it in parts."
        )
    rows, columns = np.stack([r0, r0, r1, r1]) - top, np.stack([c0, c1, c0, c1]) - left
    z = _picked(dataset, Window(left, top, width, height), rows, columns)
    with np.errstate(invalid="ignore"):
        upper = z[0] * (1 - across) + z[1] * across
        lower = z[2] * (1 - across) + z[3] * across
        found[inside] = upper * (1 - down) + lower * down
    scale, offset = dataset.scales[0], dataset.offsets[0]
    return found * scale + offset, places, (columns + left, rows + top, z * scale + offset)


def _snapped(pixels: Floats) -> Floats:
    """Pixels that lie on a cell's centre but for rounding, put there: a neighbour that weighs
    nothing may be a hole."""
    whole = np.rint(pixels)
    snapped: Floats = np.where(np.abs(pixels - whole) < ON_CENTRE, whole, pixels)
    return snapped


def _picked(dataset: Any, window: Window, rows: Indices, columns: Indices) -> Floats:
    """Raw cells of a window by row and column in it, of their shape; NaN where missing.

    Only the picked cells are held against the file's empty value: to mask the whole window takes
    longer than to read it. A file that carries a mask is asked for that.
    """
    picked = getattr(dataset, "at_cells", None)
    if picked is not None:  # of several tiles: only the blocks that hold these cells are read
        found: Floats = picked(rows + window.row_off, columns + window.col_off)
        return found
    z: Floats = dataset.read(1, window=window)[rows, columns].astype(np.float64)
    return hide_empty(z, dataset, window, (rows, columns))


def hide_empty(z: Floats, dataset: Any, window: Window, picked: Any = ...) -> Floats:
    """Raw cells read from a window, all or those `picked` of it, with NaN where the file says that
    nothing was measured."""
    empty = dataset.nodata
    if MaskFlags.per_dataset in dataset.mask_flag_enums[0]:
        z[dataset.read_masks(1, window=window)[picked] == 0] = np.nan
    elif empty is not None and np.isfinite(empty):
        z[np.abs(z - empty) <= SAME_EMPTY * abs(empty)] = np.nan
    return z


def crs_of(path: Path) -> pyproj.CRS:
    """The coordinate system that a kept raster states."""
    with rasterio.Env(**GDAL_OPTIONS), open_raster(path) as dataset:
        return pyproj_crs(dataset.crs.to_wkt())


@lru_cache(maxsize=64)
def pyproj_crs(wkt: str) -> pyproj.CRS:
    """A file's own coordinate system. Raises FileRefusedError where it names another file.

    A grid of corrections is a path or an address that PROJ would open when it computes with the
    system; `@null` alone is none.
    """
    if ELSEWHERE.search(wkt.replace("+nadgrids=@null", "")):
        raise FileRefusedError(say("bounds.crs_elsewhere"))
    crs = pyproj.CRS.from_wkt(wkt)
    if ELSEWHERE.search(crs.to_wkt("WKT2_2019").replace("+nadgrids=@null", "")):
        raise FileRefusedError(say("bounds.crs_elsewhere"))
    return crs
