"""The search of a grid, against `skimage.graph.MCP_Geometric` on the same grid in the same run.

Both go out from one point to every other on rough ground of 1,000 × 1,000 points; ours steps to 16
neighbours and holds two limits, theirs to 8 with one cost. One core, after warm-up, the median of
rounds taken in turn: the search alone, and everything a map needs (limits made, cover eased towards
an end, fall to spare). Then the same on a lot of an acre at 0.5 m, and as the number of points
grows.

    python tests/bench/bench_reach.py
"""

from __future__ import annotations

import math
import statistics
import sys
import time
from collections.abc import Callable

import numpy as np
from scipy.ndimage import gaussian_filter
from skimage.graph import MCP_Geometric

from yardfall.core.design import Design, Grading, Limits, Outlet, Start
from yardfall.core.pipes import CATALOGUE
from yardfall.core.reach.field import (
    Field,
    Seeds,
    field_of,
    reach,
    shared_seeds,
    spare_m,
    spread,
)
from yardfall.core.reach.grid import NEVER, Grid, flat_index
from yardfall.core.reach.laid_lines import Ways, lay_lines

RATIO_BAR = 0.5
LOT_BAR_MS = 50.0
LAID_BAR_MS = 300.0
GROWTH_BAR = 1.5
ACRE_SIDE = 127
"""127 points of 0.5 m: 63.5 m, an acre is 63.6 m square."""
SIZES = (100, 200, 400, 1000, 2000)
ROUNDS = 7
TAPER_M = 3.0


def yard(side: int, fall: float = 0.02) -> Grid:
    """Ground that falls to one side, with relief of 5 cm over some 10 cells."""
    relief = gaussian_filter(np.random.default_rng(side).standard_normal((side, side)), 5)
    down, _ = np.mgrid[0:side, 0:side]
    return Grid(100 - fall * 0.5 * down + 0.05 * relief / relief.std(), 0.5, 0.5)


def design() -> Design:
    """The usual pipe by hand, dug as deep as it takes, so that the search goes everywhere."""
    return Design(
        CATALOGUE["corrugated-single-4"],
        Start("cover", 0.2),
        Grading(0.0125),
        Limits(0.15, None, TAPER_M),
        Outlet("daylight", "depth", 0.0, 0.12),
    )


def ready(grid: Grid) -> tuple[Field, Seeds]:
    """The limits on a grid, and the middle of its upper edge to start from."""
    field = field_of(grid, design(), np.zeros(grid.z_m.shape, dtype=bool))
    start = _start(grid)
    level = np.array([float(grid.z_m[start]) - 0.3])
    row, column = np.array([start[0]]), np.array([start[1]])
    return field, shared_seeds(grid, row, column, level, np.zeros(1))


def search(grid: Grid, prepared: tuple[Field, Seeds]) -> object:
    """The search alone: the highest level at every point."""
    field, seeds = prepared
    return spread(field, seeds, field.hi_m, field.lo_m)


def whole(grid: Grid) -> object:
    """What a drag of the start needs: limits, search, cover eased to each end, fall to spare."""
    field, seeds = ready(grid)
    return spare_m(field, reach(field, seeds))


def laid(grid: Grid) -> object:
    """What shows the places that a line of the shape asked for reaches: two lines to each."""
    field, seeds = ready(grid)
    found, one = reach(field, seeds), design()
    start = np.array([_start(grid)[1], _start(grid)[0]]) * grid.dx_m
    down, across = np.nonzero(grid.known)
    far = np.hypot(down * grid.dy_m - start[1], across * grid.dx_m - start[0]) > TAPER_M
    ends = flat_index(grid, down[far], across[far])
    shut = np.zeros(grid.z_m.shape, dtype=bool)
    ground_m = float(grid.ground_m(start[None])[0])
    ways = Ways(start, ground_m, found, field.steps.offset, np.arange(0.0, 1000.0, 3.0))
    hopes = (np.nan_to_num(spare_m(field, found), nan=-1.0) >= 0).astype(np.int8)[down, across][far]
    both = (one, field), (one, field)
    return lay_lines(ends, hopes, grid, shut, ways, *both, changes=(True, False))


def costs_of(grid: Grid) -> np.ndarray:
    """Costs of a step for theirs: the ground's steepness and a bit."""
    return 0.0125 + np.abs(np.gradient(grid.z_m)[0])


def theirs(grid: Grid, costs: np.ndarray) -> object:
    """Least costs from the same point to every other."""
    return MCP_Geometric(costs, fully_connected=True).find_costs([_start(grid)])


def _start(grid: Grid) -> tuple[int, int]:
    side = len(grid.z_m)
    return side // 10, side // 2


def milliseconds(call: Callable[..., object], *arguments: object) -> float:
    """Time of one call."""
    began = time.perf_counter()
    call(*arguments)
    return (time.perf_counter() - began) * 1000


def judge(name: str, value: float, bar: str, *, held: bool) -> bool:
    """Print one figure beside its bar."""
    print(f"{name:46} {value:8.3f}, bar {bar}: {'held' if held else 'MISSED'}")
    return held


def main() -> int:
    """Print the medians and the ratios; 1 when a bar is missed."""
    large, lot = yard(1000), yard(ACRE_SIDE)
    prepared, costs = ready(large), costs_of(large)
    whole(lot), search(large, prepared), theirs(lot, costs_of(lot))
    level, _ = spread(*prepared, prepared[0].hi_m, prepared[0].lo_m)
    print(f"1,000 × 1,000, {(level > NEVER / 2).sum() / large.z_m.size:.0%} of the points reached")
    rounds = [
        (
            milliseconds(search, large, prepared),
            milliseconds(whole, large),
            milliseconds(theirs, large, costs),
        )
        for _ in range(ROUNDS)
    ]
    for name, took in zip(
        ("search", "whole", "MCP_Geometric"), zip(*rounds, strict=True), strict=True
    ):
        print(f"{name:15} {statistics.median(took):7.0f} ms")
    ratio = statistics.median(a / c for a, _, c in rounds)
    all_in = statistics.median(b / c for _, b, c in rounds)
    acre = statistics.median(milliseconds(whole, lot) for _ in range(4 * ROUNDS))
    coarse = Grid(lot.z_m[::2, ::2], 1.0, 1.0)
    laid(coarse)
    half = f"at most {RATIO_BAR}"
    held = [
        judge("search / MCP_Geometric", ratio, half, held=ratio <= RATIO_BAR),
        judge("whole / MCP_Geometric", all_in, half, held=all_in <= RATIO_BAR),
        judge(
            "whole of an acre at 0.5 m, ms", acre, f"below {LOT_BAR_MS:g}", held=acre < LOT_BAR_MS
        ),
    ]
    for cell, grid in (("1", coarse), ("0.5", lot)):
        took = statistics.median(milliseconds(laid, grid) for _ in range(ROUNDS))
        words = f"lines laid over an acre at {cell} m, ms"
        held.append(judge(words, took, f"below {LAID_BAR_MS:g}", held=took < LAID_BAR_MS))
    per = {}
    for side in SIZES:
        grid, n = yard(side), side * side
        took = statistics.median(milliseconds(whole, grid) for _ in range(ROUNDS))
        per[side] = took / (n * math.log2(n))
        print(f"{n:>9,} points {took:9.1f} ms, {took / n * 1e6:6.0f} ns a point")
    growth = per[SIZES[-1]] / per[SIZES[0]]
    words = "time / (n log n), 4,000,000 over 10,000 points"
    held.append(judge(words, growth, f"at most {GROWTH_BAR}", held=growth <= GROWTH_BAR))
    return 0 if all(held) else 1


if __name__ == "__main__":
    sys.exit(main())
