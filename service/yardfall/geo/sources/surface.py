"""Tiles of one grid read as one surface: what `geo.raster` reads of a file, it reads of this.

Cells are taken as they stand in the tiles, so that a route over several has the very elevations of
a file that holds them all. Where tiles overlap the newer is taken, its holes too: what an older
flight saw there may be gone. Of tiles of the same date the first that has a value is.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from itertools import groupby
from pathlib import Path
from typing import Any

import numpy as np
import rasterio
from affine import Affine
from rasterio.io import MemoryFile
from rasterio.windows import Window

from yardfall.core.arrays import Floats, Mask
from yardfall.geo.geotiff import GDAL_OPTIONS, open_raster
from yardfall.geo.raster import DRY_LAND, hide_empty
from yardfall.geo.sources.headers import local_tag
from yardfall.geo.sources.tiff_part import Cells, Directory, part
from yardfall.geo.sources.tiles import Tile, Under
from yardfall.geo.sources.web_file import WebFault

Fetch = Callable[[Tile, Directory, Collection[int]], dict[int, bytes]]
"""Blocks of a tile far away, by number."""
Header = Callable[[Tile], Directory]


class _Here:
    """A tile that lies on this machine."""

    def __init__(self, tile: Tile, open_until: ExitStack) -> None:
        path = Path(tile.place)
        try:
            if local_tag(path) != tile.tag:
                raise WebFault("changed", f"{path} has changed since it was listed.")
        except OSError as error:
            raise WebFault("gone", f"{path}: {error.strerror}.") from error
        self.dataset = open_until.enter_context(open_raster(path))

    def read(self, window: Window, _rows: Cells | None, _columns: Cells | None) -> Floats:
        z = self.dataset.read(1, window=window).astype(np.float64)
        return hide_empty(z, self.dataset, window)


class _FarAway:
    """A tile at an address, of which the blocks asked for so far are at hand."""

    def __init__(self, tile: Tile, header: Header, fetch: Fetch, open_until: ExitStack) -> None:
        self._tile, self._fetch, self._stack = tile, fetch, open_until
        self._directory = header(tile)
        self._blocks: dict[int, bytes] = {}
        self._open()

    def _open(self) -> None:
        memory = self._stack.enter_context(MemoryFile(part(self._directory, self._blocks)))
        self.dataset = self._stack.enter_context(memory.open(driver="GTiff"))

    def read(self, window: Window, rows: Cells | None, columns: Cells | None) -> Floats:
        if rows is None or columns is None:
            down, across = self._directory.block
            rows, columns = np.meshgrid(
                _steps(window.row_off, window.height, down),
                _steps(window.col_off, window.width, across),
            )
        wanted = self._directory.blocks_of(rows, columns)
        lacking = [number for number in wanted if number not in self._blocks]
        if lacking:
            self._blocks |= self._fetch(self._tile, self._directory, lacking)
            self._open()
        z = self.dataset.read(1, window=window).astype(np.float64)
        return hide_empty(z, self.dataset, window)


def _steps(start: int, length: int, step: int) -> Cells:
    """A cell of each block that so many cells from `start` on lie in."""
    return np.unique(np.r_[np.arange(start, start + length, step), start + length - 1])


class Surface:
    """Tiles of one grid, best first, under a rasterio dataset's own names.

    `corner` is the column and row of its first cell, counted on the grid from a corner that all of
    the source's surfaces on this grid share.
    """

    nodata = None
    mask_flag_enums = ((),)

    def __init__(self, under: Under, parts: Sequence[_Here | _FarAway]) -> None:
        tiles, first = under.tiles, under.tiles[0]
        a, b, _, d, e, _ = first.transform
        west, north = min(t.bounds[0] for t in tiles), max(t.bounds[3] for t in tiles)
        self.transform = Affine(a, b, west, d, e, north)
        self.crs = _Named(first.crs)
        places = [tile.offset((west, north)) for tile in tiles]
        sizes = [(tile.width, tile.height) for tile in tiles]
        self.width = max(c + wide for (c, _), (wide, _) in zip(places, sizes, strict=True))
        self.height = max(r + tall for (_, r), (_, tall) in zip(places, sizes, strict=True))
        self._laid = list(zip(tiles, parts, places, strict=True))
        self.corner = round((west - under.origin[0]) / a), round((north - under.origin[1]) / e)
        scales = {(its.dataset.scales[0], its.dataset.offsets[0]) for its in parts}
        self._scaled = len(scales) > 1
        scale, offset = (1.0, 0.0) if self._scaled else scales.pop()
        self.scales, self.offsets = (scale,), (offset,)

    def read(self, _band: int, window: Window, masked: bool = False) -> Floats:  # noqa: ARG002
        """Cells of a window as they stand in the tiles, NaN where missing."""
        left, top = int(window.col_off), int(window.row_off)
        shape = int(window.height), int(window.width)
        found, open_ = np.full(shape, np.nan), np.ones(shape, dtype=bool)
        for same in self._by_date():
            covered = np.zeros(shape, dtype=bool)
            for tile, its, (column, row) in same:
                c0, r0 = max(column, left), max(row, top)
                c1 = min(column + tile.width, left + shape[1])
                r1 = min(row + tile.height, top + shape[0])
                here = np.s_[r0 - top : r1 - top, c0 - left : c1 - left]
                if c0 >= c1 or r0 >= r1 or not open_[here].any():
                    continue
                z = self._read(its, Window(c0 - column, r0 - row, c1 - c0, r1 - r0), None, None)
                covered[here] = True
                take = open_[here] & np.isnan(found[here])
                found[here][take] = z[take]
            open_ &= ~covered
        return found

    def at_cells(self, rows: Cells, columns: Cells) -> Floats:
        """Cells by row and column, of their shape, as they stand in the tiles; NaN where missing.

        Only the blocks that hold them are asked for.
        """
        found, open_ = np.full(rows.shape, np.nan), np.ones(rows.shape, dtype=bool)
        for same in self._by_date():
            covered: Mask = np.zeros(rows.shape, dtype=bool)
            for tile, its, (column, row) in same:
                r, c = rows - row, columns - column
                inside = (r >= 0) & (r < tile.height) & (c >= 0) & (c < tile.width)
                take = inside & open_ & np.isnan(found)
                covered |= inside
                if not take.any():
                    continue
                r, c = r[take], c[take]
                top, left = int(r.min()), int(c.min())
                window = Window(left, top, int(c.max()) - left + 1, int(r.max()) - top + 1)
                found[take] = self._read(its, window, r, c)[r - top, c - left]
            open_ &= ~covered
        return found

    def _by_date(self) -> Iterator[list[tuple[Tile, _Here | _FarAway, tuple[int, int]]]]:
        for _, same in groupby(self._laid, key=lambda one: one[0].date):
            yield list(same)

    def _read(
        self, its: _Here | _FarAway, window: Window, rows: Cells | None, columns: Cells | None
    ) -> Floats:
        z = its.read(window, rows, columns)
        scale, offset = its.dataset.scales[0], its.dataset.offsets[0]
        low, high = sorted(((DRY_LAND[0] - offset) / scale, (DRY_LAND[1] - offset) / scale))
        with np.errstate(invalid="ignore"):
            z[(z < low) | (z > high)] = np.nan  # an empty value that the file does not state
        return z * scale + offset if self._scaled else z


class _Named:
    """A coordinate system as a dataset has it: by its own text."""

    def __init__(self, wkt: str) -> None:
        self._wkt = wkt

    def to_wkt(self) -> str:
        return self._wkt


@contextmanager
def opened(under: Under, header: Header, fetch: Fetch) -> Iterator[Any]:
    """The surface of these tiles, while it is read. Raises WebFault, rasterio's errors."""
    with rasterio.Env(**GDAL_OPTIONS), ExitStack() as stack:
        parts: list[_Here | _FarAway] = [
            _FarAway(tile, header, fetch, stack) if tile.remote else _Here(tile, stack)
            for tile in under.tiles
        ]
        yield Surface(under, parts)
