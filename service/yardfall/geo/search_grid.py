"""A lot's ground as a grid, and the shapes in it: where the pipe may go, and areas drawn back.

A lot's plane is the grid's: metres from its first point along its columns and rows. Only the window
of a raster that the lot needs is read.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
import pyproj
import shapely
from affine import Affine
from numpy.typing import NDArray
from rasterio.features import rasterize
from rasterio.features import shapes as outlines
from rasterio.windows import Window
from scipy.interpolate import LinearNDInterpolator
from scipy.spatial import Delaunay
from shapely.geometry import shape as shape_of
from shapely.geometry.base import BaseGeometry

from yardfall.core import deadline
from yardfall.core.arrays import Floats, Indices, Mask
from yardfall.core.errors import InputError, TooLargeError
from yardfall.core.ground.profile import NamedSource
from yardfall.core.ground.tin import triangulate
from yardfall.core.reach.grid import Grid
from yardfall.core.reach.request import Shape
from yardfall.core.reach.triangles import NO_TRIANGLES, Triangles
from yardfall.geo.crs import from_plane_m, leg_lengths_m, to_plane_m, transform
from yardfall.geo.elevations import Elevations
from yardfall.geo.raster import cell_values, metres_per_unit, pyproj_crs
from yardfall.sentences import say

MAX_LOT_CELLS: Final = 2_000_000
"""Searching so many takes 7 to 13 s of processor time and 600 MiB."""
SPOT_CELL_M: Final = 0.5
MOST_SPOT_CELLS: Final = 60_000
SKEWED: Final = 1e-3
STEPS_TIMED: Final = 20
MOST_CORNERS: Final = 400_000
"""Of areas in one collection, each of 25 bytes in an answer."""


@dataclass(frozen=True, eq=False)
class Lot:
    """Ground on a grid, and how its plane lies in the caller's coordinates `crs`.

    `to_own` takes a point of the plane to the ground's own system (a raster's, or metres about
    `origin` for spots). `spots` are the three spot heights (cells, 3) that each cell lies
    between, and their weights (cells, 3), NaN outside them all; `surface` and `triangles` are the
    ground between the spot heights everywhere, in metres about `origin` and in the plane. `named`
    is the source that the elevations came from, of those that whoever runs the planner named.
    """

    grid: Grid
    crs: pyproj.CRS | None
    local_unit_m: float
    to_own: Affine
    own: pyproj.CRS | None
    origin: Floats
    spots: tuple[Indices, Floats] | None = None
    spots_m: Floats | None = None
    surface: LinearNDInterpolator | None = None
    triangles: Triangles = NO_TRIANGLES
    named: NamedSource | None = None

    def ground_m(self, plane: Floats) -> Floats:
        """The ground (n,) at points (n, 2) of the plane as a plan has it there, NaN where it is not
        known: between spot heights on their triangles, between cells bilinear."""
        if self.surface is None:
            return self.grid.ground_m(plane)
        low = np.array([self.to_own.c, self.to_own.f])
        found: Floats = self.surface(plane + low)
        return found

    def to_plane(self, xy: Floats) -> Floats:
        """Points (n, 2) of the caller's in the plane."""
        own = self._in_own(xy)
        back = ~self.to_own
        own = np.where(np.isfinite(own), own, np.nan)
        return np.column_stack(
            [
                back.a * own[:, 0] + back.b * own[:, 1] + back.c,
                back.d * own[:, 0] + back.e * own[:, 1] + back.f,
            ]
        )

    def to_map(self, plane: Floats) -> Floats:
        """Points (n, 2) of the plane in the caller's coordinates."""
        t = self.to_own
        own = np.column_stack(
            [
                t.a * plane[:, 0] + t.b * plane[:, 1] + t.c,
                t.d * plane[:, 0] + t.e * plane[:, 1] + t.f,
            ]
        )
        if self.own is not None and self.crs is not None:
            return transform(own, self.own, self.crs)
        return from_plane_m(own, self.crs, self.local_unit_m, self.origin)

    def _in_own(self, xy: Floats) -> Floats:
        if self.own is not None and self.crs is not None:
            return transform(xy, self.crs, self.own)
        return to_plane_m(xy, self.crs, self.local_unit_m, self.origin)

    def spot_ground(self, z_m: Floats) -> Floats:
        """The grid's ground (rows, columns) were the spot heights these."""
        assert self.spots is not None
        corners, weights = self.spots
        ground: Floats = (z_m[corners] * weights).sum(axis=1).reshape(self.grid.z_m.shape)
        return ground

    def spots_on_grid(self) -> tuple[Indices, Indices]:
        """Row and column of the point nearest to each spot height."""
        assert self.spots_m is not None
        row, column, _ = self.grid.nearest(self.spots_m)
        rows, columns = self.grid.z_m.shape
        return np.clip(row, 0, rows - 1), np.clip(column, 0, columns - 1)

    @property
    def transform(self) -> Affine:
        """From column and row of a cell's corner to the plane."""
        dx, dy = self.grid.dx_m, self.grid.dy_m
        return Affine(dx, 0, -dx / 2, 0, dy, -dy / 2)


def raster_lot(
    elevations: Elevations,
    crs: pyproj.CRS,
    start: Floats,
    corners: Floats | None,
    radius_m: float,
) -> Lot:
    """The cells around the lot's corners (n, 2), or within `radius_m` of the start, in `crs`.

    Raises InputError where they lie off the elevations, TooLargeError for more than MAX_LOT_CELLS.
    """
    if corners is None:
        far = radius_m / np.array(metres_per_unit(crs, float(start[1])))
        about = np.array([start - far, start + far])
    else:
        about = np.vstack([corners, start[None]])
    with elevations(about, crs, 0.0) as its:
        dataset = its.dataset
        own = pyproj_crs(dataset.crs.to_wkt())
        t = dataset.transform
        if abs(t.a * t.b + t.d * t.e) > SKEWED * np.hypot(t.a, t.d) * np.hypot(t.b, t.e):
            raise InputError.at("/ground/raster", "The raster's rows and columns are not square.")
        place = transform(start[None], crs, own)[0]
        dx, dy = _spacing_m(own, t, place)
        if corners is None:
            far = np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * radius_m / [dx, dy]
            at = _pixel(t, place[None]) + far
        else:
            at = np.vstack([_pixel(t, transform(corners, crs, own)), _pixel(t, place[None])])
        if not np.isfinite(at).all():
            raise InputError.at("/crs", "These coordinates do not lie where the raster does.")
        low = np.maximum(np.floor(at.min(axis=0)) - 1, 0).astype(int)
        size = np.array([dataset.width, dataset.height])
        high = np.minimum(np.ceil(at.max(axis=0)) + 2, size).astype(int)
        if (high - low < 1).any():
            raise InputError.at("/start/point", "The start lies off the raster.")
        wide, tall = (int(v) for v in high - low)
        if wide * tall > MAX_LOT_CELLS:
            cells, most = f"{wide * tall:,}", f"{MAX_LOT_CELLS:,}"
            times = f"{coarser(wide, tall):g}"
            raise TooLargeError(say("bounds.lot_cells", cells=cells, most=most, times=times))
        z_m = cell_values(dataset, Window(int(low[0]), int(low[1]), wide, tall)) * its.unit_m
    to_own = t @ Affine.translation(low[0] + 0.5, low[1] + 0.5) @ Affine.scale(1 / dx, 1 / dy)
    return Lot(Grid(z_m, dx, dy), crs, 1.0, to_own, own, place, named=its.source)


def coarser(wide: int, tall: int) -> float:
    """How many times as wide the cells of a lot must be for it to be searched, to a tenth.

    Beside the lot four rows and columns are read at the most, as wide as the cells are then.
    """
    tenths = math.ceil(10 * math.sqrt(wide * tall / MAX_LOT_CELLS))
    while (wide * 10 / tenths + 4) * (tall * 10 / tenths + 4) > MAX_LOT_CELLS:
        tenths += 1
    return tenths / 10


def spot_lot(
    xy: Floats,
    z_m: Floats,
    crs: pyproj.CRS | None,
    local_unit_m: float,
    start: Floats,
    corners: Floats | None,
) -> Lot:
    """The triangulated surface between spot heights (n, 2), as a grid of its own.

    Points SPOT_CELL_M apart, or further where that makes more than MOST_SPOT_CELLS. The last of
    them lie on the far edge or beyond it, so that every place of the lot has a point near it.
    """
    plane = to_plane_m(xy, crs, local_unit_m, start)
    if not np.isfinite(plane).all():
        raise InputError.at("/points", "These spot heights do not lie where the coordinates can.")
    kept, edge = plane, None
    if corners is not None:
        edge = to_plane_m(corners, crs, local_unit_m, start)
    if edge is not None and np.isfinite(edge).all():
        kept = np.clip(plane, edge.min(axis=0), edge.max(axis=0))
    low = kept.min(axis=0)
    wide, tall = kept.max(axis=0) - low
    cell_m = max(SPOT_CELL_M, float(np.sqrt(wide * tall / MOST_SPOT_CELLS)), max(wide, tall) / 2000)
    rows, columns = (int(np.ceil(side / cell_m - 1e-9)) for side in (tall, wide))
    shape = (rows + 1, columns + 1)
    down, across = np.mgrid[0 : shape[0], 0 : shape[1]]
    grid = Grid(np.full(shape, np.nan), cell_m, cell_m)
    triangles = triangulate(plane)  # as a plan does: of four points on a circle it is a toss
    between = _between(triangles, grid.xy(down.ravel(), across.ravel()) + low)
    lot = Lot(
        grid,
        crs,
        local_unit_m,
        Affine.translation(*low),
        None,
        start,
        between,
        plane - low,
        LinearNDInterpolator(triangles, z_m),
        Triangles.of(triangles.simplices, plane - low, z_m),
    )
    return replace(lot, grid=grid.on(lot.spot_ground(z_m)))


def _between(triangles: Delaunay, xy: Floats) -> tuple[Indices, Floats]:
    """The triangle's corners (n, 3) around each point (n, 2), and barycentric weights (n, 3)."""
    which = triangles.find_simplex(xy, tol=1e-9)
    turn = triangles.transform[which]
    two = np.einsum("nij,nj->ni", turn[:, :2], xy - turn[:, 2])
    weights = np.column_stack([two, 1 - two.sum(axis=1)])
    weights[which < 0] = np.nan
    return triangles.simplices[which].astype(np.int64), weights


def _pixel(t: Affine, xy: Floats) -> Floats:
    """Column and row (n, 2), whole at the centres of cells."""
    back = ~t
    return np.column_stack(
        [
            back.a * xy[:, 0] + back.b * xy[:, 1] + back.c - 0.5,
            back.d * xy[:, 0] + back.e * xy[:, 1] + back.f - 0.5,
        ]
    )


def _spacing_m(own: pyproj.CRS, t: Affine, place: Floats) -> tuple[float, float]:
    """True distance between the centres of neighbouring cells along a row and down a column."""
    found = []
    for step in ((t.a, t.d), (t.b, t.e)):
        line = np.stack([place, place + np.array(step) * STEPS_TIMED])
        found.append(float(leg_lengths_m(line, own, 1.0)[0]) / STEPS_TIMED)
    return found[0], found[1]


def geometry(lot: Lot, shape: Shape, pointer: str) -> BaseGeometry:
    """A caller's shape in the plane. Raises InputError where it crosses itself or has no place."""
    rings = [lot.to_plane(ring) for ring in shape.rings]
    if not all(np.isfinite(ring).all() for ring in rings):
        raise InputError.at(pointer, "This shape does not lie where the ground does.")
    if shape.kind == "point":
        return shapely.Point(*rings[0][0])
    if shape.kind == "line":
        return shapely.LineString(rings[0])
    area = shapely.Polygon(rings[0], rings[1:])
    if not area.is_valid or area.area <= 0:
        why = shapely.is_valid_reason(area).split("[")[0].lower()
        raise InputError.at(pointer, f"This area's outline does not close well: {why}.")
    return area


def cells_of(lot: Lot, shapes: Sequence[BaseGeometry], finer: int = 1) -> Mask:
    """Cells (rows, columns) that any of the shapes touches; `finer` cuts each cell's side so."""
    rows, columns = lot.grid.z_m.shape
    size = (rows * finer, columns * finer)
    drawn = [shape for shape in shapes if not shape.is_empty]
    if not drawn:
        return np.zeros(size, dtype=bool)
    return rasterize(
        drawn,
        out_shape=size,
        transform=lot.transform @ Affine.scale(1 / finer),
        all_touched=True,
        dtype=np.uint8,
    ).astype(bool)


def areas(
    lot: Lot, classes: NDArray[np.uint8], digits: int
) -> Iterator[tuple[int, dict[str, Any], int]]:
    """Each class (0 left out) as one MultiPolygon in the caller's coordinates, and its cells.

    Outlines run along the edges of cells, outer rings anticlockwise (RFC 7946) on the map. Raises
    TooLargeError where they have more than MOST_CORNERS.
    """
    if _corners(classes) > MOST_CORNERS:
        raise TooLargeError(say("bounds.corners", most=f"{MOST_CORNERS:,}"))
    found: dict[int, list[list[list[list[float]]]]] = {}
    for outline, value in outlines(classes, mask=classes > 0, transform=lot.transform):
        deadline.check()
        rings = [lot.to_map(np.array(ring)) for ring in outline["coordinates"]]
        polygon = shape_of({"type": "Polygon", "coordinates": [r.tolist() for r in rings]})
        polygon = shapely.orient_polygons(polygon)
        found.setdefault(int(value), []).append(
            [
                np.round(np.asarray(ring.coords), digits).tolist()
                for ring in (polygon.exterior, *polygon.interiors)
            ]
        )
    for value in sorted(found):
        area = {"type": "MultiPolygon", "coordinates": found[value]}
        yield value, area, int((classes == value).sum())


def _corners(classes: NDArray[np.uint8]) -> int:
    """Points where an outline turns, counted once: the four cells about one are then not alike in
    rows, nor in columns."""
    padded = np.pad(classes, 1)
    beside, above = padded[:, 1:] == padded[:, :-1], padded[1:] == padded[:-1]
    goes_on = (beside[1:] & beside[:-1]) | (above[:, 1:] & above[:, :-1])
    return int(goes_on.size - np.count_nonzero(goes_on))
