"""How sure the answer is: draw the ground as it may truly lie, many times, and count.

What is common to all readings cancels in every fall and is left out. The draws are seeded, so the
same request gets the same answer.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array
from scipy.special import ndtr, ndtri

from yardfall.core.arrays import Floats
from yardfall.core.chance.monte_carlo import fitting_and_spread, on_many_grounds
from yardfall.core.chance.retake_order import in_order
from yardfall.core.design import Design
from yardfall.core.grading.band import Band
from yardfall.core.ground.profile import GroundProfile
from yardfall.core.numerics.interpolation import straight_between
from yardfall.core.uncertainty.accuracy import ErrorModel
from yardfall.core.uncertainty.true_ground import Numbers, draw_true_ground

DRAWS: Final = 4000
FIRST_DRAWS: Final = 500
"""As many are drawn first, and no more where all or none of them leave a line."""
MOST_NUMBERS: Final = 8_000_000
"""Draws times points of the ground: a line of more than 2,000 points gets fewer draws."""
MOST_KEPT: Final = 2_000_000
"""More normal numbers than these are made anew each time, for the memory they would take."""
SEED: Final = 20260101
TOO_CLOSE: Final = (0.05, 0.95)
KEPT: Final = 8
KEPT_NUMBERS: Final = 125_000
"""So many draws are kept, of so many numbers or fewer (1 MB)."""
MANY_KEPT: Final = 2
MANY_ROWS: Final = 200
"""And so many of more draws than that, on so few stations and readings (6 MB)."""
SPARSE: Final = 0.1
FULL_UP_TO: Final = 5000
"""A larger spread with a smaller share of it filled is worked as a sparse matrix."""
RETAKE_DRAWS: Final = 4000
FIRST_LOOK_DRAWS: Final = 1000
ERRORS: Final = np.linspace(-2.4, 2.4, 7)
"""What retaking a reading is worth is looked at for so many draws, and errors of so many times its
standard deviation."""
MANY_ERRORS: Final = ndtri((np.arange(400) + 0.5) / 400)
NEAREST: Final = 16
LOOKED_AT: Final = 24
LOOKED_AT_AGAIN: Final = 3
"""So many readings are looked at, those with the greatest shares of the spare's variance."""
RETAKES: Final = 3
WORTH_RETAKING: Final = 0.02
"""A reading with a smaller share of the spare's variance that settles less often is not listed."""


@dataclass(frozen=True)
class Retake:
    """A reading to take again: its share of the spare's variance, and the chance without it."""

    pointer: str
    at_m: float
    share: float
    chance_if_certain: float


@dataclass(frozen=True)
class Chance:
    """Share of the draws in which a line exists, and the readings that move it most.

    `spare_sigma_m` is the standard deviation of the spare in the draws."""

    chance: float
    spare_sigma_m: float
    retakes: tuple[Retake, ...]
    model: ErrorModel

    @property
    def too_close(self) -> bool:
        """Whether the readings cannot settle it."""
        return TOO_CLOSE[0] < self.chance < TOO_CLOSE[1]

    @property
    def clear(self) -> bool:
        """Whether the draws all say the same."""
        return self.chance in (0.0, 1.0)


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


def drawn_margins(
    design: Design, band: Band, change_m: Floats, *, fits_only: bool = False
) -> Floats:
    """The margin (d,) of the design's line on each other ground (n, d).

    One straight grade is held to one straight grade, one change of grade to one; with more allowed,
    any number of them counts. `fits_only`: that they leave a line or none is right, the rest not.
    """
    margin_m, _ = on_many_grounds(
        band,
        change_m,
        straight=design.straight,
        may_rise=design.start.shallowest_cover_m is not None,
        one_change=design.one_change,
        fits_only=fits_only,
    )
    return margin_m


def find_chance(
    design: Design, band: Band, draws: Draws, *, yes: bool, retake: bool = True
) -> Chance:
    """Chance, and the readings worth taking again unless the answer is a sure yes.

    `draws` are on the band's points; `yes` is the answer by the readings as they stand. `retake`
    false: the chance alone.
    """
    margin = drawn_margins(design, band, draws.change_m)
    fitting, spread_m = fitting_and_spread(margin)
    chance = fitting / len(margin)
    doubtful = retake and spread_m > 0 and not (yes and chance >= TOO_CLOSE[1])
    retakes = _retakes(design, band, draws, margin) if doubtful else ()
    return Chance(chance, spread_m, retakes, draws.model)


def share_that_fits(margin: Floats) -> float:
    """Share of margins (d,) that leave a line."""
    return fitting_and_spread(margin)[0] / len(margin)


def _fitting(design: Design, band: Band, change_m: Floats) -> float:
    """Share of other grounds (n, d) that leave a line."""
    return share_that_fits(drawn_margins(design, band, change_m, fits_only=True))


def variance_shares(errors: Floats, margin: Floats) -> NDArray[np.float64]:
    """Squared correlation (k,) of the margin (d,) with each reading's error (k, d)."""
    e = errors - errors.mean(axis=1, keepdims=True)
    m = margin - margin.mean()
    scale = np.sqrt((e**2).sum(axis=1) * (m**2).sum())
    return np.divide(e @ m, scale, out=np.zeros(len(e)), where=scale > 0) ** 2


def chances_given(design: Design, band: Band, draws: Draws, k: int) -> Floats:
    """The chance (e,) where reading k's error proves to be each of ERRORS times its deviation.

    What is drawn goes with the error by their regression, as normal errors do. Told as a normal
    deviate.
    """
    about, per_error = draws.going_with(k)
    middle, deviation = draws.change_m - np.outer(per_error, about), float(about.std())
    return _deviates(
        [
            _fitting(design, band, middle + (per_error * (one * deviation))[:, None])
            for one in ERRORS
        ]
    )


def _deviates(chances: Sequence[float]) -> Floats:
    one_draw = 0.5 / RETAKE_DRAWS
    found: Floats = ndtri(np.clip(chances, one_draw, 1 - one_draw))
    return found


def settled_share(deviates: Floats) -> tuple[float, float]:
    """How often a reading's error would settle the answer, and the variance of the chance.

    `deviates` (e,) are of the chance at each of ERRORS; between these they run straight.
    """
    between = ndtr(np.interp(MANY_ERRORS, ERRORS, deviates))
    settled = (between >= TOO_CLOSE[1]) | (between <= TOO_CLOSE[0])
    return float(settled.mean()), float(between.var())


def by_worth(design: Design, band: Band, draws: Draws, margin: Floats) -> list[int]:
    """The readings to take again, that first which settles the answer most often.

    All are looked at by a few of the draws, at the points that come nearest to binding; then the
    best of them, and those with the greatest shares of the spare's variance, by more of both.
    """
    shares, told = variance_shares(draws.errors_m, margin), share_that_fits(margin)
    by_share = [int(k) for k in np.argsort(-shares)]
    rows = band.tightest(NEAREST)
    few = draws.first(FIRST_LOOK_DRAWS).at_points(rows)
    roughly = _worth(design, band.only(rows), few, by_share[:LOOKED_AT], told)
    best = sorted(roughly, key=roughly.__getitem__, reverse=True)[:LOOKED_AT_AGAIN]
    likely = list(dict.fromkeys([*best, *by_share[:LOOKED_AT_AGAIN]]))
    worth = _worth(design, band, draws.first(RETAKE_DRAWS), likely, told)
    listed = [k for k in likely if max(shares[k], worth[k][0]) >= WORTH_RETAKING]
    return in_order(listed, worth)


def _worth(
    design: Design, band: Band, draws: Draws, readings: Sequence[int], told: float
) -> dict[int, tuple[float, float]]:
    """`settled_share` of each reading; what these draws leave out of the chance is made up."""
    here = _fitting(design, band, draws.change_m)
    among_few, among_all = _deviates([here, told])
    return {
        k: settled_share(chances_given(design, band, draws, k) + (among_all - among_few))
        for k in readings
    }


def _retakes(design: Design, band: Band, draws: Draws, margin: Floats) -> tuple[Retake, ...]:
    model, shares = draws.model, variance_shares(draws.errors_m, margin)

    def chance_without(k: int) -> float:
        return _fitting(design, band, draws.without(k))

    worth = by_worth(design, band, draws, margin)[:RETAKES]
    return tuple(
        Retake(model.pointers[read], float(model.at_m[read]), float(shares[k]), chance_without(k))
        for k, read in zip(worth, map(model.reading_of, worth), strict=True)
    )
