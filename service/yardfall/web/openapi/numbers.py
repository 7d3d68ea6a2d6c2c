"""Numbers as they go into JSON."""

from __future__ import annotations

import math
from typing import Any, Final

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.sentences import say

DIGITS: Final = 6
"""Numbers are given to a millionth of their unit: far finer than any tape, and free of noise."""
STEPS: Final = 10.0**DIGITS


def rounded(value: float) -> float | None:
    """A number for JSON; None for one that is not finite."""
    return round(value * STEPS) / STEPS if math.isfinite(value) else None


def percent_words(chance: float) -> str:
    """A chance in words: `"about 62 %"`."""
    percent = chance * 100
    if percent > 99:
        return say("chance.most")
    return say("chance.least") if percent < 1 else say("chance.about", percent=f"{percent:.0f}")


def scaled(values: Floats, unit_m: float | Floats) -> list[Any]:
    """An array (n,) in another unit, for JSON; or (n, k), each column in its own (k,)."""
    in_steps: Floats = np.rint(values * (STEPS / unit_m)) + 0.0
    return (in_steps / STEPS).tolist()
