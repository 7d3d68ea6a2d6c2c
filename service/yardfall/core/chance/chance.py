"""How sure the answer is: draw the ground as it may truly lie, many times, and count.

What is common to all readings cancels in every fall and is left out. The draws are seeded, so the
same request gets the same answer.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from yardfall.core.arrays import Floats
from yardfall.core.chance.draws import Draws
from yardfall.core.chance.monte_carlo import fitting_and_spread, on_many_grounds
from yardfall.core.chance.retake_order import in_order
from yardfall.core.design import Design
from yardfall.core.grading.band import DECISION_SLACK_M, Band
from yardfall.core.uncertainty.accuracy import ErrorModel

FIRST_DRAWS: Final = 500
"""As many are drawn first, and no more where all or none of them leave a line."""
TOO_CLOSE: Final = (0.05, 0.95)
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


Bands = Sequence[Band]
"""Limits on the same points, one band for each way that crossings may be passed."""


def drawn_margins(
    design: Design, bands: Bands, change_m: Floats, *, fits_only: bool = False
) -> Floats:
    """The margin (d,) of the design's line on each other ground (n, d), by the best of its bands.

    One straight grade is held to one straight grade, one change of grade to one; with more allowed,
    any number of them counts. `fits_only`: that they leave a line or none is right, the rest not.
    """

    def by(band: Band, grounds_m: Floats) -> Floats:
        return on_many_grounds(
            band,
            grounds_m,
            straight=design.straight,
            may_rise=design.start.shallowest_cover_m is not None,
            one_change=design.one_change,
            fits_only=fits_only,
        )[0]

    margin_m = by(bands[0], change_m)
    for band in bands[1:]:
        if not fits_only:
            margin_m = np.maximum(margin_m, by(band, change_m))
            continue
        left = np.flatnonzero(margin_m < -DECISION_SLACK_M)
        if len(left):
            margin_m[left] = np.maximum(margin_m[left], by(band, change_m[:, left]))
    return margin_m


def find_chance(
    design: Design, bands: Bands, draws: Draws, *, yes: bool, retake: bool = True
) -> Chance:
    """Chance, and the readings worth taking again unless the answer is a sure yes.

    `draws` are on the bands' points; `yes` is the answer by the readings as they stand. `retake`
    false: the chance alone.
    """
    margin = drawn_margins(design, bands, draws.change_m)
    fitting, spread_m = fitting_and_spread(margin)
    chance = fitting / len(margin)
    doubtful = retake and spread_m > 0 and not (yes and chance >= TOO_CLOSE[1])
    retakes = _retakes(design, bands, draws, margin) if doubtful else ()
    return Chance(chance, spread_m, retakes, draws.model)


def share_that_fits(margin: Floats) -> float:
    """Share of margins (d,) that leave a line."""
    return fitting_and_spread(margin)[0] / len(margin)


def _fitting(design: Design, bands: Bands, change_m: Floats) -> float:
    """Share of other grounds (n, d) that leave a line."""
    return share_that_fits(drawn_margins(design, bands, change_m, fits_only=True))


def variance_shares(errors: Floats, margin: Floats) -> NDArray[np.float64]:
    """Squared correlation (k,) of the margin (d,) with each reading's error (k, d)."""
    e = errors - errors.mean(axis=1, keepdims=True)
    m = margin - margin.mean()
    scale = np.sqrt((e**2).sum(axis=1) * (m**2).sum())
    return np.divide(e @ m, scale, out=np.zeros(len(e)), where=scale > 0) ** 2


def chances_given(design: Design, bands: Bands, draws: Draws, k: int) -> Floats:
    """The chance (e,) where reading k's error proves to be each of ERRORS times its deviation.

    What is drawn goes with the error by their regression, as normal errors do. Told as a normal
    deviate.
    """
    about, per_error = draws.going_with(k)
    middle, deviation = draws.change_m - np.outer(per_error, about), float(about.std())
    return _deviates(
        [
            _fitting(design, bands, middle + (per_error * (one * deviation))[:, None])
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


def by_worth(design: Design, bands: Bands, draws: Draws, margin: Floats) -> list[int]:
    """The readings to take again, that first which settles the answer most often.

    All are looked at by a few of the draws, at the points that come nearest to binding; then the
    best of them, and those with the greatest shares of the spare's variance, by more of both.
    """
    shares, told = variance_shares(draws.errors_m, margin), share_that_fits(margin)
    by_share = [int(k) for k in np.argsort(-shares)]
    rows = np.unique(np.concatenate([band.tightest(NEAREST) for band in bands]))
    few = draws.first(FIRST_LOOK_DRAWS).at_points(rows)
    roughly = _worth(design, [band.only(rows) for band in bands], few, by_share[:LOOKED_AT], told)
    best = sorted(roughly, key=roughly.__getitem__, reverse=True)[:LOOKED_AT_AGAIN]
    likely = list(dict.fromkeys([*best, *by_share[:LOOKED_AT_AGAIN]]))
    worth = _worth(design, bands, draws.first(RETAKE_DRAWS), likely, told)
    listed = [k for k in likely if max(shares[k], worth[k][0]) >= WORTH_RETAKING]
    return in_order(listed, worth)


def _worth(
    design: Design, bands: Bands, draws: Draws, readings: Sequence[int], told: float
) -> dict[int, tuple[float, float]]:
    """`settled_share` of each reading; what these draws leave out of the chance is made up."""
    here = _fitting(design, bands, draws.change_m)
    among_few, among_all = _deviates([here, told])
    return {
        k: settled_share(chances_given(design, bands, draws, k) + (among_all - among_few))
        for k in readings
    }


def _retakes(design: Design, bands: Bands, draws: Draws, margin: Floats) -> tuple[Retake, ...]:
    model, shares = draws.model, variance_shares(draws.errors_m, margin)

    def chance_without(k: int) -> float:
        return _fitting(design, bands, draws.without(k))

    worth = by_worth(design, bands, draws, margin)[:RETAKES]
    return tuple(
        Retake(model.pointers[read], float(model.at_m[read]), float(shares[k]), chance_without(k))
        for k, read in zip(worth, map(model.reading_of, worth), strict=True)
    )
