"""What the named sources have at one place: the ground there, the lot, the buildings on it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import pyproj
import shapely
from shapely.geometry.base import BaseGeometry

from yardfall.core.errors import InputError, NotFoundError, UnavailableError
from yardfall.core.ground.profile import NamedSource
from yardfall.geo.crs import CRS84, find_crs, is_on_earth, to_lonlat, transform
from yardfall.geo.raster import bilinear, pyproj_crs
from yardfall.sentences import say
from yardfall.store.sources import Facts, SourceStore
from yardfall.use_cases.grounds import ELEVATION, source_elevations, stated_of

LOTS: Final = "lots"
BUILDINGS: Final = "buildings"
MOST_NEAR: Final = 500
"""Shapes of one source about a place that are looked at."""
DEGREE_M: Final = 111_320.0
"""Of latitude, near enough to tell a building on a lot from one that touches it."""
TOUCHES_M2: Final = 0.05
"""Less ground shared is a line that two surveys drew a little differently."""
MOST_CORNERS: Final = 50_000
"""Of all shapes of one answer."""


@dataclass(frozen=True)
class GroundHere:
    """The ground at a place by one source; None where its tiles have a hole. `fault` is why the
    source could not be asked."""

    source: NamedSource
    elevation_m: float | None = None
    cell_m: tuple[float, float] | None = None
    fault: str = ""


@dataclass(frozen=True)
class OutlineHere:
    """A lot or a building: its source's kind and name, its id there, its shape, and its bounds in
    degrees whatever system the shape is in."""

    kind: str
    source: NamedSource
    id: str
    shape: BaseGeometry
    bounds: tuple[float, float, float, float]


def whole_sources(store: SourceStore) -> list[tuple[str, Facts]]:
    """Every source that was read to its end, by name."""
    found = []
    for name in store.names():
        try:
            about = store.about(name)
        except (NotFoundError, UnavailableError):  # removed, or being made, this moment
            continue
        if about.get("whole"):
            found.append((name, about))
    return found


def place_at(x: float, y: float, crs: str) -> tuple[float, float]:
    """Longitude and latitude of a point in a projected system. Raises InputError at /crs where it
    does not reach, or there is none."""
    here = find_crs(crs)
    assert here is not None, "local is none of those that a place is asked in"
    place = to_lonlat(np.array([[x, y]]), here)[0]
    if not np.isfinite(place).all() or not is_on_earth(place, pyproj.CRS.from_string(CRS84)):
        raise InputError.at("/crs", say("sources.crs_elsewhere"))
    return float(place[0]), float(place[1])


def ground_at(store: SourceStore, lon: float, lat: float) -> list[GroundHere]:
    """The ground at a place by each source that has tiles there, the finest cells first, of equally
    fine ones the newest."""
    at, crs = np.array([[lon, lat]]), pyproj.CRS.from_string(CRS84)
    found = []
    for name, about in whole_sources(store):
        if about["kind"] != ELEVATION or not _may_hold(about["bounds"], lon, lat):
            continue
        try:
            with source_elevations(name, store)(at, crs, 0.0) as its:
                own = pyproj_crs(its.dataset.crs.to_wkt())
                z_m = float(bilinear(its.dataset, transform(at, crs, own))[0]) * its.unit_m
        except UnavailableError as error:
            found.append(GroundHere(stated_of(name, about), fault=str(error)))
        except (InputError, NotFoundError):  # no tile there
            continue
        else:
            assert its.source is not None
            elevation_m = z_m if np.isfinite(z_m) else None
            found.append(GroundHere(its.source, elevation_m, its.cell_m))
    newest = sorted(found, key=lambda one: one.source.date, reverse=True)
    return sorted(newest, key=lambda one: min(one.cell_m or (np.inf,)))


def _may_hold(bounds: list[float], lon: float, lat: float) -> bool:
    """By bounds in longitude and latitude, which a map's straight edges may leave a little."""
    west, south, east, north = bounds
    wide, tall = (east - west) / 20 + 1e-3, (north - south) / 20 + 1e-3
    return west - wide <= lon <= east + wide and south - tall <= lat <= north + tall


def lot_at(
    store: SourceStore, lon: float, lat: float, crs: pyproj.CRS | None = None
) -> list[OutlineHere]:
    """The lot at a place, the smallest of those that hold it, and the buildings on it, in `crs`.

    Empty where no source has a lot there. A building counts that shares ground with the lot.
    """
    sources, place = whole_sources(store), shapely.Point(lon, lat)
    lots = [one for one in _outlines(store, sources, LOTS, place) if one.shape.covers(place)]
    if not lots:
        return []
    lot = min(lots, key=lambda one: one.shape.area)
    found, corners = [lot], shapely.get_num_coordinates(lot.shape)
    ground = shapely.make_valid(lot.shape)
    degree_m2 = DEGREE_M**2 * float(np.cos(np.radians(lat)))
    for one in _outlines(store, sources, BUILDINGS, lot.shape):
        corners += shapely.get_num_coordinates(one.shape)
        shared = shapely.make_valid(one.shape).intersection(ground)
        if shared.area * degree_m2 > TOUCHES_M2 and corners <= MOST_CORNERS:
            found.append(one)
    return found if crs is None else [_moved(one, crs) for one in found]


def _moved(outline: OutlineHere, crs: pyproj.CRS) -> OutlineHere:
    """The same in another system. Raises InputError where that does not reach."""
    here = pyproj.CRS.from_string(CRS84)
    shape = shapely.transform(outline.shape, lambda xy: transform(xy, here, crs))
    if not np.isfinite(shapely.get_coordinates(shape)).all():
        raise InputError.at("/crs", say("sources.crs_elsewhere"))
    return replace(outline, shape=shape)


def _outlines(
    store: SourceStore, sources: list[tuple[str, Facts]], kind: str, about: BaseGeometry
) -> list[OutlineHere]:
    found = []
    for name, facts in sources:
        if facts["kind"] != kind:
            continue
        stated = stated_of(name, facts)
        for key, wkb in store.outlines_in(name, about.bounds, MOST_NEAR):
            shape = shapely.from_wkb(wkb)
            found.append(OutlineHere(kind, stated, key, shape, shape.bounds))
    return found
