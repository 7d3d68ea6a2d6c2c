"""How well the ground is known: instruments, and how each reading's error reaches the ground."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import LinearNDInterpolator

from yardfall.core.ground import GroundProfile
from yardfall.core.route import Floats
from yardfall.core.surface import triangulate
from yardfall.core.true_ground import BROKEN, STRAIGHT, Lawn, Seen
from yardfall.core.units import FOOT_M, INCH_M


@dataclass(frozen=True)
class Instrument:
    """Working accuracy of a way to measure, as one standard error.

    `error_m` holds at `per_m` of reach and grows with it (0: the same at any reach).
    `common_m` shifts every value alike.
    """

    name: str
    label: str
    error_m: float
    per_m: float
    source: str
    common_m: float = 0.0

    def sigma_m(self, reach_m: float) -> float:
        """Standard error of a reading on a span of `reach_m`."""
        grown = self.error_m * reach_m / self.per_m if self.per_m else self.error_m
        return max(grown, READING_M)


READING_M: Final = INCH_M / 16
"""Nobody reads a tape or rod better than this (common practice, no source)."""
LIDAR_SPACING_M: Final = 1.0
"""Cell size of USGS 3DEP quality level 2 rasters; finer cells hold no more of the ground."""
DRAWN_M: Final = 0.25
BESIDE_M: Final = 0.08
MOST_DRAWN: Final = 150
"""Points where the ground is drawn along a line, besides its readings."""
RETAKEN_M: Final = 2.0
PAVED: Final = Lawn(STRAIGHT, 0.003)
"""What stands for exactly straight ground where the ground is told by cells alone."""
_CP: Final = "common practice, no source"
_LIDAR: Final = (
    "a judgement between our own measurements on two open surveys (white 4 to 11 mm, shared 3 mm "
    "and more) and published ones (at most 50 mm in all)"
)
_3DEP: Final = (
    "USGS 3DEP quality levels: RMSEz at most 5, 10, 10, 20 cm for QL0 to QL3 on open ground, most "
    f"of it shared by the whole raster; what differs from cell to cell is {_LIDAR}"
)


@dataclass(frozen=True)
class Lidar:
    """Errors of a raster's cells, standard errors: each cell's own, and what neighbours share.

    The shared part's correlation falls to 1/e over `reach_m`.
    """

    name: str
    label: str
    own_m: float
    shared_m: float
    reach_m: float = 10.0

    @property
    def cell_m(self) -> float:
        """Of one cell in all, but for what the whole raster shares."""
        return float(np.hypot(self.own_m, self.shared_m))

    def covariance(self, places_m: Floats) -> Floats:
        """Of cells (k, k) at places (k, 2).

        Cells finer than LIDAR_SPACING_M are filled in from the same pulses, so they share what
        would be their own, by how near they are along each axis.
        """
        apart = np.abs(places_m[:, None, :] - places_m[None, :, :])
        return self.apart(apart[..., 0], apart[..., 1])

    def apart(self, one_m: Floats, other_m: Floats) -> Floats:
        """Covariance of cells so far apart along one axis and the other."""
        same = np.maximum(1 - one_m / LIDAR_SPACING_M, 0) * np.maximum(
            1 - other_m / LIDAR_SPACING_M, 0
        )
        shared = np.exp(-np.hypot(one_m, other_m) / self.reach_m)
        found: Floats = self.own_m**2 * same + self.shared_m**2 * shared
        return found

    def scaled(self, sigma_m: float) -> Lidar:
        """The same in its parts, with another error of one cell."""
        share = sigma_m / self.cell_m
        return Lidar(self.name, self.label, self.own_m * share, self.shared_m * share, self.reach_m)


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
_OWN_FIGURE: Final = (
    Lidar("own", "", 1.0, 0.0),
    LIDARS["usual"],
    Lidar("shared", "", 0.3, 1.0),
)
"""A stated error of a cell, split in these ways: its own alone, as usual, mostly shared."""


def _lidar(name: str, label: str, rmse_m: float) -> Instrument:
    apart_m = LIDARS[LIDAR_OF[name]].cell_m
    return Instrument(name, label, apart_m, 0.0, _3DEP, (rmse_m**2 - apart_m**2) ** 0.5)


INSTRUMENTS: Final[dict[str, Instrument]] = {
    i.name: i
    for i in (
        Instrument("line_level", "string and line level", INCH_M / 4, 25 * FOOT_M, _CP),
        Instrument("water_level", "water level", INCH_M / 8, 0.0, _CP),
        Instrument("builders_level", "builder's level", INCH_M / 8, 100 * FOOT_M, _CP),
        Instrument("rotary_laser", "rotary laser", INCH_M / 8, 100 * FOOT_M, _CP),
        Instrument("hand_level", "hand level", 0.1 * FOOT_M, 100 * FOOT_M, _CP),
        _lidar("lidar_ql0", "aerial lidar, quality level 0", 0.05),
        _lidar("lidar_ql1", "aerial lidar, quality level 1", 0.10),
        _lidar("lidar_ql2", "aerial lidar, quality level 2", 0.10),
        _lidar("lidar_ql3", "aerial lidar, quality level 3", 0.20),
    )
}


@dataclass(frozen=True, eq=False)
class Cells:
    """A raster's cells about a route: places (k, 2) in a plane in metres, and elevations (k,).

    `ground_m` (n, 2) are the places there of the ground's own points, and `between` (p,) those of
    them that have all four cells about them here. A cell measures `cell_m`.
    """

    places_m: Floats
    z_m: Floats
    ground_m: Floats
    between: NDArray[np.intp]
    cell_m: tuple[float, float] = (1.0, 1.0)

    def carry(self) -> Floats:
        """Share of each cell (p, k) in the ground at the points `between`: bilinear."""
        apart = np.abs(self.ground_m[self.between, None, :] - self.places_m[None, :, :])
        share: Floats = np.prod(np.maximum(1 - apart / self.cell_m, 0), axis=2)
        return share


@dataclass(frozen=True, eq=False)
class ErrorModel:
    """Errors of k readings and how they reach the ground's n points at `ground_at_m`.

    Where the ground is straight between readings (`seen` None), its error (n,) is `spread` (n, k) @
    reading errors (k,) of standard error `sigma_m` (k,). Otherwise `seen` is what it is drawn from.
    `pointers` name each reading in the request, `at_m` its station.
    """

    label: str
    source: str
    sigma_m: Floats
    spread: Floats
    pointers: tuple[str, ...]
    at_m: Floats
    ground_at_m: Floats
    common_m: float = 0.0
    seen: Seen | None = None

    @property
    def of_cells(self) -> bool:
        """Whether it is of a raster's cells, which neighbours' errors reach."""
        return self.seen is not None and not len(self.seen.own_m)

    @property
    def typical_m(self) -> float:
        """The middle one of the standard errors."""
        return float(sorted(self.sigma_m)[len(self.sigma_m) // 2])


@dataclass(frozen=True)
class Accuracy:
    """What the caller says of it: an instrument, or a standard error and a common one, metres.

    `lawns` are how even the ground may be between readings; none: straight. `lidar` is how a
    raster was flown, where that is told.
    """

    instrument: Instrument | None = None
    sigma_m: float | None = None
    common_m: float = 0.0
    lawns: tuple[Lawn, ...] = ()
    lidar: Lidar | None = None

    def of(self, reach_m: float) -> float:
        """Standard error of a reading on a span of `reach_m`."""
        if self.sigma_m is not None:
            return self.sigma_m
        return self.instrument.sigma_m(reach_m) if self.instrument else 0.0

    @property
    def certain(self) -> bool:
        """Whether the ground is exactly as read."""
        return self.sigma_m == 0 and not self.lawns

    @property
    def lawns_of_cells(self) -> tuple[Lawn, ...]:
        """How even the ground may be under a raster."""
        return (*(self.lawns or (PAVED,)), BROKEN)

    def of_cells(self, reach_m: float) -> tuple[Lidar, ...]:
        """Errors of a raster's cells, each as likely."""
        if self.lidar is not None:
            return (self.lidar,)
        if self.instrument is not None and self.instrument.name in LIDAR_OF:
            return (LIDARS[LIDAR_OF[self.instrument.name]],)
        return tuple(lidar.scaled(self.of(reach_m)) for lidar in _OWN_FIGURE)

    @property
    def label(self) -> str:
        """What it is, in words."""
        if self.lidar is not None:
            return self.lidar.label
        return self.instrument.label if self.instrument else "the accuracy you state"

    @property
    def source(self) -> str:
        """Where the figure comes from."""
        return self.instrument.source if self.instrument else "as you state"

    @property
    def shared_m(self) -> float:
        """What shifts every value alike, and so cancels in a fall."""
        return self.instrument.common_m if self.instrument else self.common_m


def drawn_stations(ground: GroundProfile) -> Floats:
    """Stations where the true ground is drawn: DRAWN_M apart, and no more than MOST_DRAWN.

    One beside a point of the ground stands on it.
    """
    first_m, last_m = float(ground.at_m[0]), float(ground.at_m[-1])
    count = int(min(np.ceil((last_m - first_m) / DRAWN_M), MOST_DRAWN)) + 1
    wanted = np.linspace(first_m, last_m, max(count, 2))
    right = np.clip(np.searchsorted(ground.at_m, wanted), 1, len(ground.at_m) - 1)
    before, after = ground.at_m[right - 1], ground.at_m[right]
    nearest = np.where(wanted - before < after - wanted, before, after)
    beside = np.abs(wanted - nearest) < BESIDE_M
    return np.unique(np.where(beside, nearest, wanted))


def _model(
    accuracy: Accuracy,
    sigma_m: Sequence[float] | Floats,
    spread: Floats,
    pointers: Sequence[str],
    at_m: Sequence[float] | Floats,
    ground_at_m: Floats,
    seen: Seen | None = None,
) -> ErrorModel:
    return ErrorModel(
        accuracy.label,
        accuracy.source,
        np.asarray(sigma_m, dtype=np.float64),
        spread,
        tuple(pointers),
        np.asarray(at_m, dtype=np.float64),
        ground_at_m,
        accuracy.shared_m,
        seen,
    )


def reading_errors(
    accuracy: Accuracy,
    ground: GroundProfile,
    at_m: Floats,
    pointers: Sequence[str],
    spread: Floats,
) -> ErrorModel:
    """Errors of hand readings that are reduced to the ground by sums: a string or a level book.

    `spread` (n, k) tells how far each reading moves each point of the ground, through ties and
    closing corrections too. The reach of a reading is the span of the line or set-up it is of.
    """
    return _read_along(
        accuracy, ground, _reading_sigmas(accuracy, ground, at_m), spread, pointers, at_m
    )


def _read_along(
    accuracy: Accuracy,
    ground: GroundProfile,
    sigma_m: Sequence[float],
    spread: Floats,
    pointers: Sequence[str],
    at_m: Floats,
) -> ErrorModel:
    """Readings along a line; how it bends is left out, so a place is its station."""
    if not accuracy.lawns:
        return _model(accuracy, sigma_m, spread, pointers, at_m, ground.at_m)
    sigma = np.asarray(sigma_m, dtype=np.float64)
    drawn_m = np.union1d(ground.at_m, drawn_stations(ground))
    moved = spread * sigma
    seen = Seen(
        _along(ground.at_m),
        ground.elevation_m,
        (moved @ moved.T,),
        _along(drawn_m),
        ground.elevation(drawn_m),
        _straight(ground.at_m, drawn_m, np.eye(len(ground.at_m))),
        (*accuracy.lawns, BROKEN),
        (spread * sigma**2).T,
        sigma,
    )
    return _model(accuracy, sigma, spread, pointers, at_m, drawn_m, seen)


def _straight(known_m: Floats, at_m: Floats, rows: Floats) -> Floats:
    """Rows (n, k) at stations (n,), straight between them, at other stations (m,)."""
    return np.column_stack([np.interp(at_m, known_m, one) for one in rows.T])


def _along(at_m: Floats) -> Floats:
    return np.column_stack([at_m, np.zeros(len(at_m))])


def _reading_sigmas(accuracy: Accuracy, ground: GroundProfile, at_m: Floats) -> list[float]:
    """Standard error of each reading, by the span of the line or set-up it belongs to."""
    whole_m = float(ground.at_m[-1] - ground.at_m[0])
    levels = ground.references_at(at_m)
    sigmas_m = {r: accuracy.of(r.to_m - r.from_m if r else whole_m) for r in set(levels)}
    return [sigmas_m[r] for r in levels]


def point_errors(accuracy: Accuracy, ground: GroundProfile, pointers: Sequence[str]) -> ErrorModel:
    """An error of its own at each point of the ground."""
    reach_m = float(ground.at_m[-1] - ground.at_m[0])
    n = len(ground.at_m)
    sigma_m = [accuracy.of(reach_m)] * n
    return _read_along(accuracy, ground, sigma_m, np.eye(n), pointers, ground.at_m)


def cell_errors(accuracy: Accuracy, ground: GroundProfile, cells: Cells) -> ErrorModel:
    """Errors of a raster's cells, which neighbours share in part.

    A reading to take again stands for the ground at a place, every RETAKEN_M along the route.
    """
    length_m = float(ground.at_m[-1])
    lidars = accuracy.of_cells(length_m)
    if accuracy.certain:
        return point_errors(accuracy, ground, ["/ground/raster"] * len(ground.at_m))
    drawn_m = drawn_stations(ground)
    count = int(min(max(length_m / RETAKEN_M, 1), len(drawn_m) - 1)) + 1
    at_m = np.linspace(0.0, length_m, count)
    points_m = _straight(ground.at_m, drawn_m, cells.ground_m)
    seen = Seen(
        cells.places_m,
        cells.z_m,
        tuple(lidar.covariance(cells.places_m) for lidar in lidars),
        points_m,
        ground.elevation(drawn_m),
        _straight(ground.at_m[cells.between], drawn_m, cells.carry()),
        accuracy.lawns_of_cells,
        np.empty((0, len(cells.z_m))),
        np.empty(0),
    )
    sigma_m = [max(lidar.cell_m for lidar in lidars)] * count
    spread = _straight(at_m, drawn_m, np.eye(count))
    pointers = ["/ground/raster"] * count
    return _model(accuracy, sigma_m, spread, pointers, at_m, drawn_m, seen)


def spot_errors(
    accuracy: Accuracy,
    ground: GroundProfile,
    spots_xy: Floats,
    spots_z_m: Floats,
    route_xy: Floats,
) -> ErrorModel:
    """An error of its own at each spot height (k, 2), carried by the triangles to points (n, 2)."""
    weights = LinearNDInterpolator(triangulate(spots_xy), np.eye(len(spots_xy)))(route_xy)
    used = np.flatnonzero(np.abs(weights).sum(axis=0) > 0)
    nearest = [
        float(ground.at_m[int(np.argmin(np.hypot(*(route_xy - spots_xy[k]).T)))]) for k in used
    ]
    sigma_m = np.full(len(used), accuracy.of(float(ground.at_m[-1])))
    pointers = [f"/ground/points/{k}" for k in used]
    if not accuracy.lawns:
        return _model(accuracy, sigma_m, weights[:, used], pointers, nearest, ground.at_m)
    drawn_m = np.union1d(ground.at_m, drawn_stations(ground))
    errors = np.diag(sigma_m**2)
    seen = Seen(
        spots_xy[used],
        spots_z_m[used],
        (errors,),
        _straight(ground.at_m, drawn_m, route_xy),
        ground.elevation(drawn_m),
        _straight(ground.at_m, drawn_m, weights[:, used]),
        (*accuracy.lawns, BROKEN),
        errors,
        sigma_m,
    )
    return _model(accuracy, sigma_m, weights[:, used], pointers, nearest, drawn_m, seen)
