"""How well a raster flown by lidar tells the ground: the errors of its cells."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from yardfall.core.arrays import Floats

LIDAR_SPACING_M: Final = 1.0
"""Cell size of USGS 3DEP quality level 2 rasters; finer cells hold no more of the ground."""
MOST_CELLS: Final = 900
"""Lines about more cells than these are taken apart: the sums grow by their third power."""
SOURCE: Final = (
    "a judgement between our own measurements on two open surveys (white 4 to 11 mm, shared 3 mm "
    "and more) and published ones (at most 50 mm in all)"
)


@dataclass(frozen=True)
class Lidar:
    """Errors of a raster's cells, standard errors: each cell's own, and what neighbours share.

    The shared part's correlation falls to 1/e over `reach_m`. Of its own error a cell finer than
    LIDAR_SPACING_M has the share `alone` for itself.
    """

    name: str
    label: str
    own_m: float
    shared_m: float
    reach_m: float = 10.0
    alone: float = 0.1

    @property
    def cell_m(self) -> float:
        """Of one cell in all, but for what the whole raster shares."""
        return float(np.hypot(self.own_m, self.shared_m))

    def covariance(self, places_m: Floats) -> Floats:
        """Of cells (k, k) at places (k, 2).

        Cells finer than LIDAR_SPACING_M are filled in from the same pulses, so they share most of
        what would be their own, by how near they are along each axis. Were it all of it, cells that
        differ by turns could be nothing but ground, and a little noise would bend the whole lawn.
        """
        apart = np.abs(places_m[:, None, :] - places_m[None, :, :])
        return self.apart(apart[..., 0], apart[..., 1])

    def apart(self, one_m: Floats, other_m: Floats) -> Floats:
        """Covariance of cells so far apart along one axis and the other."""
        same = np.maximum(1 - one_m / LIDAR_SPACING_M, 0) * np.maximum(
            1 - other_m / LIDAR_SPACING_M, 0
        )
        same = (1 - self.alone) * same + self.alone * ((one_m == 0) & (other_m == 0))
        shared = np.exp(-np.hypot(one_m, other_m) / self.reach_m)
        found: Floats = self.own_m**2 * same + self.shared_m**2 * shared
        return found

    def scaled(self, sigma_m: float) -> Lidar:
        """The same in its parts, with another error of one cell."""
        share = sigma_m / self.cell_m
        return replace(self, own_m=self.own_m * share, shared_m=self.shared_m * share)


LIDARS: Final[dict[str, Lidar]] = {
    lidar.name: lidar
    for lidar in (
        Lidar("dense", "densely flown aerial lidar", 0.010, 0.015),
        Lidar("usual", "aerial lidar as usually flown", 0.020, 0.030),
        Lidar("spec_only", "aerial lidar held to its specification alone", 0.035, 0.035),
    )
}
LIDAR_OF: Final = {
    "lidar_ql0": "dense",
    "lidar_ql1": "dense",
    "lidar_ql2": "usual",
    "lidar_ql3": "spec_only",
}
"""How a raster of a quality level was flown: 8 pulses/m² and more for QL0 and QL1, 2 for QL2."""
OWN_FIGURE: Final = (
    Lidar("own", "", 1.0, 0.0, alone=1.0),
    LIDARS["usual"],
    Lidar("shared", "", 0.3, 1.0),
)
"""A stated error of a cell, split in these ways: each cell's alone, as usual, mostly shared."""


@dataclass(frozen=True, eq=False)
class Cells:
    """A raster's cells about a route: places (k, 2) in a plane in metres, and elevations (k,).

    `ground_m` (n, 2) are the places there of the ground's own points, and `between` (p,) those of
    them that have all four cells about them here. A cell measures `cell_m`; lines with
    cells of one `raster` share its errors and its plane.
    """

    places_m: Floats
    z_m: Floats
    ground_m: Floats
    between: NDArray[np.intp]
    cell_m: tuple[float, float] = (1.0, 1.0)
    raster: str | None = None

    def carry(self) -> Floats:
        """Share of each cell (p, k) in the ground at the points `between`: bilinear."""
        apart = np.abs(self.ground_m[self.between, None, :] - self.places_m[None, :, :])
        share: Floats = np.prod(np.maximum(1 - apart / self.cell_m, 0), axis=2)
        return share
