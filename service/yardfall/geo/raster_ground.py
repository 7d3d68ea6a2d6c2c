"""The ground along a route over a raster, and around its end."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Final

import numpy as np
import pyproj

from yardfall.core.arrays import Floats
from yardfall.core.errors import InputError, TooLargeError
from yardfall.core.ground.fall_around import fall_along_ways
from yardfall.core.ground.profile import FallAround, GroundProfile
from yardfall.core.ground.route import Route, merge_stations
from yardfall.core.ground.tin import refuse_holes
from yardfall.core.uncertainty.lidar import Cells
from yardfall.geo.crs import transform
from yardfall.geo.elevations import Elevations, of_raster
from yardfall.geo.raster import RasterFacts, bilinear, pyproj_crs, sampled

MAX_SAMPLES: Final = 50_000
MOST_PLACES: Final = 150
"""Places along a route whose cells the true ground is drawn from."""


def ground_from_raster(
    path: Path,
    facts: RasterFacts,
    route: Route,
    route_crs: pyproj.CRS,
    stations_m: Floats,
    vertical_unit: str | None,
) -> tuple[GroundProfile, Cells]:
    """`ground_over` an uploaded raster. Raises InputError too when its vertical unit is unknown or
    contradicted."""
    return ground_over(of_raster(path, facts, vertical_unit), route, route_crs, stations_m)


def ground_over(
    elevations: Elevations,
    route: Route,
    route_crs: pyproj.CRS,
    stations_m: Floats,
    margin_m: float = 0.0,
) -> tuple[GroundProfile, Cells]:
    """Ground at every station and at no more than a cell's spacing between; the cells about it.

    `margin_m` is how far about the route ground will be asked for. Raises GroundGap where the
    route runs over a hole or off the elevations.
    """
    if route.xy is None:
        raise InputError.at("/kind", "A route without a map has no place on a raster.")
    with elevations(route.xy, route_crs, margin_m) as its:
        at_m, xy = _dense(route, stations_m, min(its.cell_m))
        there = pyproj_crs(its.dataset.crs.to_wkt())
        values, places, used = sampled(its.dataset, transform(xy, route_crs, there))
    elevation_m = values * its.unit_m
    refuse_holes(at_m, elevation_m, "the raster ends there or has a hole")
    ground = GroundProfile(at_m, elevation_m, "raster", its.datum, named=its.source)
    if any(its.corner):
        places, used = places + its.corner, used + np.array([*its.corner, 0.0])
    cells = _cells_about(places, used, its.unit_m, its.cell_m)
    return ground, replace(cells, raster=its.label)


def _dense(route: Route, stations_m: Floats, spacing_m: float) -> tuple[Floats, Floats]:
    """Stations (n,), no further apart than asked, and their points (n, 2)."""
    legs_m = np.diff(route.vertex_at_m)
    counts = np.ceil(legs_m / spacing_m).astype(np.int64) + 1
    if counts.sum() > MAX_SAMPLES:
        raise TooLargeError(
            f"The route crosses {int(counts.sum()):,} cells; at most {MAX_SAMPLES:,} are sampled."
        )
    dense = [
        np.linspace(a, b, n)
        for a, b, n in zip(route.vertex_at_m[:-1], route.vertex_at_m[1:], counts, strict=True)
    ]
    at_m = merge_stations(stations_m, *dense)
    xy = route.position(at_m)
    assert xy is not None
    return at_m, xy


def _cells_about(places: Floats, used: Floats, unit_m: float, cell_m: tuple[float, float]) -> Cells:
    """The cells that the ground at `places` (n, 2) was found from; of a long route, some of them.

    All four about a place are taken, at places spread evenly along the route.
    """
    few = np.unique(np.linspace(0, len(places) - 1, MOST_PLACES).astype(int))
    cells = np.unique(used.reshape(-1, 4, 3)[few].reshape(-1, 3), axis=0)
    return Cells(cells[:, :2] * cell_m, cells[:, 2] * unit_m, places * cell_m, few, cell_m)


def fall_around(
    elevations: Elevations, route: Route, route_crs: pyproj.CRS, within_m: float
) -> FallAround | None:
    """How the ground falls around a route's end, cell by cell along the ways of a grid.

    A way ends at a hole or where the elevations do.
    """
    if route.xy is None:
        return None
    with elevations(route.xy, route_crs, within_m) as its:
        dataset, unit_m = its.dataset, its.unit_m
        own = pyproj_crs(dataset.crs.to_wkt())
        end, t = transform(route.xy[-1:], route_crs, own)[0], dataset.transform

        def elevation_m(cells: Floats) -> Floats:
            x = end[0] + t.a * cells[:, 1] + t.b * cells[:, 0]
            y = end[1] + t.d * cells[:, 1] + t.e * cells[:, 0]
            return bilinear(dataset, np.column_stack([x, y])) * unit_m

        return fall_along_ways(elevation_m, *its.cell_m, within_m, route.length_m)
