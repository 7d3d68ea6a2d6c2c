"""A way over the grid that costs least, on which gravity still brings the pipe out.

Points are settled in order of cost. A step is taken only where the level it arrives at is no lower
than what the rest of some way to a wanted end needs (`core.reach.field.needed`), so whatever is
settled can be finished: the first way kept to a point bars none that is needed. The way found
always works; the least cost is certain only where no longer way in would arrive higher and save
more further on.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass
from heapq import heappop, heappush
from typing import Final, Literal

import numpy as np
from numba import njit
from numpy.typing import NDArray

from yardfall.core.arrays import Floats, Indices
from yardfall.core.design import Design, Grading, Limits, Outlet, Start
from yardfall.core.grading.band import DECISION_SLACK_M
from yardfall.core.pipes import CATALOGUE
from yardfall.core.reach.field import (
    Field,
    Seeds,
    field_of,
    follow,
    needed,
    reach,
    shared_seeds,
    trail_of,
    wanted_ends,
)
from yardfall.core.reach.grid import NEVER, PASSABLE, Grid
from yardfall.core.reach.kernels import falls_within, half_way
from yardfall.core.reach.last_stretch import cheapest_end

Aim = Literal["length", "dig"]
WEIGHTS: Final[dict[Aim, tuple[float, float]]] = {"length": (1.0, 0.0), "dig": (0.01, 1.0)}
"""What a metre of pipe and a square metre of trench side cost; a little for length settles ties."""


@dataclass(frozen=True, eq=False)
class Way:
    """Points of a way (flat), from the first after the start to the end.

    `turn` is how many of them lie before the last stretch with eased cover.
    """

    points: Indices
    turn: int


def cheapest(
    field: Field,
    seeds: Seeds,
    need_m: Floats,
    wanted: Floats,
    taper_m: float,
    aim: Aim,
    below_invert_m: float,
) -> Way | None:
    """The way of least cost to an end wanted (`reach.wanted_ends`); None where there is none."""
    steps = field.steps
    arguments = (steps.offset, *steps.aside, steps.length_m, field.grade)
    per_m, per_m2 = WEIGHTS[aim]
    ground = field.surface_m - below_invert_m
    cost, level, before = _settle(
        field.hi_m,
        field.lo_m,
        ground,
        need_m - DECISION_SLACK_M,
        *arguments,
        seeds.at,
        seeds.level_m,
        seeds.length_m,
        per_m,
        per_m2,
        below_invert_m,
    )
    end, turn = cheapest_end(
        wanted,
        DECISION_SLACK_M,
        field.end_m,
        field.lo_m,
        *arguments,
        taper_m,
        (cost, level, ground, per_m, per_m2, below_invert_m),
    )
    if end < 0:
        return None
    before_turn = back_from(before, turn)
    points = before_turn if end == turn else np.append(before_turn, end)
    return Way(points, len(before_turn))


def back_from(before: NDArray[np.signedinteger], point: int) -> Indices:
    """The points from the first after the start to `point`."""
    found = [point]
    while before[found[-1]] >= 0:
        found.append(int(before[found[-1]]))
    return np.array(found[::-1], dtype=np.int64)


@njit(cache=True, nogil=True)
def _settle(  # type: ignore[no-untyped-def]
    hi, lo, ground, need, offset, one, two, length, grade,
    seed_at, seed_level, seed_length, per_m, per_m2, below,
):  # fmt: skip
    """Least cost to each point, the level it arrives at, and the point before.

    A point waits with every cost that it was given; its least comes first and settles it.
    """
    n = len(hi)
    cost = np.full(n, np.inf)
    level = np.full(n, NEVER)
    before = np.full(n, -1, np.int64)
    done = np.zeros(n, np.bool_)
    waiting = [(0.0, p) for p in seed_at[:0]]
    for i in range(len(seed_at)):
        p = seed_at[i]
        v = min(seed_level[i], hi[p])
        if v < lo[p] or v < need[p]:
            continue
        c = seed_length[i] * (per_m + per_m2 * max(ground[p] - v + below, 0.0))
        if c < cost[p]:
            cost[p], level[p] = c, v
            heappush(waiting, (c, p))
    while len(waiting) > 0:
        _, p = heappop(waiting)
        if done[p]:
            continue
        done[p] = True
        here = level[p]
        depth = max(ground[p] - here + below, 0.0)
        for k in range(16):
            q = p + offset[k]
            if done[q] or lo[q] > PASSABLE:
                continue
            v = here - grade * length[k]
            if k >= 4:
                hi_half, lo_half = half_way(hi, lo, p, q, p + one[k], p + two[k], k < 8)
                half = min(here - 0.5 * grade * length[k], hi_half)
                if half < lo_half:
                    continue
                v = half - 0.5 * grade * length[k]
            v = min(v, hi[q])
            if v < lo[q] or v < need[q]:
                continue
            there = max(ground[q] - v + below, 0.0)
            c = cost[p] + length[k] * (per_m + per_m2 * 0.5 * (depth + there))
            if c < cost[q]:
                cost[q], level[q], before[q] = c, v, p
                heappush(waiting, (c, q))
    return cost, level, before


_warming = threading.Lock()
_warm = threading.Event()


def warm() -> None:
    """Compile, or load what was compiled before, so that no caller waits for it. Once a process."""
    with _warming:
        if _warm.is_set():
            return
        grid = Grid(np.full((3, 3), 1.0), 1.0, 1.0)
        design = Design(
            next(iter(CATALOGUE.values())),
            Start("cover", 0.2),
            Grading(0.01),
            Limits(0.15, 1.0, 1.0),
            Outlet("daylight", "depth", 0.0, 0.5),
        )
        shut = np.zeros(grid.z_m.shape, dtype=bool)
        field = field_of(grid, design, shut)
        one = np.ones(1, dtype=np.int64)
        seeds = shared_seeds(grid, one, one, np.array([0.7]), np.zeros(1))
        found = reach(field, seeds)
        follow(field, seeds, found, trail_of(found, field.steps))
        falls_within(field.lo_m, field.lo_m, field.steps.offset, field.steps.length_m, 1.0)
        wanted = wanted_ends(field, shut)
        cheapest(field, seeds, needed(field, wanted), wanted, 1.0, "length", 0.0)
        _warm.set()
