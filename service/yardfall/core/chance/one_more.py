"""What one more reading would settle, where taking one again settles nothing.

Each draw is a ground that the readings allow. A reading at a further station that finds z, of
standard error σ, leaves those grounds as likely as

    w = exp(−(z_drawn − z)² / 2σ²)

(Bayes' rule for an error that is normal), lawns among them that explain it worse. So what is told
needs no new draws, and holds if z is what the draws make most likely there: their mean.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from yardfall.core.arrays import Floats, Mask
from yardfall.core.chance.chance import TOO_CLOSE, Bands, Chance, drawn_margins
from yardfall.core.chance.draws import Draws
from yardfall.core.design import Design
from yardfall.core.grading.band import DECISION_SLACK_M
from yardfall.core.numerics.interpolation import straight_between

FINEST: Final = 0.125
"""A reading is taken to tell no more than this share of the draws' deviation, so that some hundreds
of them lie about it."""
WORTH_READING: Final = 0.02
"""So much surer the answer must get."""


@dataclass(frozen=True)
class OneMore:
    """Where to read the ground as well, and the chance if it lies there as the draws have it."""

    at_m: float
    chance: float


def one_more_reading(design: Design, bands: Bands, draws: Draws, chance: Chance) -> OneMore | None:
    """The station midway between two readings that settles most; None where none settles more.

    `draws` are on the bands' points. Only for ground that is read along the line: of a raster's
    cells and of ground that is straight between readings there is nothing more to read.
    """
    seen, settles = draws.model.seen, [_surely(one.chance_if_certain) for one in chance.retakes]
    if seen is None or not seen.along or max(settles, default=0.0) >= TOO_CLOSE[1]:
        return None
    at_m = bands[0].at_m
    read_m = np.unique(seen.places_m[:, 0])
    read_m = read_m[(read_m >= at_m[0]) & (read_m <= at_m[-1])]
    middles_m = (read_m[1:] + read_m[:-1]) / 2
    if not len(middles_m):
        return None
    fits = drawn_margins(design, bands, draws.change_m, fits_only=True) >= -DECISION_SLACK_M
    found = [
        OneMore(at_m, _chance_if_mean(here_m, fits, draws.model.typical_m))
        for at_m, here_m in zip(
            middles_m.tolist(), straight_between(draws.change_m, at_m, middles_m), strict=True
        )
    ]
    best = max(found, key=lambda one: _surely(one.chance))
    surer = max([_surely(chance.chance), *settles]) + WORTH_READING
    return best if _surely(best.chance) >= surer else None


def _surely(chance: float) -> float:
    return max(chance, 1 - chance)


def _chance_if_mean(here_m: Floats, fits: Mask, sigma_m: float) -> float:
    """Share of the draws that fit, each as likely as a reading of their mean leaves it."""
    off_m = here_m - here_m.mean()
    sigma_m = max(sigma_m, FINEST * float(off_m.std()), 1e-9)
    weight = np.exp(-((off_m / sigma_m) ** 2) / 2)
    return float(weight @ fits / weight.sum())
