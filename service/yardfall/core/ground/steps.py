"""Ground stepped down a slope: with a board and a level, an A-frame, a short string moved along.

Each step starts where the one before ended, so its error is carried to the end: after k steps of
standard error s the random part is s·√k, and what a level that is not turned end for end reads
wrong by the metre grows with the distance itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.core.ground.profile import ASSUMED_DATUM, GroundProfile


@dataclass(frozen=True)
class Step:
    """One step: its length on the level, and how far the ground drops along it (up: negative)."""

    length_m: float
    drop_m: float


def from_steps(steps: Sequence[Step]) -> GroundProfile:
    """Ground through the ends of the steps; elevation 0 at station 0."""
    at_m = np.concatenate([[0.0], np.cumsum([step.length_m for step in steps])])
    down_m = np.concatenate([[0.0], np.cumsum([step.drop_m for step in steps])])
    return GroundProfile(at_m, -down_m, "reading", ASSUMED_DATUM)


def spread_of_steps(steps: int) -> Floats:
    """How far each of k steps' drops moves each of the k + 1 points, (k + 1, k)."""
    return -np.tri(steps + 1, steps, -1)
