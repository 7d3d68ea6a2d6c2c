"""A source of tiles opened for where ground is wanted, and its faults told in sentences."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace

import pyproj

from yardfall.core.arrays import Floats
from yardfall.core.errors import FileRefusedError, UnavailableError
from yardfall.core.ground.profile import NamedSource
from yardfall.core.uncertainty.place_errors import SOURCE
from yardfall.core.units import VERTICAL_UNITS_M
from yardfall.geo.elevations import Elevations, OpenElevations
from yardfall.geo.geotiff import UNREADABLE
from yardfall.geo.raster import metres_per_unit, pyproj_crs
from yardfall.geo.sources.far_blocks import FarBlocks
from yardfall.geo.sources.surface import Header, opened
from yardfall.geo.sources.tiles import Tile, Tiles
from yardfall.geo.sources.web_file import WebFault
from yardfall.sentences import say

SAID: dict[str, str] = {
    "slow": "slow",
    "dead": "dead",
    "busy": "dead",
    "moved": "refused",
    "refused": "refused",
    "changed": "changed",
    "gone": "changed",
}


def of_source(
    tiles: Tiles, stated: NamedSource, header: Header, far: FarBlocks, pointer: str = "/name"
) -> Elevations:
    """Opening raises InputError at `pointer` where there is no one surface, UnavailableError where
    the source fails."""

    @contextmanager
    def its_ground(xy: Floats, crs: pyproj.CRS, margin_m: float) -> Iterator[OpenElevations]:
        under = tiles.under(xy, crs, margin_m, pointer)
        first = under.tiles[0]
        try:
            with opened(under, header, far.within_time()) as surface:
                yield OpenElevations(
                    surface,
                    VERTICAL_UNITS_M[first.unit],
                    _cell_m(under.tiles),
                    f"{SOURCE}{tiles.name} {first.crs} {first.transform[0]:.9g}",
                    _datum(tiles.name, first.datum),
                    surface.corner,
                    replace(stated, date=_dates(under.tiles), vertical_datum=first.datum),
                )
        except WebFault as fault:
            raise UnavailableError(say(f"sources.{SAID[fault.why]}", name=tiles.name)) from fault
        except (*UNREADABLE, FileRefusedError) as error:
            raise UnavailableError(say("sources.damaged", name=tiles.name)) from error

    return its_ground


def _cell_m(tiles: Sequence[Tile]) -> tuple[float, float]:
    """True size of a cell, at the middle of the tiles."""
    low = min(tile.bounds[1] for tile in tiles)
    high = max(tile.bounds[3] for tile in tiles)
    across, down = metres_per_unit(pyproj_crs(tiles[0].crs), (low + high) / 2)
    a, _, _, _, e, _ = tiles[0].transform
    return abs(a * across), abs(e * down)


def _dates(tiles: Sequence[Tile]) -> str:
    """The day that the ground is of, or the first and the last (ISO 8601-1, 5.5)."""
    days = sorted({tile.date for tile in tiles if tile.date})
    return days[0] if len(days) == 1 else f"{days[0]}/{days[-1]}" if days else ""


def _datum(name: str, datum: str) -> str:
    if datum:
        return say("sources.datum_named", name=name, datum=datum)
    return say("sources.datum", name=name)
