"""Reach over a grid: cell for cell against a slow search of its own, and planted yards.

The slow search below shares nothing with the fast one: it relaxes every step of every point until
nothing changes (R. Bellman, Quarterly of Applied Mathematics 16, 1958), and works an eased last
stretch out forwards, station by station.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse import lil_array
from scipy.sparse.csgraph import dijkstra

from yardfall.core.design import Design, Grading, Limits, Outlet, Start
from yardfall.core.pipes import CATALOGUE
from yardfall.core.reach.field import (
    field_of,
    follow,
    needed,
    reach,
    shared_seeds,
    spare_m,
    trail_of,
    wanted_ends,
)
from yardfall.core.reach.grid import NEVER, Grid, unedged
from yardfall.core.reach.least_cost_path import cheapest

PIPE = CATALOGUE["corrugated-single-4"]
WAYS = [
    (r, c)
    for r in range(-2, 3)
    for c in range(-2, 3)
    if (r, c) != (0, 0) and math.gcd(abs(r), abs(c)) == 1
]


def design_of(
    grade: float = 0.01,
    cover: float = 0.15,
    deepest: float | None = 0.9,
    taper: float = 0.0,
    outlet: Outlet | None = None,
) -> Design:
    return Design(
        PIPE,
        Start("cover", 0.2),
        Grading(grade),
        Limits(cover, deepest, taper),
        outlet or Outlet("daylight", "depth", 0.0, 0.3),
    )


def aside(r: int, c: int, dr: int, dc: int) -> list[tuple[int, int]]:
    """The points whose mean is the ground half way along a step; none for a straight one."""
    if abs(dr) == abs(dc):
        return [(r, c), (r + dr, c + dc), (r + dr, c), (r, c + dc)]
    if abs(dc) == 2:
        return [(r, c + dc // 2), (r + dr, c + dc // 2)]
    if abs(dr) == 2:
        return [(r + dr // 2, c), (r + dr // 2, c + dc)]
    return []


class SlowSearch:
    """The same definition in plain Python."""

    def __init__(self, grid: Grid, design: Design, shut: np.ndarray) -> None:
        s, limits = design.section, design.limits
        rows, columns = grid.z_m.shape
        self.grid, self.grade, self.taper = grid, design.grading.min_grade, limits.outlet_taper_m
        self.open = {
            (r, c)
            for r in range(rows)
            for c in range(columns)
            if not shut[r, c] and math.isfinite(grid.z_m[r, c])
        }
        over = s.outside_m - s.wall_m
        self.covered = {p: float(grid.z_m[p]) - limits.min_cover_m - over for p in self.open}
        self.surface = {p: float(grid.z_m[p]) + s.wall_m for p in self.open}
        deepest = math.inf if limits.max_depth_m is None else limits.max_depth_m
        self.lowest = {p: float(grid.z_m[p]) - deepest + s.wall_m for p in self.open}

    def stops(self, p, way):
        """Points and half points passed by a step: how far along, and the points whose mean it is.

        None where the step passes over something shut.
        """
        q = (p[0] + way[0], p[1] + way[1])
        between = aside(*p, *way)
        if q not in self.open or any(b not in self.open for b in between):
            return None
        d = math.hypot(way[0] * self.grid.dy_m, way[1] * self.grid.dx_m)
        return d, ([(d / 2, between)] if between else []) + [(d, [q])]

    def carried(self, level, p, way, upper):
        found = self.stops(p, way)
        if found is None:
            return None
        _, stops = found
        gone = 0.0
        for at, points in stops:
            level -= self.grade * (at - gone)
            gone = at
            level = min(level, sum(upper[b] for b in points) / len(points))
            if level < sum(self.lowest[b] for b in points) / len(points):
                return None
        return level

    def run(self, seeds):
        level = {}
        for p, v in seeds:
            v = min(v, self.covered.get(p, -math.inf))
            if p in self.open and v >= self.lowest[p]:
                level[p] = max(level.get(p, -math.inf), v)
        changed = True
        while changed:
            changed = False
            for p in sorted(level):
                for way in WAYS:
                    v = self.carried(level[p], p, way, self.covered)
                    q = (p[0] + way[0], p[1] + way[1])
                    if v is not None and v > level.get(q, -math.inf):
                        level[q], changed = v, True
        return level

    def ends(self, level):
        """From every covered point straight on, as long as the eased stretch goes."""
        best = dict(level)
        for p, start in level.items():
            for way in WAYS:
                d = math.hypot(way[0] * self.grid.dy_m, way[1] * self.grid.dx_m)
                at, v = p, start
                for k in range(1, int((self.taper + 1e-9) / d) + 1):
                    v = self.carried(v, at, way, self.surface)
                    if v is None:
                        break
                    at = (at[0] + way[0], at[1] + way[1])
                    assert k * d <= self.taper + 1e-9
                    best[at] = max(best.get(at, -math.inf), v)
        return best


def fast(grid: Grid, design: Design, shut: np.ndarray, seeds) -> tuple[np.ndarray, np.ndarray]:
    field = field_of(grid, design, shut)
    found = reach(field, seeds_of(grid, seeds))
    return unedged(found.level_m, grid), unedged(found.end_m, grid)


def seeds_of(grid: Grid, seeds):
    at = np.array([p for p, _ in seeds])
    level = np.array([v for _, v in seeds], dtype=float)
    return shared_seeds(grid, at[:, 0], at[:, 1], level, np.zeros(len(at)))


@st.composite
def yards(draw):
    sides = st.sampled_from([1, 2, 4, 7, 8, 9, 10])
    rows, columns = draw(sides), draw(sides)
    rng = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    rough = draw(st.sampled_from([0.0, 0.02, 0.1, 0.5]))
    down, across = np.mgrid[0:rows, 0:columns]
    z = 100 - draw(st.sampled_from([-0.02, 0, 0.01, 0.05, 0.3])) * (down + 0.5 * across)
    z = z + rng.normal(0, rough, (rows, columns))
    if draw(st.booleans()):
        z = np.round(z, 2)  # many equal levels
    z[rng.random((rows, columns)) < draw(st.sampled_from([0, 0.05]))] = np.nan
    shut = rng.random((rows, columns)) < draw(st.sampled_from([0, 0.05, 0.2]))
    grid = Grid(z, draw(st.sampled_from([0.5, 1.0])), draw(st.sampled_from([0.5, 0.7])))
    design = design_of(
        draw(st.sampled_from([0.0, 0.005, 0.0125, 0.04])),
        draw(st.sampled_from([0.0, 0.15])),
        draw(st.sampled_from([None, 0.4, 0.9])),
        draw(st.sampled_from([0.0, 0.8, 3.0])),
    )
    seeds = [
        ((int(rng.integers(rows)), int(rng.integers(columns))), 99.75 + float(rng.normal(0, 0.1)))
        for _ in range(draw(st.integers(1, 3)))
    ]
    return grid, design, shut, seeds


@settings(max_examples=150, deadline=None)
@given(yards())
def test_every_point_is_the_slow_searchs(yard) -> None:
    grid, design, shut, seeds = yard
    slow = SlowSearch(grid, design, shut)
    level = slow.run(seeds)
    ends = slow.ends(level)
    for found, expected in zip(fast(grid, design, shut, seeds), (level, ends), strict=True):
        assert {tuple(map(int, p)) for p in np.argwhere(found > NEVER / 2)} == set(expected)
        for p, v in expected.items():
            assert found[p] == pytest.approx(v, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(yards())
def test_what_is_needed_is_what_decides(yard) -> None:
    """Forwards and backwards agree on whether any end is met, and then there is a way."""
    grid, design, shut, seeds = yard
    field, taper_m = field_of(grid, design, shut), design.limits.outlet_taper_m
    its = seeds_of(grid, seeds)
    spare = spare_m(field, reach(field, its))
    clear = spare[np.isfinite(spare) & (np.abs(spare) > 1e-7)]
    if clear.size < np.isfinite(spare).sum():
        return  # on the edge of a limit, either answer is right
    wanted = wanted_ends(field, np.zeros(shut.shape, dtype=bool))
    need = needed(field, wanted)
    for aim in ("length", "dig"):
        way = cheapest(field, its, need, wanted, taper_m, aim, design.section.below_invert_m)
        assert (way is not None) == bool((clear > 0).any())


@settings(max_examples=60, deadline=None)
@given(yards())
def test_the_same_ways_on_the_same_ground_end_the_same(yard) -> None:
    grid, design, shut, seeds = yard
    field, its = field_of(grid, design, shut), seeds_of(grid, seeds)
    found = reach(field, its)
    trail = trail_of(found, field.steps)
    ends_m = follow(field, its, found, trail)
    assert ends_m == pytest.approx(found.end_m, abs=1e-9)
    asked_m = field.lowest_end_m
    enough = ends_m >= asked_m
    told_m = follow(field, its, found, trail, asked_m)
    np.testing.assert_array_equal(told_m >= asked_m, enough)
    np.testing.assert_array_equal(told_m[enough], ends_m[enough])


@settings(max_examples=40, deadline=None)
@given(yards(), st.integers(0, 3), st.booleans(), st.integers(0, 3), st.integers(0, 3))
def test_turned_mirrored_and_shifted_ground_gives_the_same_map(
    yard, turns, mirrored, down, across
) -> None:
    grid, design, shut, seeds = yard
    rows, columns = grid.z_m.shape
    base = fast(grid, design, shut, seeds)

    def moved(values, fill):
        values = np.pad(values, ((down, 1), (across, 2)), constant_values=fill)
        values = values[:, ::-1] if mirrored else values
        return np.ascontiguousarray(np.rot90(values, turns))

    place = {p: i for i, (p, _) in enumerate(seeds)}
    marks = np.zeros((rows, columns))
    for p, i in place.items():
        marks[p] = i + 1
    there = moved(marks, 0)
    dx, dy = (grid.dx_m, grid.dy_m) if turns % 2 == 0 else (grid.dy_m, grid.dx_m)
    other = Grid(moved(grid.z_m, np.nan), dx, dy)
    its = [
        (tuple(map(int, np.argwhere(there == place[p] + 1)[0])), v) for p, v in seeds if p in place
    ]
    found = fast(other, design, moved(shut, True), its)
    for here, expected in zip(found, base, strict=True):
        assert here == pytest.approx(moved(expected, NEVER), abs=1e-9)


def test_level_ground_falls_with_the_distance_that_scipy_finds() -> None:
    """On level ground with no depth limit the level is the start's less the grade times the
    distance round what is shut, by `scipy.sparse.csgraph.dijkstra` over the same 16 steps."""
    shape = rows, columns = 23, 31
    grid = Grid(np.full(shape, 100.0), 0.5, 0.7)
    design = design_of(0.02, deepest=None)
    shut = np.zeros(shape, dtype=bool)
    shut[3:20, 14] = shut[8, 14:29] = True
    level, _ = fast(grid, design, shut, [((4, 7), 99.0)])
    slow = SlowSearch(grid, design, shut)
    lengths = lil_array((rows * columns, rows * columns))
    for r, c in slow.open:
        for way in WAYS:
            found = slow.stops((r, c), way)
            if found:
                lengths[r * columns + c, (r + way[0]) * columns + c + way[1]] = found[0]
    far = dijkstra(lengths.tocsr(), indices=4 * columns + 7).reshape(shape)
    assert np.isfinite(far).sum() == (~shut).sum()
    assert level[~shut] == pytest.approx(99.0 - 0.02 * far[~shut], abs=1e-9)


def test_a_hill_between_two_cells_stops_a_knights_step() -> None:
    """Limits hold half way: a step does not leap over a hole that its two ends do not see."""
    z = np.full((3, 5), 100.0)
    z[:, 2] = 99.0
    design = design_of(0.01, cover=0.0, deepest=0.4)
    level, _ = fast(Grid(z, 1.0, 1.0), design, np.zeros((3, 5), dtype=bool), [((1, 0), 99.8)])
    assert (level[:, 3:] < 99.0).all(), "down in the ditch, and too deep beyond it"
