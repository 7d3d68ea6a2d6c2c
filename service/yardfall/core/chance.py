"""How sure the answer is: draw the ground as it may truly lie, many times, and count.

What is common to all readings cancels in every fall and is left out. The draws are seeded, so the
same request gets the same answer.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from yardfall.core.accuracy import ErrorModel
from yardfall.core.band import DECISION_SLACK_M, Band
from yardfall.core.decision import Design
from yardfall.core.ground import GroundProfile
from yardfall.core.many_grounds import fitting_and_spread, on_many_grounds, straight_between
from yardfall.core.route import Floats
from yardfall.core.true_ground import draw_true_ground

DRAWS: Final = 4000
SEED: Final = 20260101
TOO_CLOSE: Final = (0.05, 0.95)
SPARSE: Final = 0.1
FULL_UP_TO: Final = 5000
"""A larger spread with a smaller share of it filled is worked as a sparse matrix."""
ROWS: Final = 64
"""Normal numbers are kept by so many rows, so that lines of about a length share them."""
WINDOWS: Final = 20
"""The chance given a reading's error is told by one in so many of the draws."""
RETAKES: Final = 3
WORTH_RETAKING: Final = 0.02
"""A reading with a smaller share of the spare's variance is not listed."""


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

    `spare_sigma_m` is the standard error of the spare: the standard deviation of the draws'.
    """

    chance: float
    spare_sigma_m: float
    retakes: tuple[Retake, ...]
    model: ErrorModel

    @property
    def too_close(self) -> bool:
        """Whether the readings cannot settle it."""
        return TOO_CLOSE[0] < self.chance < TOO_CLOSE[1]


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

    def onto(self, at_m: Floats) -> Draws:
        """The same at other stations (m,), straight between these."""
        if len(at_m) == len(self.at_m) and (at_m == self.at_m).all():
            return self
        return replace(self, at_m=at_m, change_m=straight_between(self.change_m, self.at_m, at_m))

    def first(self, count: int) -> Draws:
        """The first `count` draws."""
        return replace(
            self,
            change_m=np.ascontiguousarray(self.change_m[:, :count]),
            errors_m=self.errors_m[:, :count],
        )

    def without(self, k: int) -> Floats:
        """The change (n, d) where reading k proves free of error."""
        error = self.errors_m[k]
        about = error - error.mean()
        square = float(about @ about)
        if square == 0:
            return self.change_m
        return self.change_m - np.outer(self.change_m @ about / square, error)


def draw(model: ErrorModel, count: int = DRAWS, seed: int = SEED) -> Draws:
    """Draw the ground and every reading's error `count` times."""
    seen = model.seen
    if seen is None:
        errors_m = _standard_normal(count, len(model.sigma_m), seed) * model.sigma_m[:, None]
        filled = np.count_nonzero(model.spread)
        few = model.spread.size > FULL_UP_TO and filled < SPARSE * model.spread.size
        spread: Floats | csr_array = csr_array(model.spread) if few else model.spread
        return Draws(model.ground_at_m, spread @ errors_m, errors_m, model)
    rows = len(seen.read_m) + len(seen.own_m)
    standard, order = _single(count, -(-rows // ROWS) * ROWS, seed)
    change_m, errors_m = draw_true_ground(seen, standard, order)
    if model.of_cells:  # the error of the ground itself, here and there
        errors_m = straight_between(change_m, model.ground_at_m, model.at_m)
    return Draws(model.ground_at_m, change_m, errors_m, model)


def draw_again(draws: Draws, ground: GroundProfile) -> Draws:
    """As many draws where the ground at the readings is another, as if it had been read so."""
    seen = draws.model.seen
    if seen is None or not seen.along:
        return draws
    read_m = ground.elevation(draws.at_m)
    model = replace(draws.model, seen=replace(seen, z_m=ground.elevation_m, read_m=read_m))
    return draw(model, draws.change_m.shape[1])


def drawn_on(ground: GroundProfile, draws: Draws | None) -> GroundProfile:
    """The ground as read, with the stations where the true one is drawn among its points."""
    if draws is None or draws.model.seen is None:
        return ground
    at_m = np.union1d(ground.at_m, draws.at_m)
    return replace(ground, at_m=at_m, elevation_m=ground.elevation(at_m))


@lru_cache(maxsize=8)
def _standard_normal(count: int, rows: int, seed: int) -> Floats:
    """Standard normal numbers (rows, count), the same each time; not to be written to."""
    drawn = np.random.default_rng(seed).standard_normal((rows, count))
    drawn.flags.writeable = False
    return drawn


@lru_cache(maxsize=8)
def _single(count: int, rows: int, seed: int) -> tuple[NDArray[np.float32], NDArray[np.intp]]:
    """Standard normal numbers (rows, count) in single precision, and an order of the draws."""
    rng = np.random.default_rng(seed)
    drawn = rng.standard_normal((rows, count), dtype=np.float32)
    drawn.flags.writeable = False
    return drawn, rng.permutation(count)


def drawn_margins(design: Design, band: Band, change_m: Floats) -> Floats:
    """The margin (d,) of the design's line on each other ground (n, d).

    One straight grade is held to one straight grade, one change of grade to one; with more allowed,
    any number of them counts.
    """
    margin_m, _ = on_many_grounds(
        band,
        change_m,
        straight=design.straight,
        may_rise=design.start.shallowest_cover_m is not None,
        one_change=design.one_change,
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


def variance_shares(errors: Floats, margin: Floats) -> NDArray[np.float64]:
    """Squared correlation (k,) of the margin (d,) with each reading's error (k, d)."""
    e = errors - errors.mean(axis=1, keepdims=True)
    m = margin - margin.mean()
    scale = np.sqrt((e**2).sum(axis=1) * (m**2).sum())
    return np.divide(e @ m, scale, out=np.zeros(len(e)), where=scale > 0) ** 2


def settled_shares(errors: Floats, margin: Floats) -> tuple[Floats, Floats]:
    """How often a reading (k,) taken again would settle the answer, and how far it moves chances.

    The second is the variance of the chance (k,) once the reading's error (k, d) is known. Both by
    the draws themselves: near in a reading's error, they tell the chance given that error.
    """
    fits = margin >= -DECISION_SLACK_M
    about = np.argsort(errors, axis=1)
    ranked = np.take_along_axis(np.broadcast_to(fits, errors.shape), about, axis=1)
    window = max(len(margin) // WINDOWS, 1)
    total = np.cumsum(ranked, axis=1, dtype=np.float64)
    chance = (total[:, window:] - total[:, :-window]) / window
    settled = (chance >= TOO_CLOSE[1]) | (chance <= TOO_CLOSE[0])
    return settled.mean(axis=1), chance.var(axis=1)


def _retakes(design: Design, band: Band, draws: Draws, margin: Floats) -> tuple[Retake, ...]:
    shares = variance_shares(draws.errors_m, margin)
    settled, moved = settled_shares(draws.errors_m, margin)
    by_worth = np.lexsort((-moved, -settled))
    first = [int(k) for k in by_worth if shares[k] >= WORTH_RETAKING][:RETAKES]

    def chance_without(k: int) -> float:
        return share_that_fits(drawn_margins(design, band, draws.without(k)))

    return tuple(
        Retake(
            draws.model.pointers[k],
            float(draws.model.at_m[k]),
            float(shares[k]),
            chance_without(k),
        )
        for k in first
    )
