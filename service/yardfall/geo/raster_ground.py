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
from yardfall.geo.geotiff import kept_raster
from yardfall.geo.raster import (
    RasterFacts,
    bilinear,
    pyproj_crs,
    sampled,
    vertical_unit_m,
)

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
    """Ground at every station and at no more than a cell's spacing between; the cells about it.

    Raises InputError when the vertical unit is unknown or contradicted, GroundGap where the
    route runs over a hole or off the raster.
    """
    unit_m = vertical_unit_m(facts, vertical_unit)
    spacing_m = min(facts.cell_m)
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
    if xy is None:
        raise InputError.at("/kind", "A route without a map has no place on a raster.")
    with kept_raster(path, "/raster") as dataset:
        raster_crs = pyproj_crs(dataset.crs.to_wkt())
        values, places, used = sampled(dataset, transform(xy, route_crs, raster_crs))
    elevation_m = values * unit_m
    refuse_holes(at_m, elevation_m, "the raster ends there or has a hole")
    ground = GroundProfile(at_m, elevation_m, "raster", "elevations of the raster")
    cells = _cells_about(places, used, unit_m, facts.cell_m)
    return ground, replace(cells, raster=f"{path.name} {unit_m:g}")


def _cells_about(places: Floats, used: Floats, unit_m: float, cell_m: tuple[float, float]) -> Cells:
    """The cells that the ground at `places` (n, 2) was found from; of a long route, some of them.

    All four about a place are taken, at places spread evenly along the route.
    """
    few = np.unique(np.linspace(0, len(places) - 1, MOST_PLACES).astype(int))
    cells = np.unique(used.reshape(-1, 4, 3)[few].reshape(-1, 3), axis=0)
    return Cells(cells[:, :2] * cell_m, cells[:, 2] * unit_m, places * cell_m, few, cell_m)


def fall_around(
    path: Path,
    facts: RasterFacts,
    route: Route,
    route_crs: pyproj.CRS,
    vertical_unit: str | None,
    within_m: float,
) -> FallAround | None:
    """How the ground falls around a route's end, cell by cell along the ways of a grid.

    A way ends at a hole or the raster's edge.
    """
    if route.xy is None:
        return None
    unit_m = vertical_unit_m(facts, vertical_unit)
    with kept_raster(path, "/raster") as dataset:
        own = pyproj_crs(dataset.crs.to_wkt())
        end, t = transform(route.xy[-1:], route_crs, own)[0], dataset.transform

        def elevation_m(cells: Floats) -> Floats:
            x = end[0] + t.a * cells[:, 1] + t.b * cells[:, 0]
            y = end[1] + t.d * cells[:, 1] + t.e * cells[:, 0]
            return bilinear(dataset, np.column_stack([x, y])) * unit_m

        return fall_along_ways(elevation_m, *facts.cell_m, within_m, route.length_m)
