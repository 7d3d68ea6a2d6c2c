"""How sure the answer is: the readings carry errors, so draw them many times and count.

Errors are independent from reading to reading; what is common to all of them cancels in every
fall and is left out. The draws are seeded, so the same request gets the same answer.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from yardfall.core.accuracy import ErrorModel
from yardfall.core.band import Band
from yardfall.core.decision import Decision, Design
from yardfall.core.many_grounds import fitting_and_spread, on_many_grounds, straight_between
from yardfall.core.route import Floats

DRAWS: Final = 4000
SEED: Final = 20260101
TOO_CLOSE: Final = (0.05, 0.95)
SPARSE: Final = 0.1
FULL_UP_TO: Final = 5000
"""A larger spread with a smaller share of it filled is worked as a sparse matrix."""
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
    """Seeded errors of one sigma (k, d) and a model whose `spread` reaches the points."""

    standard: Floats
    model: ErrorModel

    @property
    def errors_m(self) -> Floats:
        """Each reading's errors (k, d)."""
        return self.standard * self.model.sigma_m[:, None]

    def ground_change_m(self, without: int | None = None) -> Floats:
        """Error of the ground (n, d), with one reading taken as certain if told."""
        sigma_m = self.model.sigma_m
        if without is not None:
            sigma_m = sigma_m.copy()
            sigma_m[without] = 0.0
        full = self.model.spread * sigma_m
        few = full.size > FULL_UP_TO and np.count_nonzero(full) < SPARSE * full.size
        spread: Floats | csr_array = csr_array(full) if few else full
        return spread @ self.standard


def draw(model: ErrorModel, count: int = DRAWS, seed: int = SEED) -> Draws:
    """Draw every reading's error `count` times."""
    return Draws(_standard_errors(count, len(model.sigma_m), seed), model)


@lru_cache(maxsize=8)
def _standard_errors(count: int, readings: int, seed: int) -> Floats:
    """Standard normal errors (readings, count), the same each time; not to be written to."""
    drawn = np.random.default_rng(seed).standard_normal((readings, count))
    drawn.flags.writeable = False
    return drawn


def onto(model: ErrorModel, from_m: Floats, to_m: Floats) -> ErrorModel:
    """The model carried from points at `from_m` to points at `to_m`, straight between."""
    spread = straight_between(np.ascontiguousarray(model.spread), from_m, to_m)
    return replace(model, spread=spread)


def drawn_margins(design: Design, band: Band, change_m: Floats) -> Floats:
    """The margin (d,) of the design's line on each other ground (n, d).

    One straight grade is held to one straight grade; with grade changes allowed, any number of
    them counts.
    """
    margin_m, _ = on_many_grounds(
        band,
        change_m,
        straight=design.straight,
        may_rise=design.start.shallowest_cover_m is not None,
    )
    return margin_m


def find_chance(
    design: Design, decision: Decision, draws: Draws, change_m: Floats, *, retake: bool = True
) -> Chance:
    """Chance, and the readings worth taking again unless the answer is a sure yes.

    `change_m` (n, d) is what `draws` give. `retake` false: the chance alone.
    """
    margin = drawn_margins(design, decision.band, change_m)
    fitting, spread_m = fitting_and_spread(margin)
    chance = fitting / len(margin)
    doubtful = retake and spread_m > 0 and not (decision.yes and chance >= TOO_CLOSE[1])
    retakes = _retakes(design, decision, draws, margin) if doubtful else ()
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


def _retakes(
    design: Design, decision: Decision, draws: Draws, margin: Floats
) -> tuple[Retake, ...]:
    shares = variance_shares(draws.errors_m, margin)
    first = [int(k) for k in np.argsort(-shares)[:RETAKES] if shares[k] >= WORTH_RETAKING]

    def chance_without(k: int) -> float:
        change_m = draws.ground_change_m(without=k)
        return share_that_fits(drawn_margins(design, decision.band, change_m))

    return tuple(
        Retake(
            draws.model.pointers[k],
            float(draws.model.at_m[k]),
            float(shares[k]),
            chance_without(k),
        )
        for k in first
    )
