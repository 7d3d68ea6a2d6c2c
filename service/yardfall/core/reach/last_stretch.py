"""The walk straight back from the ends wanted, along every last stretch that may lead to one.

A compiled loop that is made twice from one source, by a constant that the compiler sees: a walk
that called another for what it finds took fifteen times as long.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

import numpy as np
from numba import njit

from yardfall.core.grading.band import DECISION_SLACK_M
from yardfall.core.reach.grid import NEVER, PASSABLE, REACHED
from yardfall.core.reach.kernels import past_half_way


def _walk_back(by_cost: bool) -> Callable[..., Any]:
    """A walk back from every end wanted, each way as far as a last stretch may be long.

    `kept` by cost: cost, level and ground of every point, cost of a metre and of a square metre,
    what is dug below the invert; the walk tells the end that costs least in all, and where its last
    stretch begins, -1: there is none. Else: the upper limits; it tells the lowest level at each
    covered point from which an end wanted is met.
    """

    @njit(cache=True, nogil=True)
    def walk(wanted, slack, surface, lo, offset, one, two, length, grade, taper, kept):  # type: ignore[no-untyped-def]
        if by_cost:
            cost, level, ground, per_m, per_m2, below = kept
            least, end, turn = np.inf, -1, -1
        else:
            (hi,) = kept
            need = np.full(len(wanted), -NEVER)
        for o in range(len(wanted)):
            if wanted[o] > -REACHED or lo[o] > PASSABLE:
                continue
            asked = max(wanted[o], lo[o]) - slack
            if by_cost:
                if level[o] >= asked and cost[o] < least:
                    least, end, turn = cost[o], o, o
            elif asked <= hi[o]:
                need[o] = min(need[o], asked)
            if asked > surface[o]:
                continue
            for k in range(16):
                p, far, floor = o, 0.0, asked
                while far + length[k] <= taper + DECISION_SLACK_M:
                    q = p + offset[k]
                    if lo[q] > PASSABLE:
                        break
                    if k >= 4:
                        back = (far + 0.5 * length[k]) * grade
                        _, floor = past_half_way(surface, lo, p, k, q, one, two, floor, back)
                        if floor > PASSABLE:
                            break
                    far += length[k]
                    back = far * grade
                    if by_cost:
                        if level[q] - back >= floor:
                            deep = max(ground[q] - level[q] + below, 0.0)
                            last = max(ground[o] - level[q] + back + below, 0.0)
                            c = cost[q] + far * (per_m + per_m2 * 0.5 * (deep + last))
                            if c < least:
                                least, end, turn = c, o, q
                    else:
                        asks = max(floor + back, lo[q])
                        if asks <= hi[q]:
                            need[q] = min(need[q], asks)
                    if surface[q] - back < floor:
                        break
                    floor = max(floor, lo[q] - back)
                    p = q
        if by_cost:
            return end, turn
        return need

    return walk


cheapest_end: Final = _walk_back(True)
lowest_levels: Final = _walk_back(False)
