"""The tiles of an elevation source: which of them lie under a route or a lot, and on what grid."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
import pyproj
import shapely

from yardfall.core.arrays import Floats
from yardfall.core.errors import InputError
from yardfall.geo.crs import is_on_earth, transform
from yardfall.geo.raster import metres_per_unit, pyproj_crs
from yardfall.sentences import say

SAME_GRID: Final = 1e-3
"""Cells: tiles whose grids lie so close are of one grid; a millimetre on a metre's cell."""
SAME_CELL: Final = 1e-9
"""Cell sizes that differ by a smaller share are one: over 10,000 cells that is no SAME_GRID."""
BEYOND: Final = 3
"""Cells."""
DAY: Final = len("2026-01-31")
MOST_TILES: Final = 64
"""Under one route or lot."""


@dataclass(frozen=True)
class Tile:
    """A file of elevations. `tag` is what names its state; `place` a path or an address.

    `date` is when the ground was as the file has it (ISO 8601), "" where nobody said.
    """

    place: str
    tag: str
    crs: str
    transform: tuple[float, float, float, float, float, float]
    width: int
    height: int
    unit: str
    datum: str = ""
    date: str = ""

    @property
    def remote(self) -> bool:
        """Whether it lies at an address."""
        return "://" in self.place

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """xmin, ymin, xmax, ymax in its own system."""
        a, _, c, _, e, f = self.transform
        return c, f + e * self.height, c + a * self.width, f

    @property
    def reach(self) -> tuple[float, float, float, float]:
        """Where its cells are asked for: a lot takes some beyond its edge, and bilinear ones."""
        wide, tall = BEYOND * self.transform[0], BEYOND * abs(self.transform[4])
        xmin, ymin, xmax, ymax = self.bounds
        return xmin - wide, ymin - tall, xmax + wide, ymax + tall

    def same_grid(self, other: Tile) -> bool:
        """Whether the cells of both lie on one grid."""
        if self.crs != other.crs:
            return False
        a, _, c, _, e, f = self.transform
        a2, _, c2, _, e2, f2 = other.transform
        if abs(a - a2) > SAME_CELL * a or abs(e - e2) > SAME_CELL * abs(e):
            return False
        off = ((c2 - c) / a, (f2 - f) / e)
        return all(abs(x - round(x)) < SAME_GRID for x in off)

    def offset(self, origin: tuple[float, float]) -> tuple[int, int]:
        """Column and row of its first cell on its grid, counted from a corner of one."""
        a, _, c, _, e, f = self.transform
        return round((c - origin[0]) / a), round((f - origin[1]) / e)


@dataclass(frozen=True)
class Under:
    """Tiles of one grid, best first, and the corner that all of the source's on this grid count
    their cells from."""

    tiles: tuple[Tile, ...]
    origin: tuple[float, float]

    @property
    def rank(self) -> tuple[object, ...]:
        """Less is better: the newest, then the finest, then by name."""
        first = self.tiles[0]
        newest = tuple(-ord(letter) for letter in first.date.ljust(DAY, "\0"))
        return newest, first.transform[0], first.place

    def holds(self, low: Floats, high: Floats) -> bool:
        """Whether tiles lie under all of a rectangle, with holes or without."""
        boxes = shapely.box(*np.array([tile.bounds for tile in self.tiles]).T)
        return bool(shapely.union_all(boxes).covers(shapely.box(*low, *high)))


class _Grid:
    """All tiles of a source on one grid."""

    def __init__(self, tiles: Sequence[Tile]) -> None:
        self.tiles = tiles
        self.crs = pyproj_crs(tiles[0].crs)
        self._reach = np.array([tile.reach for tile in tiles])
        self.origin = min(tile.bounds[0] for tile in tiles), max(tile.bounds[3] for tile in tiles)

    def under(self, low: Floats, high: Floats) -> Under | None:
        """Those that a rectangle is read from."""
        meets = (self._reach[:, :2] <= high).all(axis=1) & (self._reach[:, 2:] >= low).all(axis=1)
        found = [self.tiles[int(i)] for i in np.flatnonzero(meets)]
        return Under(_best_first(found), self.origin) if found else None


class Tiles:
    """All tiles of a source, found by place."""

    def __init__(self, name: str, tiles: Iterable[Tile]) -> None:
        self.name = name
        grids: list[list[Tile]] = []
        for tile in tiles:
            same = next((grid for grid in grids if grid[0].same_grid(tile)), None)
            if same is None:
                grids.append([tile])
            else:
                same.append(tile)
        self._grids = [_Grid(grid) for grid in grids]

    def under(
        self, xy: Floats, crs: pyproj.CRS, margin_m: float = 0.0, pointer: str = "/name"
    ) -> Under:
        """The tiles of one grid that the ground about points (n, 2) is read from.

        Where several grids lie there, one that holds all of it: the newest, then the finest.
        `margin_m` about them may be ground of no tile. Raises InputError at `pointer` where no tile
        lies there, where none of several grids holds all of it, and where tiles that meet differ
        in unit. A system of heights is part of a tile's system, so tiles of one grid share it.
        """
        grids = list(self._about(xy, crs, margin_m))
        if not grids:
            raise InputError.at(pointer, say("sources.none_here", name=self.name))
        whole = [one for one, *wanted in grids if len(grids) == 1 or one.holds(*wanted)]
        if not whole:
            kinds = {one.tiles[0].crs for one, *_ in grids}
            code = "sources.seam_crs" if len(kinds) > 1 else "sources.seam_grid"
            raise InputError.at(pointer, say(code, name=self.name))
        found = min(whole, key=lambda one: one.rank)
        if len(found.tiles) > MOST_TILES:
            raise InputError.at(pointer, say("sources.many_tiles", most=str(MOST_TILES)))
        if len({tile.unit for tile in found.tiles}) > 1:
            raise InputError.at(pointer, say("sources.seam_unit", name=self.name))
        return found

    def _about(
        self, xy: Floats, crs: pyproj.CRS, margin_m: float
    ) -> Iterator[tuple[Under, Floats, Floats]]:
        """The tiles of each grid that has some there, and the rectangle that must be held."""
        for grid in self._grids:
            here = transform(xy, crs, grid.crs)
            if not np.isfinite(here).all() or not all(is_on_earth(p, grid.crs) for p in here):
                continue
            low, high = here.min(axis=0), here.max(axis=0)
            margin = margin_m / np.array(metres_per_unit(grid.crs, float(here[:, 1].mean())))
            found = grid.under(low - margin, high + margin)
            if found is not None:
                yield found, low, high


def _best_first(tiles: Sequence[Tile]) -> tuple[Tile, ...]:
    by_place = sorted(tiles, key=lambda tile: tile.place)
    return tuple(sorted(by_place, key=lambda tile: tile.date, reverse=True))
