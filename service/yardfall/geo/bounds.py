"""Where on a lot a pipe may lie: inside the lot line, off what is avoided and its clearances.

An outline of a few points is widened by its clearance exactly. One of very many points would take
minutes and gigabytes that way: it is drawn into cells instead, and what lies within the clearance
of one of them is shut.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from scipy.ndimage import distance_transform_edt
from shapely.geometry.base import BaseGeometry

from yardfall.core import deadline
from yardfall.core.arrays import Floats, Mask
from yardfall.core.errors import InputError
from yardfall.core.reach.request import Shape
from yardfall.geo.search_grid import Lot, cells_of, geometry
from yardfall.sentences import say

AT_THE_WALL_M: Final = 0.3
"""A start drawn this little inside a house is taken to be at its wall."""
TOUCHES_M: Final = 0.1
WAY_OUT_CELLS: Final = 3
"""Half the width of the way out of a clearance in which the pipe starts."""
FEW_POINTS: Final = 200
"""An outline of no more is left as it is drawn, and widened exactly."""
SIMPLER_CELLS: Final = 0.1
"""How far, in cells, an outline of more may be moved to take points out of it."""
MOST_FINE_CELLS: Final = 1_000_000
FINEST: Final = 4
"""Cells are cut by so much, at the most, to measure a clearance from them."""
MOST_CLEARANCES: Final = 8
"""Different clearances around outlines of many points."""
MOST_JOINED_POINTS: Final = 1000
"""Of a lot line in several parts: joining them may take as many steps as the square of this."""


@dataclass(frozen=True, eq=False)
class Widened:
    """Cells `finer` times as small as the lot's that lie too near to an outline of many points."""

    shut: Mask
    finer: int

    def meets(self, lot: Lot, line: Floats) -> bool:
        """Whether a line (k, 2) runs through one of them."""
        dx, dy = lot.grid.dx_m / self.finer, lot.grid.dy_m / self.finer
        steps = np.abs(np.diff(line, axis=0)) / [dx, dy]
        counts = np.ceil(2 * steps.max(axis=1)).astype(int) + 1
        points = np.vstack(
            [np.linspace(a, b, n) for a, b, n in zip(line[:-1], line[1:], counts, strict=True)]
        )
        at = np.floor((points + np.array([lot.grid.dx_m, lot.grid.dy_m]) / 2) / [dx, dy]).astype(
            int
        )
        rows, columns = self.shut.shape
        on = (at >= 0).all(axis=1) & (at[:, 0] < columns) & (at[:, 1] < rows)
        return bool(self.shut[at[on, 1], at[on, 0]].any())

    def cells(self) -> Mask:
        """The lot's own cells (rows, columns) that hold one of them."""
        rows, columns = (side // self.finer for side in self.shut.shape)
        within = self.shut.reshape(rows, self.finer, columns, self.finer)
        return np.asarray(within.any(axis=(1, 3)))


@dataclass(frozen=True, eq=False)
class Bounds:
    """Where a pipe may lie, in the plane: inside `within` (None: anywhere) and off what is shut.

    `near_start` tells that the start lies closer to something than its clearance.
    """

    lot: Lot
    within: BaseGeometry | None
    shut: tuple[BaseGeometry, ...]
    widened: tuple[Widened, ...]
    tree: shapely.STRtree
    near_start: bool

    def allows(self, line: Floats) -> bool:
        """Whether a line (k, 2) keeps to them."""
        way = shapely.LineString(line)
        if self.within is not None and not self.within.covers(way):
            return False
        if len(self.tree.query(way, predicate="intersects")):
            return False
        return not any(wide.meets(self.lot, line) for wide in self.widened)

    def avoided_cells(self) -> Mask:
        """Cells (rows, columns) that a shut part touches."""
        found = cells_of(self.lot, self.shut)
        for wide in self.widened:
            found |= wide.cells()
        return found

    def outside_cells(self) -> Mask:
        """Cells (rows, columns) that stick out of the lot line."""
        rows, columns = self.lot.grid.z_m.shape
        if self.within is None:
            return np.zeros((rows, columns), dtype=bool)
        dx, dy = self.lot.grid.dx_m, self.lot.grid.dy_m
        frame = shapely.box(-2 * dx, -2 * dy, (columns + 1) * dx, (rows + 1) * dy)
        return cells_of(self.lot, [frame.difference(self.within)])


def bounds_of(
    lot: Lot,
    start: Floats,
    within: Sequence[Shape],
    avoid: Sequence[Shape],
    clearance_m: float,
) -> Bounds:
    """The lot line and the areas to avoid with their clearances.

    A pipe that starts closer to something than the clearance must get away from it first: around
    the start, as far as leaves a way out of the clearance, only the area itself is shut.
    Raises InputError for shapes that are none, or a start that lies in a shut area or off the lot.
    """
    at = shapely.Point(*start)
    inside = _joined(lot, within)
    if inside is not None and not inside.covers(at):
        raise InputError.at("/start/point", "The start lies outside the lot line.")
    shut: list[BaseGeometry] = []
    many: dict[float, list[BaseGeometry]] = {}
    near = False
    gap_m = WAY_OUT_CELLS * max(lot.grid.dx_m, lot.grid.dy_m)
    ways_out: dict[float, float] = {}
    for shape in avoid:
        deadline.check()
        own = _simpler(lot, geometry(lot, shape, f"/avoid/{shape.index}"))
        keep_m = clearance_m if shape.clearance_m is None else shape.clearance_m
        deep_m = own.boundary.distance(at) if own.intersects(at) and shape.kind == "area" else 0.0
        if deep_m > AT_THE_WALL_M:
            name = f" ({shape.name})" if shape.name else ""
            raise InputError.at(
                "/start/point", f"The start lies in an area to avoid{name}; move one of them."
            )
        if own.distance(at) < TOUCHES_M:
            own = _without(own, at.buffer(deep_m + TOUCHES_M))
        starts_near = keep_m > 0 and own.distance(at) <= keep_m
        out_m = float(np.hypot(keep_m - own.distance(at), gap_m)) if starts_near else 0.0
        near = near or starts_near
        if keep_m <= 0 or _points(own) > FEW_POINTS:
            shut.append(own)
            if keep_m > 0:
                many.setdefault(keep_m, []).append(own)
                ways_out[keep_m] = max(ways_out.get(keep_m, 0.0), out_m)
            continue
        zone = own.buffer(keep_m)
        if starts_near:
            zone = shapely.union(zone.difference(at.buffer(out_m)), own)
        shut.append(zone)
    if len(many) > MOST_CLEARANCES:
        raise InputError.at("/avoid", say("bounds.clearances", most=str(MOST_CLEARANCES)))
    widened = tuple(
        _widened(lot, start, own, keep_m, ways_out[keep_m]) for keep_m, own in many.items()
    )
    if inside is not None:
        shapely.prepare(inside)
    shapely.prepare(np.array(shut))
    return Bounds(lot, inside, tuple(shut), widened, shapely.STRtree(shut), near)


def _joined(lot: Lot, within: Sequence[Shape]) -> BaseGeometry | None:
    lines = [_simpler(lot, geometry(lot, shape, f"/within/{shape.index}")) for shape in within]
    if len(lines) < 2:
        return lines[0] if lines else None
    if sum(map(_points, lines)) > MOST_JOINED_POINTS:
        raise InputError.at("/within", say("bounds.joined", most=f"{MOST_JOINED_POINTS:,}"))
    return shapely.union_all(lines)


def _points(shape: BaseGeometry) -> int:
    return int(shapely.get_num_coordinates(shape))


def _simpler(lot: Lot, shape: BaseGeometry) -> BaseGeometry:
    """An outline of many points with those taken out that move it by SIMPLER_CELLS at the most."""
    if _points(shape) <= FEW_POINTS:
        return shape
    near_m = SIMPLER_CELLS * min(lot.grid.dx_m, lot.grid.dy_m)
    simple = shapely.simplify(shape, near_m, preserve_topology=shape.geom_type != "LineString")
    return shape if simple.is_empty or not simple.is_valid else simple


def _without(own: BaseGeometry, circle: BaseGeometry) -> BaseGeometry:
    """What of a shape lies outside a circle. A line is cut leg by leg: it may cross itself at
    thousands of places, each of which would be worked out."""
    if own.geom_type != "LineString":
        return own.difference(circle)
    ends = shapely.get_coordinates(own)
    legs = shapely.linestrings(np.stack([ends[:-1], ends[1:]], axis=1))
    left = shapely.difference(legs, circle)
    return shapely.geometrycollections(left[~shapely.is_empty(left)])


def _widened(
    lot: Lot, start: Floats, shapes: Sequence[BaseGeometry], keep_m: float, out_m: float
) -> Widened:
    """Cells within `keep_m` of any of the shapes; open within `out_m` of the start.

    A cell counts as touched all over, so that at most half a fine cell's diagonal too much is shut.
    """
    deadline.check()
    finer = int(np.clip(np.sqrt(MOST_FINE_CELLS / lot.grid.z_m.size), 1, FINEST))
    dx, dy = lot.grid.dx_m / finer, lot.grid.dy_m / finer
    touched = cells_of(lot, shapes, finer)
    if not touched.any():
        return Widened(touched, finer)
    distance_m = distance_transform_edt(~touched, sampling=(dy, dx))
    shut: Mask = distance_m <= keep_m + np.hypot(dx, dy) / 2
    if out_m > 0:
        x = (np.arange(shut.shape[1]) + 0.5) * dx - lot.grid.dx_m / 2
        y = (np.arange(shut.shape[0]) + 0.5) * dy - lot.grid.dy_m / 2
        shut &= np.hypot(x[None] - start[0], y[:, None] - start[1]) > out_m
    return Widened(shut, finer)
