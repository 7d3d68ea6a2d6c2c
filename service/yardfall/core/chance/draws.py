"""Draws of the true ground, given what was read of it; the last few are kept."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from yardfall.core.arrays import Floats
from yardfall.core.ground.profile import GroundProfile
from yardfall.core.numerics.interpolation import straight_between
from yardfall.core.uncertainty.accuracy import ErrorModel
from yardfall.core.uncertainty.true_ground import Numbers, draw_true_ground

DRAWS: Final = 4000


MOST_NUMBERS: Final = 8_000_000
"""Draws times points of the ground: a line of more than 2,000 points gets fewer draws."""


MOST_KEPT: Final = 2_000_000
"""More normal numbers than these are made anew each time, for the memory they would take."""


SEED: Final = 20260101


KEPT: Final = 8


KEPT_NUMBERS: Final = 125_000
"""So many draws are kept, of so many numbers or fewer (1 MB)."""


MANY_KEPT: Final = 2


MANY_ROWS: Final = 200
"""And so many of more draws than that, on so few stations and readings (6 MB)."""


SPARSE: Final = 0.1


FULL_UP_TO: Final = 5000
"""A larger spread with a smaller share of it filled is worked as a sparse matrix."""


@dataclass(frozen=True, eq=False)
class Draws:
    """Seeded draws of the true ground, given the readings.

    `change_m` (n, d) is how far it lies from the ground as read at stations `at_m` (n,), and
    `errors_m` (k, d) are the errors of the model's readings in the same draws.
    """

    at_m: Floats
    change_m: Floats
    errors_m: Floats
    model: ErrorModel
    _last: list[Draws] = field(default_factory=list, repr=False)
    """What was carried onto other stations last."""

    def onto(self, at_m: Floats) -> Draws:
        """The same at other stations (m,), straight between these."""
        for known in (self, *self._last):
            if len(at_m) == len(known.at_m) and (at_m == known.at_m).all():
                return known
        change_m = straight_between(self.change_m, self.at_m, at_m)
        found = Draws(at_m, change_m, self.errors_m, self.model)
        self._last[:] = [found]
        return found

    def first(self, count: int) -> Draws:
        """The first `count` draws."""
        return replace(
            self,
            change_m=np.ascontiguousarray(self.change_m[:, :count]),
            errors_m=self.errors_m[:, :count],
            _last=[],
        )

    def at_points(self, rows: NDArray[np.intp]) -> Draws:
        """The same at some of the points."""
        return replace(self, at_m=self.at_m[rows], change_m=self.change_m[rows], _last=[])

    def without(self, k: int) -> Floats:
        """The change (n, d) where reading k proves free of error."""
        _, per_error = self.going_with(k)
        return self.change_m - np.outer(per_error, self.errors_m[k])

    def going_with(self, k: int) -> tuple[Floats, Floats]:
        """Reading k's error about its mean (d,), and how much of it the change (n,) goes with."""
        about = self.errors_m[k] - self.errors_m[k].mean()
        square = float(about @ about)
        per_error: Floats = self.change_m @ about / (square or 1.0)
        return about, per_error


def draws_of(points: int) -> int:
    """How many draws the ground of a line of so many points gets."""
    return min(DRAWS, MOST_NUMBERS // max(points, 1))


def draw(model: ErrorModel, count: int = DRAWS, seed: int = SEED) -> Draws:
    """Draw the ground and every reading's error `count` times.

    The first draws of the last few models are kept: the next plan on the same readings asks again.
    """
    if _is_small(model, count):
        return _kept_draws(model, count, seed)
    return (_many_draws if _rows(model) <= MANY_ROWS else _draw)(model, count, seed)


def _is_small(model: ErrorModel, count: int) -> bool:
    return _rows(model) * count <= KEPT_NUMBERS


def _rows(model: ErrorModel) -> int:
    return len(model.ground_at_m) + len(model.sigma_m)


def _draw(model: ErrorModel, count: int, seed: int) -> Draws:
    seen = model.seen
    if seen is None:
        large = count * len(model.sigma_m) > MOST_KEPT
        normal = _standard_normal.__wrapped__ if large else _standard_normal
        errors_m = normal(count, len(model.sigma_m), seed) * model.sigma_m[:, None]
        spread = model.spread
        if not isinstance(spread, csr_array) and spread.size > FULL_UP_TO:
            few = np.count_nonzero(spread) < SPARSE * spread.size
            spread = csr_array(spread) if few else spread
        return Draws(model.ground_at_m, spread @ errors_m, errors_m, model)
    change_m, errors_m = draw_true_ground(seen, Numbers(count, seed))
    if model.of_cells:  # the error of the ground itself, here and there
        errors_m = straight_between(change_m, model.ground_at_m, model.at_m)
    return Draws(model.ground_at_m, change_m, errors_m, model)


_kept_draws = lru_cache(maxsize=KEPT)(_draw)


_many_draws = lru_cache(maxsize=MANY_KEPT)(_draw)


def draw_again(draws: Draws, ground: GroundProfile) -> Draws:
    """As many draws where the ground at the readings is another, as if it had been read so."""
    seen = draws.model.seen
    if seen is None or not seen.along:
        return draws
    again = seen.read_again(ground.elevation(seen.places_m[:, 0]), ground.elevation(draws.at_m))
    model = replace(draws.model, seen=again)
    return draw(model, draws.change_m.shape[1])


def drawn_on(ground: GroundProfile, draws: Draws | None) -> GroundProfile:
    """The ground as read, with the stations where the true one is drawn among its points."""
    if draws is None or draws.model.seen is None:
        return ground
    small = _is_small(draws.model, draws.change_m.shape[1])
    return (_kept_finer if small else _finer)(ground, draws.model)


def _finer(ground: GroundProfile, model: ErrorModel) -> GroundProfile:
    seen, at_m = model.seen, model.ground_at_m
    assert seen is not None
    if not seen.along or len(seen.places_m) != len(ground.at_m):  # not all of them among these
        at_m = np.union1d(ground.at_m, at_m)
    return replace(ground, at_m=at_m, elevation_m=ground.elevation(at_m))


_kept_finer = lru_cache(maxsize=KEPT)(_finer)


@lru_cache(maxsize=8)
def _standard_normal(count: int, rows: int, seed: int) -> Floats:
    """Standard normal numbers (rows, count), the same each time; not to be written to."""
    drawn = np.random.default_rng(seed).standard_normal((rows, count))
    drawn.flags.writeable = False
    return drawn
