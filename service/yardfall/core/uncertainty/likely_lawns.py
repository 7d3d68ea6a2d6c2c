"""Which kind of ground what was read speaks for, and how loudly."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import LinAlgError, cho_factor, solve_triangular

from yardfall.core.arrays import Floats
from yardfall.core.errors import InputError
from yardfall.core.uncertainty.lawns import BROKEN, Lawn, covariance

TINY_M2: Final = 1e-10
"""A hundredth of a millimetre, squared, on each diagonal: for the factors to exist."""
MOST_TRIES: Final = 10
FIRST_PLACES: Final = 100
"""The kinds of ground are weighed by no more places than these."""
LEAST_SHARE: Final = 0.01
"""A kind of ground that is less likely than this is not drawn."""
SAME_DIRECTION: Final = 1e-12


def kinds_by_shares(
    kinds: list[tuple[Lawn, Floats]], places_m: Floats, z_m: Floats, count: int
) -> NDArray[np.intp]:
    """The kind of ground of each of `count` draws, by what was read at places (k, 2).

    A kind is a lawn, and the covariance of the errors there (k, k).
    """
    places = places_m - places_m[0]
    rest = Trend.at(places).left_of(z_m)
    ends = draw_ends(shares_of(likelihoods(kinds, places), rest), count)
    found: NDArray[np.intp] = np.repeat(np.arange(len(kinds)), np.diff([0, *ends]))
    return found


def draw_ends(shares: Floats, count: int) -> NDArray[np.int64]:
    """Where each kind's draws end, of so many."""
    ends: NDArray[np.int64] = np.rint(np.cumsum(shares) * count).astype(np.int64)
    return ends


@dataclass(frozen=True, eq=False)
class Trend:
    """Level and slopes of k places, as three directions (k, 3) at right angles."""

    directions: Floats

    @classmethod
    def at(cls, places: Floats) -> Trend:
        """Of places (k, 2)."""
        u, size, _ = np.linalg.svd(
            np.column_stack([np.ones(len(places)), places]), full_matrices=False
        )
        return cls(u[:, size > SAME_DIRECTION * size[0]])

    def left_of(self, z_m: Floats) -> Floats:
        """What is left (k,) of what was read without the level and slopes that fit best."""
        found: Floats = z_m - self.directions @ (self.directions.T @ z_m)
        return found


def cholesky(covariance: Floats) -> Floats:
    """Lower factor of a covariance. On a line of kilometres its level and slope round off more
    than TINY_M2: then as much is put on the diagonal as they do."""
    diagonal = np.diag_indices_from(covariance)
    more_m2 = TINY_M2
    for _ in range(MOST_TRIES):
        covariance[diagonal] += more_m2
        try:
            factor, _ = cho_factor(covariance, lower=True, check_finite=False)
            return factor
        except LinAlgError:
            more_m2 *= 10
    raise InputError.at(
        "/ground",
        "These readings differ by too much, or stand too close, to tell how sure they are.",
    )


@dataclass(frozen=True, eq=False)
class Likelihood:
    """How likely a kind of ground is before its levels are read, and what they make of it."""

    few: NDArray[np.intp]
    whitening: Floats
    log_share: float

    def of(self, rest_m: Floats) -> float:
        """Logarithm, but for what is common to all kinds."""
        z = self.whitening @ rest_m[self.few]
        return float(self.log_share - 0.5 * z @ z)


def likelihoods(
    kinds: list[tuple[Lawn, Floats]], places: Floats, by_hand: int = 0
) -> list[Likelihood]:
    """Of each kind, by no more than FIRST_PLACES of the places (k, 2), and the last `by_hand`."""
    count = len(places) - by_hand
    few = np.unique(np.linspace(0, count - 1, min(count, FIRST_PLACES)).astype(np.intp))
    few = np.append(few, np.arange(count, len(places)))
    lawns = sum(lawn.share for lawn, _ in kinds if lawn is not BROKEN)
    found = []
    for lawn, error in kinds:
        factor = cholesky(covariance(places[few], places[few], lawn) + error[np.ix_(few, few)])
        prior = lawn.share / (1.0 if lawn is BROKEN else lawns)
        whitening = solve_triangular(factor, np.eye(len(few)), lower=True, check_finite=False)
        log_share = float(np.log(prior) - np.log(np.diag(factor)).sum())
        found.append(Likelihood(few, whitening, log_share))
    return found


def shares_of(likelihoods: list[Likelihood], rest: Floats) -> Floats:
    """How likely each kind of ground is, by what was read and its prior share."""
    if len(likelihoods) == 1:
        return np.ones(1)
    likely = np.array([one.of(rest) for one in likelihoods])
    share = np.exp(likely - likely.max())
    share[share < LEAST_SHARE * share.sum()] = 0.0
    found: Floats = share / share.sum()
    return found
