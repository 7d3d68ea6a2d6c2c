"""An invented ground on a metre's grid, whole and cut into tiles."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import rasterio
from rasterio.transform import from_origin

CRS = "EPSG:26915"
WEST, NORTH = 429_000.0, 5_151_000.0
SIZE = 256
"""Cells of a tile's side, in blocks of 64."""
EMPTY = -9999.0


def ground(rows: int = 2 * SIZE, columns: int = 2 * SIZE) -> np.ndarray:
    """Metres: it falls to the south-east, with waves."""
    down, across = np.mgrid[0:rows, 0:columns].astype(float)
    z = 250 - 0.02 * down - 0.013 * across + 0.15 * np.sin(across / 9) * np.cos(down / 13)
    return z.astype(np.float32)


def write(path: Path, z: np.ndarray, column: int = 0, row: int = 0, **more: Any) -> Path:
    """Cells as a tile whose first lies at a column and row of the whole."""
    cell = more.pop("cell", 1.0)
    unit = more.pop("unit", "m")
    west, north = more.pop("corner", (WEST, NORTH))
    profile = {
        "driver": "GTiff",
        "width": z.shape[1],
        "height": z.shape[0],
        "count": 1,
        "dtype": z.dtype,
        "nodata": EMPTY,
        "crs": CRS,
        "transform": from_origin(west + column * cell, north - row * cell, cell, cell),
        "tiled": True,
        "blockxsize": 64,
        "blockysize": 64,
        "compress": "deflate",
        "predictor": 3,
    } | more
    path.parent.mkdir(parents=True, exist_ok=True)
    with rasterio.open(path, "w", **profile) as out:
        out.write(z, 1)
        if unit:
            out.units = (unit,)
    return path


def four(folder: Path, **more: Any) -> tuple[Path, Path]:
    """A folder of four tiles, and one file that holds what they hold."""
    z = ground()
    for row in (0, SIZE):
        for column in (0, SIZE):
            its = z[row : row + SIZE, column : column + SIZE]
            write(folder / "tiles" / f"{row}_{column}.tif", its, column, row, **more)
    return folder / "tiles", write(folder / "whole.tif", z, **more)
