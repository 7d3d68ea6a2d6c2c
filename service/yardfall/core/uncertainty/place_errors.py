"""Errors of what was read at places: a raster's cells, spot heights."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from yardfall.core.arrays import Floats
from yardfall.core.ground.profile import GroundProfile
from yardfall.core.ground.tin import triangulate
from yardfall.core.uncertainty.accuracy import (
    Accuracy,
    ErrorModel,
    drawn_stations,
    model_of,
    point_errors,
    straight,
)
from yardfall.core.uncertainty.lawns import kinds_of_ground
from yardfall.core.uncertainty.lidar import Cells
from yardfall.core.uncertainty.true_ground import Seen

RETAKEN_M: Final = 2.0
SOURCE: Final = "source "
"""How the label of cells begins that came from a named source."""


def cell_errors(accuracy: Accuracy, ground: GroundProfile, cells: Cells) -> ErrorModel:
    """Errors of a raster's cells, which neighbours share in part.

    A reading to take again stands for the ground at a place, every RETAKEN_M along the route.
    """
    length_m = float(ground.at_m[-1])
    lidars = accuracy.of_cells(length_m)
    if accuracy.certain:
        return point_errors(accuracy, ground, [_pointer(cells.raster)] * len(ground.at_m))
    drawn_m = drawn_stations(ground)
    points_m = straight(ground.at_m, drawn_m, cells.ground_m)
    seen = Seen(
        cells.places_m,
        cells.z_m,
        tuple(lidar.covariance(cells.places_m) for lidar in lidars),
        points_m,
        ground.elevation(drawn_m),
        straight(ground.at_m[cells.between], drawn_m, cells.carry()),
        accuracy.lawns_of_cells,
        np.empty((0, len(cells.z_m))),
        np.empty(0),
        raster=cells.raster,
        lidars=lidars,
    )
    return model_of_cells(accuracy, ground, drawn_m, seen)


def model_of_cells(
    accuracy: Accuracy, ground: GroundProfile, drawn_m: Floats, seen: Seen
) -> ErrorModel:
    """Errors of ground drawn at stations (n,), told for places RETAKEN_M apart."""
    length_m = float(ground.at_m[-1])
    lidars = accuracy.of_cells(length_m)
    count = int(min(max(length_m / RETAKEN_M, 1), len(drawn_m) - 1)) + 1
    at_m = np.linspace(0.0, length_m, count)
    sigma_m = [max(lidar.cell_m for lidar in lidars)] * count
    spread = straight(at_m, drawn_m, np.eye(count))
    pointers = [_pointer(seen.raster)] * count
    return model_of(accuracy, sigma_m, spread, pointers, at_m, drawn_m, seen)


def _pointer(cells_of: str | None) -> str:
    return "/ground/name" if (cells_of or "").startswith(SOURCE) else "/ground/raster"


def spot_errors(
    accuracy: Accuracy,
    ground: GroundProfile,
    spots_xy: Floats,
    spots_z_m: Floats,
    route_xy: Floats,
) -> ErrorModel:
    """An error of its own at each spot height (k, 2), carried by the triangles to points (n, 2)."""
    used, weights = spots_used(spots_xy, route_xy)
    nearest = [
        float(ground.at_m[int(np.argmin(np.hypot(*(route_xy - spots_xy[k]).T)))]) for k in used
    ]
    sigma_m = np.full(len(used), accuracy.of(float(ground.at_m[-1])))
    pointers = [f"/ground/points/{k}" for k in used]
    if not accuracy.lawns:
        return model_of(accuracy, sigma_m, weights, pointers, nearest, ground.at_m)
    drawn_m = np.union1d(ground.at_m, drawn_stations(ground))
    errors = np.diag(sigma_m**2)
    seen = Seen(
        spots_xy[used],
        spots_z_m[used],
        (errors,),
        straight(ground.at_m, drawn_m, route_xy),
        ground.elevation(drawn_m),
        straight(ground.at_m, drawn_m, weights),
        kinds_of_ground(accuracy.lawns),
        errors,
        sigma_m,
    )
    return model_of(accuracy, sigma_m, weights, pointers, nearest, drawn_m, seen)


def spots_used(spots_xy: Floats, route_xy: Floats) -> tuple[NDArray[np.intp], Floats]:
    """The spot heights (k,) that points (n, 2) lie between, and their weights (n, k) there."""
    triangles = triangulate(spots_xy)
    which = triangles.find_simplex(route_xy, tol=1e-9)
    turn = triangles.transform[which]
    two = np.einsum("nij,nj->ni", turn[:, :2], route_xy - turn[:, 2])
    three = np.column_stack([two, 1 - two.sum(axis=1)])
    three[which < 0] = np.nan
    used, place = np.unique(triangles.simplices[which], return_inverse=True)
    weights = np.zeros((len(route_xy), len(used)))
    np.add.at(weights, (np.arange(len(route_xy))[:, None], place.reshape(-1, 3)), three)
    return used.astype(np.intp), weights
