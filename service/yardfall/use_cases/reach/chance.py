"""How sure it is that a pipe can come out, place by place on a lot."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from yardfall.core import deadline, threads
from yardfall.core.arrays import Floats, Mask
from yardfall.core.chance.draws import SEED
from yardfall.core.design import Design
from yardfall.core.reach.field import Reached, Seeds, field_of, follow, trail_of
from yardfall.core.reach.grid import Grid, row_and_column, steps_of, unedged
from yardfall.core.reach.request import ReachRequest
from yardfall.core.reach.true_grid import RoughGrid, true_grid
from yardfall.core.request import SpotGround
from yardfall.core.uncertainty.accuracy import Accuracy
from yardfall.geo.search_grid import Lot

MOST_DRAWN_CELLS: Final = 24_000_000
"""Draws times cells: a larger lot gets fewer draws."""
DRAWN_AT_ONCE: Final = 3_000_000
"""Cells of all draws in work at once: each takes 80 bytes or so."""
Changes = Callable[[int, np.random.SeedSequence], Iterable[Floats]]
"""Makes the draws of a pair by its number: how far the ground lies from the one read."""


def chance_of_cells(
    request: ReachRequest,
    design: Design,
    lot: Lot,
    accuracy: Accuracy | None,
    start: Floats,
    seeds: Seeds,
    shut: Mask,
    near: Mask,
    found: Reached,
    may_end: Mask,
) -> Floats | None:
    """Share of draws of the true ground in which the pipe comes out, cell by cell.

    Along the way that is best on the ground as it stands: a crew lays it out by that.
    """
    count = min(request.draws, MOST_DRAWN_CELLS // lot.grid.z_m.size)
    if accuracy is None or not count:
        return None
    grid = lot.grid
    row, column, _ = grid.nearest(start[None])
    change_of = _changes(request, lot, accuracy, (int(row[0]), int(column[0])), count)
    ground_m = float(lot.ground_m(start[None])[0])
    share = share_that_comes_out(
        grid, design, start, seeds, shut, near, found, change_of, count, ground_m
    )
    return np.where(may_end, share, np.nan)


def share_that_comes_out(
    grid: Grid,
    design: Design,
    start: Floats,
    seeds: Seeds,
    shut: Mask,
    near: Mask,
    found: Reached,
    change_of: Changes,
    count: int,
    ground_m: float | None = None,
) -> Floats:
    """Share (rows, columns) of so many grounds on which the ways found bring a pipe out.

    `ground_m` is the ground at the start where the grid does not tell it exactly.
    """
    in_time, trail = deadline.here(), trail_of(found, steps_of(grid))
    about = _beside_start(grid, start, seeds)
    beyond_m = 0.0 if ground_m is None else ground_m - float(grid.ground_m(about)[0])

    def on(change_m: Floats) -> Mask:
        other = grid.on(np.add(grid.z_m, change_m, out=change_m))
        here_m = float(other.ground_m(about)[0]) + beyond_m
        level_m = design.start.highest_m(here_m, design.section)
        field = field_of(other, design, shut, near)
        its = replace(seeds, level_m=level_m - design.grading.min_grade * seeds.length_m)
        ends_m = follow(field, its, found, trail, field.lowest_end_m)
        return np.asarray(unedged(ends_m >= field.lowest_end_m, grid))

    def two(pair: int) -> NDArray[np.int8]:
        comes_out = np.zeros(grid.z_m.shape, dtype=np.int8)
        for change_m in change_of(pair, seeds_of[pair]):
            in_time()
            comes_out += on(change_m)
        return comes_out

    pairs = -(-count // 2)
    seeds_of = np.random.SeedSequence(SEED).spawn(pairs)
    comes_out = np.zeros(grid.z_m.shape, dtype=np.int32)
    at_once = max(1, min(deadline.cores(), DRAWN_AT_ONCE // grid.z_m.size))
    for drawn in threads.each(two, range(pairs), at_once):
        comes_out += drawn
    return comes_out / count


def _beside_start(grid: Grid, start: Floats, seeds: Seeds) -> Floats:
    """The start (1, 2), or where the grid does not know the ground there the first of its seeds."""
    if np.isfinite(grid.ground_m(start[None])[0]) or not len(seeds.at):
        return start[None]
    return grid.xy(*row_and_column(grid, seeds.at[:1]))


def _changes(
    request: ReachRequest, lot: Lot, accuracy: Accuracy, about: tuple[int, int], count: int
) -> Changes:
    """Makes two draws at a time of how far the true ground lies from the one read."""
    spec, grid = request.plan.survey.ground, lot.grid
    if accuracy.certain:
        return lambda pair, _: (
            np.zeros(grid.z_m.shape) for _one in range(min(2, count - 2 * pair))
        )
    if not isinstance(spec, SpotGround):
        lidars = accuracy.of_cells(request.radius_m)
        return true_grid(grid, lidars, accuracy.lawns_of_cells, about, count).change_m
    sigma_m = accuracy.of(float(np.hypot(*grid.z_m.shape)) * grid.dx_m)
    spots = lot.spots_on_grid()
    rough = RoughGrid.of(grid, accuracy.lawns, count)

    def change_m(pair: int, seed: np.random.SeedSequence) -> Iterator[Floats]:
        own, between = seed.spawn(2)
        read_m = sigma_m * np.random.default_rng(own).standard_normal((2, len(spec.z_m)))
        grounds = rough.draw(pair, between)
        for off_m, ground_m in zip(read_m, grounds, strict=False):
            yield lot.spot_ground(off_m - ground_m[spots]) + ground_m

    return change_m
