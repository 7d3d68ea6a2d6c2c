"""Ground from spot heights: flat triangles between the points (Delaunay), cut along the route.

The triangulation and the interpolation are scipy's (`LinearNDInterpolator`).
"""

from __future__ import annotations

import itertools
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import LinearNDInterpolator
from scipy.spatial import Delaunay, QhullError

from yardfall.core.arrays import Floats
from yardfall.core.errors import GroundGap, InputError
from yardfall.core.ground.fall_around import fall_along_ways
from yardfall.core.ground.profile import FallAround, GroundProfile
from yardfall.core.ground.route import Route, merge_stations

AT_A_CORNER: Final = 1e-9
"""Of an edge: so far beyond its end a line still crosses it, since rounding would miss a corner."""


def from_spots(route: Route, route_xy: Floats, spots: Floats, stations_m: Floats) -> GroundProfile:
    """Ground where the route crosses the triangles' edges, and at `stations_m`.

    `route_xy` (k, 2) are the route's vertices and `spots` (n, 3) the heights in one plane in
    metres. Between crossings the surface along the route is straight, so nothing is missed.
    Raises InputError when the points span no area, GroundGap where the route leaves them.
    """
    triangles = triangulate(spots[:, :2])
    surface = LinearNDInterpolator(triangles, spots[:, 2])
    at_m = merge_stations(stations_m, route.vertex_at_m, _crossings(route, route_xy, triangles))
    xy = np.column_stack([np.interp(at_m, route.vertex_at_m, route_xy[:, k]) for k in (0, 1)])
    elevation_m = surface(xy)
    refuse_holes(at_m, elevation_m, "the route leaves the spot heights")
    return GroundProfile(at_m, elevation_m, "spots", "elevations as given")


def fall_around(
    end_xy: Floats, spots: Floats, cell_m: float, within_m: float, end_m: float
) -> FallAround | None:
    """How the ground falls around the end of a route at `end_xy` (2,), as on a grid of the spots.

    Everything as in `from_spots`; `cell_m` is the grid's spacing.
    """
    surface = LinearNDInterpolator(triangulate(spots[:, :2]), spots[:, 2])

    def elevation_m(cells: Floats) -> Floats:
        return surface(end_xy + cells[:, ::-1] * cell_m)

    return fall_along_ways(elevation_m, cell_m, cell_m, within_m, end_m)


def triangulate(xy: Floats) -> Delaunay:
    """Delaunay triangles of points (n, 2). Raises InputError when they span no area."""
    try:
        return Delaunay(xy)
    except QhullError:
        raise InputError.at(
            "/points",
            "The spot heights span no area: at least three are needed that do not lie on one line.",
        ) from None


def refuse_holes(at_m: Floats, elevation_m: Floats, reason: str) -> None:
    """Raise GroundGap naming each stretch of stations without a finite elevation."""
    missing = ~np.isfinite(elevation_m)
    if not missing.any():
        return
    edges = np.flatnonzero(np.diff(np.concatenate([[0], missing.astype(np.int8), [0]])))
    gaps = tuple(
        (float(at_m[first]), float(at_m[last - 1]))
        for first, last in zip(edges[::2], edges[1::2], strict=True)
    )
    raise GroundGap(gaps, reason)


def _crossings(route: Route, route_xy: Floats, triangles: Delaunay) -> Floats:
    """Stations at which the route crosses an edge of the triangles."""
    corners: NDArray[np.int32] = triangles.simplices
    edges = np.unique(np.sort(corners[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1), axis=0)
    start, along = triangles.points[edges[:, 0]], np.diff(triangles.points[edges], axis=1)[:, 0]
    found = []
    for k, (here, there) in enumerate(itertools.pairwise(route_xy)):
        leg = there - here
        cross = leg[0] * along[:, 1] - leg[1] * along[:, 0]
        gap = start - here
        with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
            on_leg = (gap[:, 0] * along[:, 1] - gap[:, 1] * along[:, 0]) / cross
            on_edge = (gap[:, 0] * leg[1] - gap[:, 1] * leg[0]) / cross
        met = (on_leg > 0) & (on_leg < 1)
        met &= (on_edge >= -AT_A_CORNER) & (on_edge <= 1 + AT_A_CORNER)
        from_m, to_m = route.vertex_at_m[k], route.vertex_at_m[k + 1]
        found.append(from_m + on_leg[met] * (to_m - from_m))
    return np.concatenate(found)
