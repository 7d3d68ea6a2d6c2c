"""A raster's file opened: as a GeoTIFF and nothing else, with nothing beside it looked at."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

import rasterio
from pyproj.exceptions import ProjError
from rasterio.errors import RasterioError

from yardfall.core.errors import InputError

GDAL_OPTIONS: Final[dict[str, Any]] = {
    "GDAL_PAM_ENABLED": "NO",
    "GDAL_DISABLE_READDIR_ON_OPEN": "EMPTY_DIR",
    "CPL_CURL_ENABLED": "NO",
    "GDAL_CACHEMAX": 64 << 20,  # bytes; by itself a twentieth of the memory, kept for good
}
UNREADABLE: Final = (RasterioError, ProjError, UnicodeDecodeError)
"""What a damaged file raises; the last where its text is none."""
GONE: Final = (
    "The raster can no longer be read; it was deleted a moment ago, or its file is damaged. Upload "
    "it again."
)


def open_raster(path: Path) -> Any:
    """The file as a GeoTIFF and nothing else; a context manager."""
    return rasterio.open(path, driver="GTiff")


@contextmanager
def kept_raster(path: Path, pointer: str) -> Iterator[Any]:
    """A raster that was kept. Raises InputError at `pointer` where it can no longer be read."""
    try:
        with rasterio.Env(**GDAL_OPTIONS), open_raster(path) as dataset:
            yield dataset
    except UNREADABLE as error:
        raise InputError.at(pointer, GONE) from error
