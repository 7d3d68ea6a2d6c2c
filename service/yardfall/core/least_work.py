"""The least digging and filling that makes a trench pass, exactly.

    minimise    Σ wᵢ·|yᵢ − zᵢ|        z as it lies, y as it should be left
    where       loᵢ ≤ yᵢ ≤ hiᵢ,  yᵢ − yᵢ₊₁ ≥ dropᵢ,  y₀ − yₙ ≥ fall

A linear program. With the drops before each point added to its levels every comparison is of two
levels alone, and some optimum takes each yᵢ from the levels zⱼ, loⱼ, hiⱼ, and those one `fall`
above or below (a tight chain of comparisons hangs on one of them). So a pass along the line over
that finite set of levels finds it.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from yardfall.core.route import Floats

GRID_DECIMALS: Final = 9
"""Levels are compared in whole nanometres, so that equal levels are equal."""
FILL_PREMIUM: Final = 1e-6
"""Between equals shaving is taken: fill must be tamped (common practice, no source)."""


def least_work(
    level_m: Floats, lo_m: Floats, hi_m: Floats, weight: Floats, drop_m: Floats, fall_m: float
) -> Floats | None:
    """Levels (n,) to leave, with the least work from `level_m` (n,); None where nothing passes.

    `weight` (n,) is the length of trench that goes with each point, `drop_m` (n - 1,) the least
    drop to the next, `fall_m` the least from the first to the last.
    """
    dropped = np.concatenate([[0.0], np.cumsum(drop_m)])
    z, lo, hi = (np.round(a + dropped, GRID_DECIMALS) for a in (level_m, lo_m, hi_m))
    fall = round(fall_m - float(dropped[-1]), GRID_DECIMALS)
    own = np.concatenate([z, lo, hi])
    own = own[np.isfinite(own)]
    levels = np.unique(np.round(np.concatenate([own, own + fall, own - fall]), GRID_DECIMALS))
    miss = levels[None, :] - z[:, None]
    cost = np.asarray(weight)[:, None] * (np.abs(miss) + FILL_PREMIUM * np.maximum(miss, 0.0))
    cost[(levels[None, :] < lo[:, None]) | (levels[None, :] > hi[:, None])] = np.inf

    found = _pass(cost, len(levels))
    if found is not None and levels[found[0]] - levels[found[-1]] >= fall - 1e-12:
        return levels[found] - dropped
    found = _held_apart(cost, levels, fall)
    return None if found is None else levels[found] - dropped


def _held_apart(cost: Floats, levels: Floats, fall: float) -> list[int] | None:
    """The cheapest levels with the whole fall kept, by halving on the level of the first point.

    The least cost is convex in that level, and without bound below some level.
    """
    firsts = np.flatnonzero(np.isfinite(cost[0]))
    tried: dict[int, tuple[float, list[int] | None]] = {}

    def held(k: int) -> tuple[float, list[int] | None]:
        if k not in tried:
            first = int(firsts[k])
            ways = cost.copy()
            ways[0] = np.inf
            ways[0, first] = cost[0, first]
            ways[-1, levels > levels[first] - fall + 1e-12] = np.inf
            found = _pass(ways, len(levels))
            total = np.inf if found is None else float(ways[np.arange(len(ways)), found].sum())
            tried[k] = (total, found)
        return tried[k]

    low, high = 0, len(firsts) - 1
    while low < high:
        middle = (low + high) // 2
        here = held(middle)[0]
        if np.isfinite(here) and here <= held(middle + 1)[0]:
            high = middle
        else:
            low = middle + 1
    return held(low)[1] if len(firsts) else None


def _pass(cost: Floats, count: int) -> list[int] | None:
    """Index of the level of each point, never rising downstream, of least cost; None: no way."""
    best = cost[0]
    came: list[np.ndarray] = []
    for here in cost[1:]:
        # the cheapest way to any level at or above each one, and which level that was
        turned = best[::-1]
        least = np.minimum.accumulate(turned)
        first = np.maximum.accumulate(
            np.where(np.r_[True, least[1:] < least[:-1]], np.arange(count), 0)
        )
        came.append((count - 1 - first)[::-1])
        best = least[::-1] + here
    last = int(np.argmin(best))
    if not np.isfinite(best[last]):
        return None
    found = [last]
    for back in reversed(came):
        found.append(int(back[found[-1]]))
    return found[::-1]
