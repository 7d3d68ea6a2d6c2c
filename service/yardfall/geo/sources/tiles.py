"""The tiles of an elevation source: which of them lie under a route or a lot, and on what grid."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
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


class Tiles:
    """All tiles of a source, found by place."""

    def __init__(self, name: str, tiles: Iterable[Tile]) -> None:
        self.name = name
        by_crs: dict[str, list[Tile]] = {}
        for tile in tiles:
            by_crs.setdefault(tile.crs, []).append(tile)
        self._by_crs = [
            (pyproj_crs(wkt), its, np.array([tile.reach for tile in its]))
            for wkt, its in by_crs.items()
        ]

    def under(
        self, xy: Floats, crs: pyproj.CRS, margin_m: float = 0.0, pointer: str = "/name"
    ) -> tuple[Tile, ...]:
        """The tiles of one grid that the ground about points (n, 2) is read from, best first.

        Where several grids lie there, one that holds all of it: the newest, then the finest.
        `margin_m` about them may be ground of no tile. Raises InputError at `pointer` where no tile
        lies there, where none of several grids holds all of it, and where tiles that meet differ
        in unit or datum.
        """
        grids = list(self._grids(xy, crs, margin_m))
        if not grids:
            raise InputError.at(pointer, say("sources.none_here", name=self.name))
        whole = [grid for grid in grids if grid.holds_all()] if len(grids) > 1 else grids
        if not whole:
            kinds = {grid.tiles[0].crs for grid in grids}
            code = "sources.seam_crs" if len(kinds) > 1 else "sources.seam_grid"
            raise InputError.at(pointer, say(code, name=self.name))
        found = min(whole, key=lambda grid: grid.rank).tiles
        if len(found) > MOST_TILES:
            raise InputError.at(pointer, say("sources.many_tiles", most=str(MOST_TILES)))
        for what in ("unit", "datum"):
            if len({getattr(tile, what) for tile in found}) > 1:
                raise InputError.at(pointer, say(f"sources.seam_{what}", name=self.name))
        return found

    def _grids(self, xy: Floats, crs: pyproj.CRS, margin_m: float) -> Iterable[_Grid]:
        for own, tiles, bounds in self._by_crs:
            here = transform(xy, crs, own)
            if not np.isfinite(here).all() or not all(is_on_earth(p, own) for p in here):
                continue
            wanted = here.min(axis=0), here.max(axis=0)
            margin = margin_m / np.array(metres_per_unit(own, float(here[:, 1].mean())))
            low, high = wanted[0] - margin, wanted[1] + margin
            meets = (bounds[:, :2] <= high).all(axis=1) & (bounds[:, 2:] >= low).all(axis=1)
            near = [tiles[i] for i in np.flatnonzero(meets)]
            while near:
                same = [tile for tile in near if near[0].same_grid(tile)]
                near = [tile for tile in near if not near[0].same_grid(tile)]
                yield _Grid(_best_first(same), (*wanted[0].tolist(), *wanted[1].tolist()))


@dataclass(frozen=True)
class _Grid:
    """Tiles of one grid, and the rectangle that is wanted of them."""

    tiles: tuple[Tile, ...]
    wanted: tuple[float, float, float, float]

    @property
    def rank(self) -> tuple[object, ...]:
        """Less is better: the newest, then the finest, then by name."""
        first = self.tiles[0]
        newest = tuple(-ord(letter) for letter in first.date.ljust(DAY, "\0"))
        return newest, first.transform[0], first.place

    def holds_all(self) -> bool:
        """Whether tiles lie under all that is wanted, with holes or without."""
        boxes = shapely.box(*np.array([tile.bounds for tile in self.tiles]).T)
        wanted = shapely.box(*self.wanted)
        return bool(shapely.union_all(boxes).covers(wanted))


def _best_first(tiles: Sequence[Tile]) -> tuple[Tile, ...]:
    by_place = sorted(tiles, key=lambda tile: tile.place)
    return tuple(sorted(by_place, key=lambda tile: tile.date, reverse=True))
