"""How well the ground is known: instruments, and how each reading's error reaches the ground."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from scipy.interpolate import LinearNDInterpolator

from yardfall.core.even_slope import spread_of_ends
from yardfall.core.ground import GroundProfile
from yardfall.core.route import Floats
from yardfall.core.steps import spread_of_steps
from yardfall.core.surface import triangulate
from yardfall.core.units import FOOT_M, INCH_M


@dataclass(frozen=True)
class Instrument:
    """Working accuracy of a way to measure, as one standard error.

    `error_m` holds at `per_m` of reach and grows with it (0: the same at any reach).
    `common_m` shifts every value alike. `tilt` is what a level that is not turned end for end
    reads wrong by the metre, the same way at every step of a slope stepped down.
    """

    name: str
    label: str
    error_m: float
    per_m: float
    source: str
    common_m: float = 0.0
    tilt: float = 0.0

    def sigma_m(self, reach_m: float) -> float:
        """Standard error of a reading on a span of `reach_m`."""
        grown = self.error_m * reach_m / self.per_m if self.per_m else self.error_m
        return max(grown, READING_M)


READING_M: Final = INCH_M / 16
"""Nobody reads a tape or rod better than this (common practice, no source)."""
LIDAR_SPACING_M: Final = 1.0
"""Cell size of USGS 3DEP quality level 2 rasters; finer cells hold no more of the ground."""
_CP: Final = "common practice, no source"
_3DEP: Final = (
    "USGS 3DEP quality levels: RMSEz at most 5, 10, 10, 20 cm for QL0 to QL3 on open ground; that "
    "6 of 10 cm differ from cell to cell is from memory of its smooth-surface repeatability"
)


def _lidar(name: str, label: str, rmse_m: float) -> Instrument:
    apart_m = 0.6 * rmse_m
    return Instrument(name, label, apart_m, 0.0, _3DEP, (rmse_m**2 - apart_m**2) ** 0.5)


INSTRUMENTS: Final[dict[str, Instrument]] = {
    i.name: i
    for i in (
        Instrument("line_level", "string and line level", INCH_M / 4, 25 * FOOT_M, _CP, tilt=0.001),
        Instrument("water_level", "water level", INCH_M / 8, 0.0, _CP),
        Instrument("board_level", "board and spirit level", 0.003, 0.0, _CP, tilt=0.0005),
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
class ErrorModel:
    """Errors of k readings and how they reach the ground's n points.

    ground error (n,) = `spread` (n, k) @ reading errors (k,) of standard error `sigma_m` (k,).
    `pointers` name each reading in the request, `at_m` its station. `adds_up`: each reading starts
    where the one before ended.
    """

    label: str
    source: str
    sigma_m: Floats
    spread: Floats
    pointers: tuple[str, ...]
    at_m: Floats
    common_m: float = 0.0
    adds_up: bool = False

    @property
    def typical_m(self) -> float:
        """The middle one of the standard errors."""
        return float(sorted(self.sigma_m)[len(self.sigma_m) // 2])

    @property
    def whole_fall_m(self) -> float:
        """Standard error of the ground's whole fall, from its first point to its last."""
        return float(np.hypot.reduce((self.spread[-1] - self.spread[0]) * self.sigma_m))


@dataclass(frozen=True)
class Accuracy:
    """What the caller says of it: an instrument, or a standard error and a common one, metres."""

    instrument: Instrument | None = None
    sigma_m: float | None = None
    common_m: float = 0.0

    def of(self, reach_m: float) -> float:
        """Standard error of a reading on a span of `reach_m`."""
        if self.sigma_m is not None:
            return self.sigma_m
        return self.instrument.sigma_m(reach_m) if self.instrument else 0.0

    @property
    def label(self) -> str:
        """What it is, in words."""
        return self.instrument.label if self.instrument else "the accuracy you state"

    @property
    def source(self) -> str:
        """Where the figure comes from."""
        return self.instrument.source if self.instrument else "as you state"

    @property
    def shared_m(self) -> float:
        """What shifts every value alike, and so cancels in a fall."""
        return self.instrument.common_m if self.instrument else self.common_m


def _model(
    accuracy: Accuracy,
    sigma_m: Sequence[float] | Floats,
    spread: Floats,
    pointers: Sequence[str],
    at_m: Sequence[float] | Floats,
) -> ErrorModel:
    return ErrorModel(
        accuracy.label,
        accuracy.source,
        np.asarray(sigma_m, dtype=np.float64),
        spread,
        tuple(pointers),
        np.asarray(at_m, dtype=np.float64),
        accuracy.shared_m,
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
    return _model(accuracy, _reading_sigmas(accuracy, ground, at_m), spread, pointers, at_m)


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
    return _model(accuracy, [accuracy.of(reach_m)] * n, np.eye(n), pointers, ground.at_m)


def end_errors(accuracy: Accuracy, ground: GroundProfile) -> ErrorModel:
    """An error of its own at each end of an even slope, and of a hump between them."""
    hump = ["/ground/hump/height"] * (len(ground.at_m) - 2)
    sigmas_m = [accuracy.of(float(ground.at_m[-1] - ground.at_m[0]))] * len(ground.at_m)
    pointers = ["/ground/drop", *hump, "/ground/drop"]
    return _model(accuracy, sigmas_m, spread_of_ends(ground), pointers, ground.at_m)


def step_errors(accuracy: Accuracy, ground: GroundProfile, *, turned: bool) -> ErrorModel:
    """Errors of steps that each start where the one before ended: they add up along the run.

    Beside a random one for each step, what a level reads wrong by the metre goes the same way at
    each, unless it was turned end for end (`turned`): that part is one further error, of the
    whole run.
    """
    lengths_m = np.diff(ground.at_m)
    sigmas_m = [accuracy.of(float(length_m)) for length_m in lengths_m]
    spread = spread_of_steps(len(lengths_m))
    pointers = [f"/ground/steps/{i}" for i in range(len(lengths_m))]
    at_m = ground.at_m[1:]
    tilt = accuracy.instrument.tilt if accuracy.instrument and not turned else 0.0
    if tilt:
        whole_m = float(ground.at_m[-1] - ground.at_m[0])
        share = (ground.at_m - ground.at_m[0]) / whole_m
        sigmas_m.append(tilt * whole_m)
        spread = np.column_stack([spread, -share])
        pointers.append("/ground/reversed")
        at_m = np.append(at_m, ground.at_m[-1])
    return replace(_model(accuracy, sigmas_m, spread, pointers, at_m), adds_up=True)


def cell_errors(accuracy: Accuracy, ground: GroundProfile, cell_m: float) -> ErrorModel:
    """Errors that differ from cell to cell of a raster, one every cell along the route.

    Between two of them the error runs straight, as the bilinear ground does. Cells finer than
    LIDAR_SPACING_M are filled in from the same pulses, so they share an error.
    """
    length_m = float(ground.at_m[-1])
    count = max(2, round(length_m / max(cell_m, LIDAR_SPACING_M)) + 1)
    knots_m = np.linspace(0.0, length_m, count)
    spread = np.column_stack([np.interp(ground.at_m, knots_m, one) for one in np.eye(count)])
    return _model(
        accuracy, [accuracy.of(length_m)] * count, spread, ["/ground/raster"] * count, knots_m
    )


def spot_errors(
    accuracy: Accuracy, ground: GroundProfile, spots_xy: Floats, route_xy: Floats
) -> ErrorModel:
    """An error of its own at each spot height (k, 2), carried by the triangles to points (n, 2)."""
    weights = LinearNDInterpolator(triangulate(spots_xy), np.eye(len(spots_xy)))(route_xy)
    used = np.flatnonzero(np.abs(weights).sum(axis=0) > 0)
    nearest = [
        float(ground.at_m[int(np.argmin(np.hypot(*(route_xy - spots_xy[k]).T)))]) for k in used
    ]
    reach_m = float(ground.at_m[-1])
    return _model(
        accuracy,
        [accuracy.of(reach_m)] * len(used),
        weights[:, used],
        [f"/ground/points/{k}" for k in used],
        nearest,
    )
