"""What the header of a tile says: where it lies, its grid, unit and datum. No cell is read."""

from __future__ import annotations

import zlib
from functools import lru_cache, partial
from pathlib import Path
from typing import Any

import numpy as np
import rasterio
from rasterio.io import MemoryFile

from yardfall.core.errors import FileRefusedError
from yardfall.geo.geotiff import GDAL_OPTIONS, UNREADABLE, open_raster
from yardfall.geo.raster import pyproj_crs, refuse_structure
from yardfall.geo.sources.tiff_part import Directory, part, read_directory, whole_directory
from yardfall.geo.sources.web_file import Piece, WebFiles
from yardfall.geo.tiff import DAMAGED, check_structure
from yardfall.geo.vertical_unit import stated_unit
from yardfall.sentences import say

Facts = dict[str, Any]
"""Of a tile, as they are kept: `tag`, `crs`, `transform`, `width`, `height`, `unit`, `datum`."""


def local_tag(path: Path) -> str:
    """What names the state of a file here: when it was written, and its size."""
    seen = path.stat()
    return f"{seen.st_mtime_ns} {seen.st_size}"


def local_header(path: Path) -> Facts:
    """Raises FileRefusedError, TooLargeError, OSError."""
    tag = local_tag(path)
    check_structure(path)
    try:
        with rasterio.Env(**GDAL_OPTIONS), open_raster(path) as dataset:
            return {"tag": tag, **_facts(dataset)}
    except UNREADABLE as error:
        raise FileRefusedError(DAMAGED) from error


def web_header(web: WebFiles, address: str) -> tuple[Facts, bytes]:
    """Facts, and the directory packed for later. Raises FileRefusedError, WebFault."""
    pieces: list[Piece] = []

    def read(start: int, stop: int) -> bytes:
        pieces.append(web.read(address, start, stop, pieces[0].tag if pieces else None))
        return pieces[-1].content

    directory = read_directory(read)
    try:
        with (
            rasterio.Env(**GDAL_OPTIONS),
            MemoryFile(part(directory, {})) as memory,
            memory.open(driver="GTiff") as dataset,
        ):
            facts = _facts(dataset)
    except UNREADABLE as error:
        raise FileRefusedError(DAMAGED) from error
    return {"tag": pieces[0].tag, **facts}, zlib.compress(whole_directory(directory), 6)


def unpacked(held: bytes) -> Directory:
    """A directory that was packed."""
    whole = zlib.decompress(held)
    return read_directory(partial(_slice, whole))


def _slice(whole: bytes, start: int, stop: int) -> bytes:
    return whole[start:stop]


def _facts(dataset: Any) -> Facts:
    refuse_structure(dataset)
    t = dataset.transform
    if t.b or t.d or t.a <= 0 or t.e >= 0:
        raise FileRefusedError(say("sources.turned"))
    scale, offset = dataset.scales[0], dataset.offsets[0]
    if not (np.isfinite([scale, offset]).all() and scale):
        raise FileRefusedError(DAMAGED)
    wkt = dataset.crs.to_wkt()
    _require_map(wkt)
    return {
        "crs": wkt,
        "transform": [t.a, t.b, t.c, t.d, t.e, t.f],
        "width": dataset.width,
        "height": dataset.height,
        "unit": stated_unit(dataset.units[0], pyproj_crs(wkt)),
        "datum": _datum(wkt),
    }


@lru_cache(maxsize=64)
def _require_map(wkt: str) -> None:
    crs = pyproj_crs(wkt)
    if not (crs.is_geographic or crs.is_projected):
        raise FileRefusedError(say("sources.no_map"))


@lru_cache(maxsize=64)
def _datum(wkt: str) -> str | None:
    """The name of the system of heights, where the file has one."""
    for its in pyproj_crs(wkt).sub_crs_list:
        if its.is_vertical:
            return str(its.name)
    return None
