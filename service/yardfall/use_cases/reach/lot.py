"""The lot of a request, and what on it lies beside holes, about its start, and how far off."""

from __future__ import annotations

from typing import Final

import numpy as np
from scipy.ndimage import binary_dilation, label

from yardfall.core.arrays import Floats, Mask
from yardfall.core.errors import InputError, under
from yardfall.core.reach.field import Seeds
from yardfall.core.reach.grid import row_and_column
from yardfall.core.reach.request import ReachRequest
from yardfall.core.request import CellGround, SpotGround
from yardfall.geo.crs import NO_PLACE, find_crs, is_on_earth
from yardfall.geo.search_grid import Lot, raster_lot, spot_lot
from yardfall.store.uploads.rasters import RasterStore
from yardfall.use_cases.grounds import elevations_of

SEED_CELLS: Final = 2
"""The start reaches points up to this many cells away straight."""


def lot_of(request: ReachRequest, rasters: RasterStore) -> Lot:
    """The ground of the lot."""
    plan, start = request.plan, np.array(request.start)
    route = plan.survey.route
    crs = find_crs(route.crs)
    if not is_on_earth(start, crs):
        raise InputError.at("/start/point", NO_PLACE)
    corners = None
    if request.within:
        corners = np.vstack([ring for shape in request.within for ring in shape.rings])
    spec = plan.survey.ground
    if isinstance(spec, SpotGround):
        with under("/ground"):
            return spot_lot(spec.xy, spec.z_m, crs, route.local_unit_m, start, corners)
    if not isinstance(spec, CellGround) or crs is None:
        raise InputError.at(
            "/crs", "A raster lies on the map: give OGC:CRS84 or EPSG:<number>, not local."
        )
    wanted = None if corners is None else np.vstack([corners, start[None]])
    with under("/ground"):
        elevations = elevations_of(spec, rasters, "/ground")
    return raster_lot(elevations, crs, start, wanted, request.radius_m)


def beside_holes(lot: Lot) -> Mask:
    """Known points beside a hole in the ground.

    Ground between points is known only where all four about it are: a way that keeps a point off
    a hole can be pulled straight there.
    """
    known = lot.grid.known
    if known.all():
        return np.zeros(known.shape, dtype=bool)
    beside: Mask = binary_dilation(~known, np.ones((3, 3), dtype=bool)) & known
    return beside


def past_holes(lot: Lot, closed: Mask, start: Floats, seeds: Seeds) -> Mask:
    """Known points that ways would lead to, past all that is `closed`, were the holes ground.

    A way through a corner alone does not count.
    """
    if lot.grid.known.all():
        return np.zeros_like(closed)
    parts, _ = label(~closed)
    row, column = row_and_column(lot.grid, seeds.at)
    if not len(row):
        row, column, _ = lot.grid.nearest(start[None])
    found: Mask = np.isin(parts, parts[row, column]) & ~closed & lot.grid.known
    return found


def about(lot: Lot, start: Floats) -> Mask:
    """Points about the start, which open where holes leave it no other way."""
    rows, columns = lot.grid.known.shape
    row, column, _ = lot.grid.nearest(start[None])
    down, across = np.ogrid[:rows, :columns]
    near: Mask = (abs(down - row[0]) <= SEED_CELLS) & (abs(across - column[0]) <= SEED_CELLS)
    return near


def distance_m(lot: Lot, start: Floats) -> Floats:
    """From the start to each point (rows, columns)."""
    rows, columns = lot.grid.z_m.shape
    x, y = np.arange(columns) * lot.grid.dx_m, np.arange(rows) * lot.grid.dy_m
    distance_m: Floats = np.hypot(x[None] - start[0], y[:, None] - start[1])
    return distance_m
