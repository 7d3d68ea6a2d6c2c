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
from numpy.typing import NDArray

from yardfall.core.arrays import Floats
from yardfall.core.asbuilt.ponding import READING_SLACK_M

GRID_DECIMALS: Final = 9
"""Levels are compared in whole nanometres, so that equal levels are equal."""
FILL_PREMIUM: Final = 1e-6
"""Of two equal choices digging is taken: fill must be tamped (common practice, no source)."""


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
    own = np.unique(np.concatenate([z, lo, hi]))
    own = own[np.isfinite(own)]
    found = _pass(_costs(own, z, lo, hi, weight))
    if found is None:
        return None
    if own[found[0]] - own[found[-1]] >= fall - 1e-12:
        return own[found] - dropped
    above = np.round(np.concatenate([own, own + fall]), GRID_DECIMALS)
    levels = np.unique(np.concatenate([above, np.round(own - fall, GRID_DECIMALS)]))
    found = _held_apart(_costs(levels, z, lo, hi, weight), levels, fall, np.isin(levels, above))
    return None if found is None else levels[found] - dropped


MOST_MARKS: Final = 64
"""Marks tried at one station; a tolerance of more is worked out without them."""


def least_marks(
    level_m: Floats, lo_m: Floats, hi_m: Floats, weight: Floats, drop_m: Floats, step_m: float
) -> Floats | None:
    """The same in whole steps of a tape, up or down by (n,) m; None where no whole steps pass, or
    where bounds lie MOST_MARKS apart."""
    first = np.ceil((lo_m - level_m - READING_SLACK_M) / step_m).astype(int)
    last = np.floor((hi_m - level_m + READING_SLACK_M) / step_m).astype(int)
    if (last < first).any() or (last - first >= MOST_MARKS).any():
        return None
    ways, costs = [], []
    for low, high, w in zip(first.tolist(), last.tolist(), weight, strict=True):
        here = np.arange(low, high + 1) * step_m
        ways.append(here)
        costs.append(w * (np.abs(here) + FILL_PREMIUM * np.maximum(here, 0.0)))
    best, came = costs[0], []
    for i in range(1, len(ways)):
        above = (level_m[i - 1] + ways[i - 1])[:, None]
        open_to = above - (level_m[i] + ways[i]) >= drop_m[i - 1] - READING_SLACK_M
        reached = np.where(open_to, best[:, None], np.inf)
        came.append(reached.argmin(axis=0))
        best = reached.min(axis=0) + costs[i]
    k = int(np.argmin(best))
    if not np.isfinite(best[k]):
        return None
    found = [k]
    for back in reversed(came):
        found.append(int(back[found[-1]]))
    return np.array([way[k] for way, k in zip(ways, found[::-1], strict=True)])


def _costs(levels: Floats, z: Floats, lo: Floats, hi: Floats, weight: Floats) -> Floats:
    """Work (n, k) of leaving each point at each level; inf outside its bounds."""
    miss = levels - z[:, None]
    cost = weight[:, None] * (np.abs(miss) + FILL_PREMIUM * np.maximum(miss, 0.0))
    cost[(levels < lo[:, None]) | (levels > hi[:, None])] = np.inf
    return cost


def _held_apart(
    cost: Floats, levels: Floats, fall: float, first: NDArray[np.bool_]
) -> list[int] | None:
    """The cheapest levels with the whole fall kept, by halving on the level of the first point.

    The least cost is convex in that level, and without bound below some level. `first` (k,) marks
    the levels whose own `fall` below is a level too: only there is the cost found the true one.
    """
    firsts = np.flatnonzero(first & np.isfinite(cost[0]))
    tried: dict[int, tuple[float, list[int] | None]] = {}

    def held(k: int) -> tuple[float, list[int] | None]:
        if k not in tried:
            top = int(firsts[k])
            ways = cost.copy()
            ways[0] = np.inf
            ways[0, top] = cost[0, top]
            ways[-1, levels > levels[top] - fall + 1e-12] = np.inf
            found = _pass(ways)
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


def _pass(cost: Floats) -> list[int] | None:
    """Index of the level of each point, never rising downstream, of least cost; None: no way."""
    at_or_above: list[Floats] = []
    best = cost[0]
    for here in cost[1:]:
        at_or_above.append(best)
        best = np.minimum.accumulate(best[::-1])[::-1] + here
    last = int(np.argmin(best))
    if not np.isfinite(best[last]):
        return None
    found = [last]
    for reached in reversed(at_or_above):
        found.append(found[-1] + int(np.argmin(reached[found[-1] :])))
    return found[::-1]
