"""How the ground falls around the end of a line."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.core.ground.profile import FallAround

STRAIGHT: Final = ((0, 1), (1, 0), (0, -1), (-1, 0))

DIAGONAL: Final = ((1, 1), (1, -1), (-1, -1), (-1, 1))

KNIGHT: Final = ((1, 2), (2, 1), (2, -1), (1, -2), (-1, -2), (-2, -1), (-2, 1), (-1, 2))


def fall_along_ways(
    elevation_m: Callable[[Floats], Floats],
    dx_m: float,
    dy_m: float,
    within_m: float,
    end_m: float,
) -> FallAround | None:
    """How the ground falls around the end of a line, a step at a time along the sixteen ways.

    `elevation_m` tells it (n,) at points (n, 2) so many steps down and across from the end. A way
    ends where the ground is not known. None where no step is short enough.
    """
    ways = np.array((*STRAIGHT, *DIAGONAL, *KNIGHT))  # down, across
    step_m = np.hypot(ways[:, 0] * dy_m, ways[:, 1] * dx_m)
    most = int(within_m / step_m.min())
    if not most:
        return None
    along = np.arange(1, most + 1)
    steps = (along[:, None, None] * ways[None]).reshape(-1, 2)
    values = elevation_m(np.vstack([np.zeros((1, 2)), steps]))
    fall_m = values[0] - values[1:].reshape(most, len(ways))
    fall_m[np.logical_or.accumulate(np.isnan(fall_m), axis=0)] = -np.inf
    distance_m = along[:, None] * step_m
    near = distance_m <= within_m
    order = np.argsort(distance_m[near], kind="stable")
    most_m = np.maximum.accumulate(np.maximum(fall_m[near][order], 0.0))
    return FallAround(
        end_m,
        np.concatenate([[0.0], distance_m[near][order]]),
        np.concatenate([[0.0], most_m]),
    )
