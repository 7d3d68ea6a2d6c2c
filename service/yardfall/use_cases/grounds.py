"""The elevations that a request's ground names: an uploaded raster's, or a named source's."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import lru_cache
from pathlib import Path
from sys import intern
from typing import Final

from yardfall.core.errors import InputError, NotFoundError
from yardfall.core.ground.profile import NamedSource
from yardfall.core.request import CellGround, SourceGround
from yardfall.geo.elevations import Elevations, of_raster
from yardfall.geo.raster import RasterFacts
from yardfall.geo.sources.block_cache import BlockCache
from yardfall.geo.sources.far_blocks import FarBlocks
from yardfall.geo.sources.headers import unpacked
from yardfall.geo.sources.source_ground import of_source
from yardfall.geo.sources.tiff_part import Directory
from yardfall.geo.sources.tiles import Tile, Tiles
from yardfall.sentences import say
from yardfall.store.sources import Facts, SourceStore
from yardfall.store.uploads.rasters import RasterRecord, RasterStore

KEPT: Final = 16
ELEVATION: Final = "elevation"


def elevations_of(spec: CellGround, rasters: RasterStore | None, below: str = "") -> Elevations:
    """What opens them. Raises InputError where there is no such raster or source; opening raises it
    at a pointer below the one given."""
    assert rasters is not None, "only ground read by hand is surveyed without rasters"
    if isinstance(spec, SourceGround):
        with _told_as_input("/name"):
            return source_elevations(spec.name, rasters.sources, below + "/name")
    try:
        record = rasters.get(spec.raster)
    except NotFoundError as error:
        raise InputError.at(
            "/raster", f"{error} Upload it first, or pick one of those kept."
        ) from error
    return of_raster(record.path, facts_of(record), spec.vertical_unit, below + "/raster")


def source_elevations(name: str, sources: SourceStore, pointer: str = "/name") -> Elevations:
    """What opens a source's tiles. Raises NotFoundError, UnavailableError."""
    about, tiles = _known(sources, name, sources.state(name))
    if about["kind"] != ELEVATION:
        raise NotFoundError(say("sources.other_kind", name=name))
    if not about["whole"]:
        raise NotFoundError(say("sources.unread", name=name))

    def header(tile: Tile) -> Directory:
        return unpacked(sources.header(name, tile.place))

    return of_source(tiles, stated_of(name, about), header, far_blocks(sources.folder), pointer)


def stated_of(name: str, about: Facts) -> NamedSource:
    """What is told of a source to whoever sees what stands on it."""
    return NamedSource(
        name, about["date"], about["rmse_m"], about["licence"], about["datum"], about["lidar"]
    )


@lru_cache(maxsize=KEPT)
def _known(sources: SourceStore, name: str, _state: object) -> tuple[Facts, Tiles]:
    """What is known of a source, and its tiles, looked up once until it changes."""
    about = sources.about(name)
    tiles = sources.tiles(name) if about["kind"] == ELEVATION else ()
    return about, Tiles(name, (tile_of(place, facts) for place, facts in tiles))


def tile_of(place: str, facts: Facts) -> Tile:
    """A tile as it is kept."""
    return Tile(
        place,
        facts["tag"],
        intern(facts["crs"]),  # thousands of tiles share one text
        tuple(facts["transform"]),
        facts["width"],
        facts["height"],
        facts["unit"],
        facts["datum"],
        facts["date"],
    )


@lru_cache(maxsize=KEPT)
def far_blocks(folder: Path) -> FarBlocks:
    """What this process reads of sources far away."""
    return FarBlocks(BlockCache(folder / "blocks"))


def facts_of(record: RasterRecord) -> RasterFacts:
    """The facts as they were read at upload."""
    facts = dict(record.facts)
    for name in ("bounds", "metres_per_unit", "cell_m"):
        facts[name] = tuple(facts[name])
    named = facts.get("named")
    return RasterFacts(**facts | {"named": None if named is None else NamedSource(**named)})


@contextmanager
def _told_as_input(pointer: str) -> Iterator[None]:
    try:
        yield
    except NotFoundError as error:
        raise InputError.at(pointer, str(error)) from error
