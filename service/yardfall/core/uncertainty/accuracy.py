"""How well the ground is known: how each reading's error reaches the ground."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray
from scipy.sparse import csr_array, eye_array

from yardfall.core.arrays import Floats
from yardfall.core.ground.even_slope import spread_of_ends
from yardfall.core.ground.profile import GroundProfile
from yardfall.core.ground.steps import spread_of_steps
from yardfall.core.numerics.interpolation import straight_between
from yardfall.core.uncertainty.instruments import Instrument
from yardfall.core.uncertainty.lawns import STRAIGHT, Lawn, kinds_of_ground
from yardfall.core.uncertainty.lidar import LIDAR_OF, LIDARS, OWN_FIGURE, Lidar
from yardfall.core.uncertainty.true_ground import Seen

DRAWN_M: Final = 0.25
BESIDE_M: Final = 0.08
MOST_DRAWN: Final = 150
"""Points where the ground is drawn along a line, besides its readings."""
MOST_READ: Final = 300
"""Of more readings along a line so many, spread evenly, tell the true ground; the sums grow by
their third power. Leaving readings out makes an answer less sure, never surer."""
PAVED: Final = Lawn(STRAIGHT, 0.003)
"""What stands for exactly straight ground where the ground is told by cells alone."""


@dataclass(frozen=True, eq=False)
class ErrorModel:
    """Errors of k readings and how they reach the ground's n points at `ground_at_m`.

    Where the ground is straight between readings (`seen` None), its error (n,) is `spread` (n, k) @
    reading errors (k,) of standard error `sigma_m` (k,). Otherwise `seen` is what it is drawn from.
    `pointers` name each reading in the request, `at_m` its station. `adds_up`: each reading starts
    where the one before ended. `told` (q,) are the readings whose own errors are drawn: of very
    many, some.
    """

    label: str
    source: str
    sigma_m: Floats
    spread: Floats | csr_array
    pointers: tuple[str, ...]
    at_m: Floats
    ground_at_m: Floats
    common_m: float = 0.0
    seen: Seen | None = None
    adds_up: bool = False
    told: NDArray[np.intp] | None = None

    def reading_of(self, row: int) -> int:
        """The reading whose errors are this row of the draws'."""
        return row if self.told is None else int(self.told[row])

    @property
    def of_cells(self) -> bool:
        """Whether it is of a raster's cells, which neighbours' errors reach."""
        return self.seen is not None and not len(self.seen.own_m)

    @property
    def typical_m(self) -> float:
        """The middle one of the standard errors."""
        return float(sorted(self.sigma_m)[len(self.sigma_m) // 2])

    @property
    def whole_fall_m(self) -> float:
        """Standard error of the ground's whole fall, from its first point to its last."""
        ends = self.spread[[0, -1]]
        first, last = ends.toarray() if isinstance(ends, csr_array) else ends
        return float(np.hypot.reduce((last - first) * self.sigma_m))


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
        return kinds_of_ground(self.lawns or (PAVED,))

    def of_cells(self, reach_m: float) -> tuple[Lidar, ...]:
        """Errors of a raster's cells, each as likely."""
        if self.lidar is not None:
            return (self.lidar,)
        if self.instrument is not None and self.instrument.name in LIDAR_OF:
            return (LIDARS[LIDAR_OF[self.instrument.name]],)
        return tuple(lidar.scaled(self.of(reach_m)) for lidar in OWN_FIGURE)

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
    length_m = float(ground.at_m[-1] - ground.at_m[0])
    count = max(int(min(math.ceil(length_m / DRAWN_M), MOST_DRAWN)) + 1, 2)
    found: Floats = _drawn(ground.at_m, count)
    return found


@njit(cache=True, nogil=True)
def _drawn(points, count):  # type: ignore[no-untyped-def]
    """Evenly spread stations (n,) from the first of points (k,) to the last, those beside a point
    on it."""
    first, last, right, n = points[0], points[-1], 1, 0
    found = np.empty(count)
    for i in range(count):
        at = last if i == count - 1 else first + i * ((last - first) / (count - 1))
        while right < len(points) - 1 and points[right] < at:
            right += 1
        before, after = points[right - 1], points[right]
        nearest = before if at - before < after - at else after
        if abs(at - nearest) < BESIDE_M:
            at = nearest
        if n == 0 or at > found[n - 1]:
            found[n] = at
            n += 1
    return found[:n]


def warm() -> None:
    """Compile the loop above, or load what was compiled before, so that no caller waits."""
    _drawn(np.array([0.0, 1.0]), 2)


def model_of(
    accuracy: Accuracy,
    sigma_m: Sequence[float] | Floats,
    spread: Floats | csr_array,
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
    kept: NDArray[np.intp] | None = None,
) -> ErrorModel:
    """Readings along a line; how it bends is left out, so a place is its station.

    `kept`: the points of the ground that the rows of `spread` are of, where they are not all.
    """
    if not accuracy.lawns:
        return model_of(accuracy, sigma_m, spread, pointers, at_m, ground.at_m)
    sigma = np.asarray(sigma_m, dtype=np.float64)
    if kept is None:
        kept = few_of(len(ground.at_m))
        moved = spread[kept] * sigma
    else:
        moved = spread * sigma
    told, kept_m = few_of(len(sigma)), ground.at_m[kept]
    drawn_m = np.union1d(kept_m, drawn_stations(ground))
    seen = Seen(
        _along(kept_m),
        ground.elevation_m[kept],
        (moved @ moved.T,),
        _along(drawn_m),
        ground.elevation(drawn_m),
        straight(kept_m, drawn_m, np.eye(len(kept))),
        kinds_of_ground(accuracy.lawns),
        (moved * sigma)[:, told].T,
        sigma[told],
        along=True,
    )
    model = model_of(accuracy, sigma, spread, pointers, at_m, drawn_m, seen)
    return model if len(told) == len(sigma) else replace(model, told=told)


def few_of(count: int) -> NDArray[np.intp]:
    """Places of at most MOST_READ of so many, spread evenly, the first and the last among them."""
    found: NDArray[np.intp] = np.unique(
        np.linspace(0, count - 1, min(count, MOST_READ)).astype(np.intp)
    )
    return found


def straight(known_m: Floats, at_m: Floats, rows: Floats) -> Floats:
    """Rows (n, k) at stations (n,), straight between them, at other stations (m,)."""
    found: Floats = straight_between(np.ascontiguousarray(rows), known_m, at_m)
    return found


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
    if not accuracy.lawns:
        own = np.eye(n) if n <= MOST_READ else csr_array(eye_array(n))
        return model_of(
            accuracy, [accuracy.of(reach_m)] * n, own, pointers, ground.at_m, ground.at_m
        )
    kept = few_of(n)
    sigma_m = [accuracy.of(reach_m)] * len(kept)
    named, at_m = [pointers[i] for i in kept], ground.at_m[kept]
    return _read_along(accuracy, ground, sigma_m, np.eye(len(kept)), named, at_m, kept)


def end_errors(accuracy: Accuracy, ground: GroundProfile) -> ErrorModel:
    """An error of its own at each end of an even slope, and of a hump between them."""
    hump = ["/ground/hump/height"] * (len(ground.at_m) - 2)
    sigmas_m = [accuracy.of(float(ground.at_m[-1] - ground.at_m[0]))] * len(ground.at_m)
    pointers = ["/ground/drop", *hump, "/ground/drop"]
    return _read_along(accuracy, ground, sigmas_m, spread_of_ends(ground), pointers, ground.at_m)


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
    model = _read_along(accuracy, ground, sigmas_m, spread, pointers, at_m)
    return replace(model, adds_up=True)
