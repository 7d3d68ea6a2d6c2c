"""Ground on a grid of points, and the sixteen ways on from each.

A grid's plane is in metres: x = column · dx, y = row · dy. Between four points the ground is
bilinear, as on a raster.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import NDArray

from yardfall.core.arrays import Floats, Indices, Mask
from yardfall.core.ground.fall_around import DIAGONAL, KNIGHT, STRAIGHT

EDGE: Final = 2
"""Points put round a grid, so that no step ever leaves it."""
NEVER: Final = -1e18
"""Level of a point that is not reached; -NEVER is one that nothing needs, or an end not wanted."""
REACHED: Final = NEVER / 2
"""A level above this is one."""
SHUT: Final = 1e12
"""Lower limit of a point that may not be passed."""
PASSABLE: Final = SHUT / 2
"""A lower limit below this is one."""
PASSABLE_HALF_WAY: Final = SHUT / 10
"""The same of the mean of two or four lower limits, any of which may be SHUT."""
OPEN: Final = -1e9
"""Lower limit where there is none."""


@dataclass(frozen=True, eq=False)
class Grid:
    """Elevations (rows, columns) in metres, NaN where not known; points dx, dy metres apart."""

    z_m: Floats
    dx_m: float
    dy_m: float

    @cached_property
    def known(self) -> Mask:
        """Where the ground is known."""
        return np.isfinite(self.z_m)

    def on(self, z_m: Floats) -> Grid:
        """The same points on other ground."""
        return replace(self, z_m=z_m)

    def xy(self, row: Indices, column: Indices) -> Floats:
        """Points (n, 2) of the plane."""
        return np.column_stack([column * self.dx_m, row * self.dy_m])

    def nearest(self, xy: Floats) -> tuple[Indices, Indices, Mask]:
        """Row and column nearest to points (n, 2), and whether that lies on the grid."""
        column = np.rint(xy[:, 0] / self.dx_m).astype(np.int64)
        row = np.rint(xy[:, 1] / self.dy_m).astype(np.int64)
        rows, columns = self.z_m.shape
        inside = (row >= 0) & (row < rows) & (column >= 0) & (column < columns)
        return row, column, inside

    def ground_m(self, xy: Floats) -> Floats:
        """Bilinear ground (n,) at points (n, 2); NaN off the grid or beside a missing value."""
        rows, columns = self.z_m.shape
        column, row = xy[:, 0] / self.dx_m, xy[:, 1] / self.dy_m
        c0 = np.clip(np.floor(column + 1e-9), 0, columns - 1).astype(np.int64)
        r0 = np.clip(np.floor(row + 1e-9), 0, rows - 1).astype(np.int64)
        across, down = column - c0, row - r0
        across[np.abs(across) < 1e-9] = 0.0
        down[np.abs(down) < 1e-9] = 0.0
        outside = (across < 0) | (down < 0)
        c1, r1 = c0 + (across > 0), r0 + (down > 0)
        outside |= (c1 >= columns) | (r1 >= rows)
        c1, r1 = np.minimum(c1, columns - 1), np.minimum(r1, rows - 1)
        z = self.z_m
        upper = z[r0, c0] * (1 - across) + z[r0, c1] * across
        lower = z[r1, c0] * (1 - across) + z[r1, c1] * across
        ground: Floats = upper * (1 - down) + lower * down
        ground[outside] = np.nan
        return ground


@dataclass(frozen=True, eq=False)
class Steps:
    """The sixteen steps on a grid with an edge, as flat offsets.

    `aside` are the two points that lie beside a diagonal or knight's step half way: the ground
    there is the mean of them and, for a diagonal, of its two ends.
    """

    offset: Indices
    aside: tuple[Indices, Indices]
    length_m: Floats


def steps_of(grid: Grid) -> Steps:
    """Straight steps first, then the diagonal ones, then the knight's."""
    width = grid.z_m.shape[1] + 2 * EDGE
    one, two = [], []
    for down, across in (*STRAIGHT, *DIAGONAL, *KNIGHT):
        if abs(down) == abs(across):
            beside = ((down, 0), (0, across))
        elif abs(across) == 2:
            beside = ((0, across // 2), (down, across // 2))
        elif abs(down) == 2:
            beside = ((down // 2, 0), (down // 2, across))
        else:
            beside = ((0, 0), (0, 0))
        one.append(beside[0][0] * width + beside[0][1])
        two.append(beside[1][0] * width + beside[1][1])
    ways = np.array((*STRAIGHT, *DIAGONAL, *KNIGHT))
    return Steps(
        ways[:, 0] * width + ways[:, 1],
        (np.array(one), np.array(two)),
        np.hypot(ways[:, 0] * grid.dy_m, ways[:, 1] * grid.dx_m),
    )


def edged(values: Floats | Mask, fill: float) -> Floats:
    """Values (rows, columns) flat, with EDGE points of `fill` all round."""
    return np.pad(values.astype(np.float64, copy=False), EDGE, constant_values=fill).ravel()


def unedged(flat: NDArray[np.generic], grid: Grid) -> NDArray[np.generic]:
    """The inverse of `edged`."""
    rows, columns = grid.z_m.shape
    whole = flat.reshape(rows + 2 * EDGE, columns + 2 * EDGE)
    return whole[EDGE:-EDGE, EDGE:-EDGE]


def flat_index(grid: Grid, row: Indices, column: Indices) -> Indices:
    """Indices into a flat array with an edge."""
    return (row + EDGE) * (grid.z_m.shape[1] + 2 * EDGE) + column + EDGE


def row_and_column(grid: Grid, flat: Indices) -> tuple[Indices, Indices]:
    """The inverse of `flat_index`."""
    row, column = np.divmod(flat, grid.z_m.shape[1] + 2 * EDGE)
    return row - EDGE, column - EDGE
