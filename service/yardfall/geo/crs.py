"""Coordinate systems a caller may name, and true lengths in them.

Only three forms are taken: `OGC:CRS84`, `EPSG:<integer>` of a projected system, and `local`
for the x, y of a site plan. No other text ever reaches a coordinate library.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Final

import numpy as np
import pyproj
from pyproj.exceptions import CRSError

from yardfall.core.arrays import Floats
from yardfall.core.errors import InputError
from yardfall.core.ground.route import planar_legs
from yardfall.core.request import LOCAL

CRS84: Final = "OGC:CRS84"
NO_PLACE: Final = "Longitude runs from -180 to 180 and latitude from -90 to 90, in that order."
SCALE_MATTERS: Final = 1e-4
"""A map scale off by more than 1 in 10,000 is corrected for."""


@lru_cache(maxsize=64)
def find_crs(name: str) -> pyproj.CRS | None:
    """The coordinate system of a name; None for `local`. Raises InputError for any other text."""
    if name == LOCAL:
        return None
    if name == CRS84:
        return pyproj.CRS.from_string(CRS84)
    match = re.fullmatch(r"EPSG:([0-9]{4,6})", name)
    try:
        crs = pyproj.CRS.from_epsg(int(match.group(1))) if match else None
    except CRSError:
        crs = None
    if crs is None or not crs.is_projected:
        raise InputError.at(
            "/crs",
            f"{name!r} is not a coordinate system this route can use. Give OGC:CRS84 for "
            "longitude and latitude, EPSG:<number> of a projected system, or local.",
        )
    return crs


@lru_cache(maxsize=64)
def transformer(from_wkt: str, to_wkt: str) -> pyproj.Transformer:
    """Transformer in x, y order between two systems given as WKT of our own making."""
    return pyproj.Transformer.from_crs(
        pyproj.CRS.from_wkt(from_wkt), pyproj.CRS.from_wkt(to_wkt), always_xy=True
    )


def transform(xy: Floats, here: pyproj.CRS, there: pyproj.CRS) -> Floats:
    """Points (n, 2) from one system to another; not finite where it does not reach."""
    if here == there:
        return xy
    return np.column_stack(transformer(here.to_wkt(), there.to_wkt()).transform(xy[:, 0], xy[:, 1]))


def unit_m(crs: pyproj.CRS) -> float:
    """Metres in one unit of a projected system."""
    return float(crs.axis_info[0].unit_conversion_factor)


def leg_lengths_m(xy: Floats, crs: pyproj.CRS | None, local_unit_m: float) -> Floats:
    """True horizontal length of each leg (k - 1,) of a line (k, 2).

    Geographic: geodesic on the system's ellipsoid (`pyproj.Geod`). Local: planar. Projected:
    planar, unless that leg's map scale differs from 1 by more than 1 in 10,000; then the
    geodesic, which is the planar length over the scale.
    Raises InputError for coordinates outside the system.
    """
    if crs is None:
        return planar_legs(xy) * local_unit_m
    if crs.is_geographic:
        outside = np.flatnonzero((np.abs(xy[:, 0]) > 180) | (np.abs(xy[:, 1]) > 90))
        if outside.size:
            raise InputError.at(
                f"/line/coordinates/{int(outside[0])}",
                NO_PLACE,
            )
        return _geodesic_m(xy, crs)
    flat_m = planar_legs(xy) * unit_m(crs)
    lonlat = transform(xy, crs, geodetic(crs))
    outside = np.flatnonzero(~np.isfinite(lonlat).all(axis=1))
    if outside.size:
        raise InputError.at(
            f"/line/coordinates/{int(outside[0])}",
            "This point lies outside the area where its coordinate system can be used.",
        )
    true_m = _geodesic_m(lonlat, crs)
    off = np.abs(flat_m - true_m) > SCALE_MATTERS * true_m
    return np.where(off, true_m, flat_m)


def geodetic(crs: pyproj.CRS) -> pyproj.CRS:
    """Longitude and latitude on the datum of a projected system."""
    base = crs.geodetic_crs
    if base is None:
        raise InputError.at("/crs", "This coordinate system states no datum.")
    return base


def to_plane_m(xy: Floats, crs: pyproj.CRS | None, local_unit_m: float, origin: Floats) -> Floats:
    """Points (n, 2) in metres on a plane; longitudes and latitudes about `origin` (2,)."""
    if crs is None:
        return xy * local_unit_m
    if not crs.is_geographic:
        return xy * unit_m(crs)
    return transform(xy, crs, _plane_about(origin))


def from_plane_m(
    xy_m: Floats, crs: pyproj.CRS | None, local_unit_m: float, origin: Floats
) -> Floats:
    """The inverse of `to_plane_m`."""
    if crs is None:
        return xy_m / local_unit_m
    if not crs.is_geographic:
        return xy_m / unit_m(crs)
    return transform(xy_m, _plane_about(origin), crs)


def is_on_earth(point: Floats, crs: pyproj.CRS | None) -> bool:
    """Whether a point (2,) can be one of a system: degrees have ends."""
    return crs is None or not crs.is_geographic or _has_place(point)


def _has_place(point: Floats) -> bool:
    return bool(abs(point[0]) <= 180 and abs(point[1]) <= 90)


def _plane_about(origin: Floats) -> pyproj.CRS:
    if not _has_place(origin):
        raise InputError.at("/crs", NO_PLACE)
    return pyproj.CRS.from_dict(
        {"proj": "aeqd", "lon_0": float(origin[0]), "lat_0": float(origin[1]), "ellps": "WGS84"}
    )


def _geodesic_m(lonlat: Floats, crs: pyproj.CRS) -> Floats:
    geod = crs.get_geod() or pyproj.Geod(ellps="WGS84")
    ends = (lonlat[:-1, 0], lonlat[:-1, 1], lonlat[1:, 0], lonlat[1:, 1])
    return np.asarray(geod.inv(*ends)[2])


def to_lonlat(xy: Floats, crs: pyproj.CRS) -> Floats:
    """Points (n, 2) of a system as longitudes and latitudes on WGS 84."""
    return transform(xy, crs, pyproj.CRS.from_string(CRS84))
