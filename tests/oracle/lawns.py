"""Grounds that are known, readings of them with errors that are known, and what is told of them.

Each ground is drawn here, apart from the planner's own draws: level, slope and a self-affine
roughness by a dense Cholesky factor of its increments from another origin. A plan is made of the
readings alone; whether the same design then truly works is decided on the ground itself, at points
STEP_M apart. The readings' errors are those that are stated.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from yardfall.core.design import Alignment, Design, Grading, Limits, Outlet, Start
from yardfall.core.easing.lay import lay
from yardfall.core.grading.decision import decide
from yardfall.core.ground.level_book import Shot, from_level_book, spread_of_book
from yardfall.core.ground.level_line import LineReading, from_level_line, spread_of_lines
from yardfall.core.ground.profile import GroundProfile, from_elevations
from yardfall.core.ground.route import Route, drawn, taped
from yardfall.core.ground.tin import from_spots
from yardfall.core.pipes import CATALOGUE
from yardfall.core.plan import make_plan
from yardfall.core.reach.field import Reached, Seeds, field_of, follow, reach, spare_m, trail_of
from yardfall.core.reach.grid import Grid, flat_index
from yardfall.core.reach.true_grid import true_grid
from yardfall.core.uncertainty.accuracy import Accuracy, ErrorModel, point_errors, reading_errors
from yardfall.core.uncertainty.lawns import LAWNS, Lawn
from yardfall.core.uncertainty.lidar import LIDARS, Cells
from yardfall.core.uncertainty.pinned import HandReadings, pin
from yardfall.core.uncertainty.place_errors import cell_errors, spot_errors
from yardfall.core.units import SI
from yardfall.use_cases.reach.chance import share_that_comes_out

Floats = np.ndarray
STEP_M = 0.25
LOT_DRAWS = 100
LAY_OF_THE_LAND = True
"""A third of the yards lie in a long wave, which is no roughness."""
LOT_PLACES = 4
LOT_DOUBT_M = 0.05
"""Places of a lot are taken where no more than this is left or lacking: elsewhere all is sure."""
MIDDLE_M = {"graded": 0.012, "ordinary": 0.028, "rough": 0.045}
PIPE = CATALOGUE["corrugated-single-4"]


@dataclass(frozen=True)
class Told:
    """What one plan told, and what is so."""

    chance: float
    verdict: str
    truly: bool


@dataclass(frozen=True, eq=False)
class Known:
    """A route's true ground (m,) at stations (m,), and what was read of it."""

    at_m: Floats
    true_m: Floats
    ground: GroundProfile
    errors: ErrorModel
    route: Route


def roughness(xy: Floats, middle_m: float, rng: np.random.Generator) -> Floats:
    """Heights (n,) at places (n, 2) whose differences vary by A·d^1.4; drawn from a far origin.

    The middle of a chord of 10 m: 2·(A·5^1.4)/2·... = A (5^1.4 − 10^1.4/4), by the increments.
    """
    per = middle_m**2 / (5**1.4 - 10**1.4 / 4)
    far = xy - (xy.min(axis=0) - np.array([37.0, 11.0]))
    apart = np.hypot(*(far[:, None] - far[None]).transpose(2, 0, 1))
    out = np.hypot(*far.T)
    both = per / 2 * (out[:, None] ** 1.4 + out[None] ** 1.4 - apart**1.4)
    return drawn_heights(both, rng)


def drawn_heights(both: Floats, rng: np.random.Generator) -> Floats:
    """Heights (n,) that vary together so.

    Its diagonal is raised by a thousand-millionth, against rounding.
    """
    most = float(both.diagonal().max())
    heights: Floats = np.linalg.cholesky(both + 1e-9 * most * np.eye(len(both))) @ (
        rng.standard_normal(len(both))
    )
    return heights


def true_ground(rng: np.random.Generator, xy: Floats, along: Floats, middle_m: float) -> Floats:
    slope = rng.uniform(0.015, 0.035)
    ground: Floats = 100 - slope * along + roughness(xy, middle_m, rng)
    if LAY_OF_THE_LAND and rng.random() < 1 / 3:
        long_m, high_m = rng.uniform(18, 50), rng.uniform(0.05, 0.25)
        ground = ground + high_m * np.sin(2 * np.pi * (along / long_m + rng.random()))
    return ground


def a_line(rng: np.random.Generator, length_m: float) -> tuple[Floats, Floats]:
    at_m = np.linspace(0, length_m, round(length_m / STEP_M) + 1)
    return at_m, np.column_stack([at_m, np.zeros(len(at_m))])


def _read_at(rng: np.random.Generator, at_m: Floats, gap_m: tuple[float, float]) -> Floats:
    """Indices of readings: the ends, and some between."""
    count = int(np.ceil(at_m[-1] / rng.uniform(*gap_m)))
    inside = np.linspace(0, len(at_m) - 1, count + 1)[1:-1] + rng.integers(-2, 3, count - 1)
    return np.unique(np.clip(np.rint([0, *inside, len(at_m) - 1]), 0, len(at_m) - 1)).astype(int)


def string(rng: np.random.Generator, middle_m: float, accuracy: Accuracy) -> Known:
    at_m, xy = a_line(rng, rng.uniform(12, 35))
    true_m = true_ground(rng, xy, at_m, middle_m)
    here = _read_at(rng, at_m, (1.5, 5))
    sigma_m = float(rng.uniform(0.004, 0.015))
    read_m = true_m[here] + sigma_m * rng.standard_normal(len(here))
    readings = [LineReading(x, 110 - z) for x, z in zip(at_m[here], read_m, strict=True)]
    ground = from_level_line(readings)
    accuracy = replace(accuracy, sigma_m=sigma_m)
    errors = reading_errors(
        accuracy, ground, at_m[here], ["r"] * len(here), spread_of_lines(readings)
    )
    return Known(at_m, true_m, ground, errors, taped(float(at_m[-1])))


def rod(rng: np.random.Generator, middle_m: float, accuracy: Accuracy) -> Known:
    """A level book with a turning point half way."""
    at_m, xy = a_line(rng, rng.uniform(15, 40))
    true_m = true_ground(rng, xy, at_m, middle_m)
    here = _read_at(rng, at_m, (2, 5))
    sigma_m = float(rng.uniform(0.002, 0.008))
    half = len(here) // 2
    eye = [101.5, 100.9]
    peg_m = 99.7

    def seen(height_m: float, level_m: float) -> float:
        return height_m - level_m + sigma_m * float(rng.standard_normal())

    shots = [Shot("BS", seen(eye[0], 100.0), on="step")]
    shots += [Shot("IS", seen(eye[0], true_m[i]), at_m=float(at_m[i])) for i in here[:half]]
    shots += [Shot("FS", seen(eye[0], peg_m), on="peg"), Shot("BS", seen(eye[1], peg_m), on="peg")]
    shots += [Shot("IS", seen(eye[1], true_m[i]), at_m=float(at_m[i])) for i in here[half:]]
    ground = from_level_book("step", 100.0, shots, {})
    accuracy = replace(accuracy, sigma_m=sigma_m)
    stations = np.array([0.0 if s.at_m is None else s.at_m for s in shots])
    spread = spread_of_book("step", shots, {})
    errors = reading_errors(accuracy, ground, stations, ["r"] * len(shots), spread)
    return Known(at_m, true_m, ground, errors, taped(float(at_m[-1])))


def slopes(rng: np.random.Generator, middle_m: float, accuracy: Accuracy) -> Known:
    """Elevations at the ends of runs, each with an error of its own."""
    at_m, xy = a_line(rng, rng.uniform(12, 40))
    true_m = true_ground(rng, xy, at_m, middle_m)
    here = _read_at(rng, at_m, (4, 10))
    sigma_m = float(rng.uniform(0.005, 0.02))
    ground = from_elevations(at_m[here], true_m[here] + sigma_m * rng.standard_normal(len(here)))
    errors = point_errors(replace(accuracy, sigma_m=sigma_m), ground, ["r"] * len(here))
    return Known(at_m, true_m, ground, errors, taped(float(at_m[-1])))


def spots(rng: np.random.Generator, middle_m: float, accuracy: Accuracy) -> Known:
    """Heights about 4 m apart, and the route across their triangles."""
    at_m, xy = a_line(rng, rng.uniform(12, 30))
    across, up = np.meshgrid(np.arange(-2, at_m[-1] + 3, 4.0), [-4.0, 0.3, 4.0])
    places = np.column_stack([across.ravel(), up.ravel()]) + rng.uniform(-1, 1, (across.size, 2))
    places = np.vstack([places, [[-6, -6], [-6, 6], [at_m[-1] + 6, -6], [at_m[-1] + 6, 6]]])
    both = np.vstack([xy, places])
    true_m = true_ground(rng, both, both[:, 0], middle_m)
    sigma_m = float(rng.uniform(0.003, 0.015))
    read_m = true_m[len(xy) :] + sigma_m * rng.standard_normal(len(places))
    route = drawn(xy[[0, -1]], np.array([at_m[-1]]), None)
    ground = from_spots(route, xy[[0, -1]], np.column_stack([places, read_m]), at_m[[0, -1]])
    along = np.column_stack([ground.at_m, np.zeros(len(ground.at_m))])
    errors = spot_errors(replace(accuracy, sigma_m=sigma_m), ground, places, read_m, along)
    return Known(at_m, true_m[: len(xy)], ground, errors, route)


def _scanned(
    rng: np.random.Generator, middle_m: float, accuracy: Accuracy, read: int = 0
) -> tuple[Floats, Floats, GroundProfile, Cells, Floats]:
    """Cells of 1 m with errors of their own and shared ones, the route across them any way.

    Stations and the true ground there, the ground by the cells, the cells, and so many stations
    (indices) that are sampled too.
    """
    at_m, xy = a_line(rng, rng.uniform(12, 30))
    turn = rng.uniform(0, np.pi / 2)
    xy = xy @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    xy = xy + rng.uniform(0, 1, 2)
    samples = np.linspace(0, at_m[-1], int(np.ceil(at_m[-1])) + 1)
    here = np.empty(0, dtype=int)
    if read:
        apart = (len(at_m) - 1) / read
        here = ((np.arange(read) + rng.uniform(0.1, 0.9, read)) * apart).astype(int)
        samples = np.unique(np.append(samples, at_m[here]))
    places = np.column_stack([np.interp(samples, at_m, one) for one in xy.T])
    low = np.floor(places)
    corners = low[:, None] + np.array([[0, 0], [1, 0], [0, 1], [1, 1]])
    cells, index = np.unique(corners.reshape(-1, 2), axis=0, return_inverse=True)
    both = np.vstack([xy, cells])
    true_m = true_ground(rng, both, both @ [np.cos(turn), np.sin(turn)], middle_m)
    lidar = LIDARS["usual"] if accuracy.lidar is None else accuracy.lidar
    apart_m = np.hypot(*(cells[:, None] - cells[None]).transpose(2, 0, 1))
    shared = drawn_heights(np.exp(-apart_m / lidar.reach_m), rng)
    z_m = true_m[len(xy) :] + lidar.shared_m * shared
    z_m = z_m + lidar.own_m * rng.standard_normal(len(cells))
    x, y = (places - low).T
    weights = np.column_stack([(1 - x) * (1 - y), x * (1 - y), (1 - x) * y, x * y])
    read_m = (z_m[index.reshape(-1, 4)] * weights).sum(axis=1)
    ground = GroundProfile(samples, read_m, "raster", "cells")
    about = Cells(cells, z_m, places, np.arange(len(places)))
    return at_m, true_m[: len(xy)], ground, about, here


def raster(rng: np.random.Generator, middle_m: float, accuracy: Accuracy) -> Known:
    """A raster alone."""
    at_m, true_m, ground, cells, _ = _scanned(rng, middle_m, accuracy)
    errors = cell_errors(accuracy, ground, cells)
    return Known(at_m, true_m, ground, errors, taped(float(at_m[-1])))


def pinned(rng: np.random.Generator, middle_m: float, accuracy: Accuracy) -> Known:
    """A raster and three to five readings down from a string at a height that nobody knows."""
    count = int(rng.integers(3, 6))
    at_m, true_m, ground, cells, here = _scanned(rng, middle_m, accuracy, count)
    sigma_m = float(rng.uniform(0.003, 0.012))
    string_m = 101 + 0.1 * float(rng.standard_normal())
    down_m = string_m - true_m[here] + sigma_m * rng.standard_normal(count)
    readings = tuple(LineReading(x, d) for x, d in zip(at_m[here], down_m, strict=True))
    found = pin(ground, cells, HandReadings(readings, Accuracy(sigma_m=sigma_m), accuracy))
    return Known(at_m, true_m, found.ground, found.errors(), taped(float(at_m[-1])))


KINDS: dict[str, Callable[[np.random.Generator, float, Accuracy], Known]] = {
    "string": string,
    "rod": rod,
    "slopes": slopes,
    "spots": spots,
    "raster": raster,
    "pinned": pinned,
}


def accuracy_of(kind: str, lawn: str | None) -> Accuracy:
    """The lawn stated, or any of the three."""
    lawns: tuple[Lawn, ...] = tuple(LAWNS.values()) if lawn is None else (LAWNS[lawn],)
    return Accuracy(lawns=lawns, lidar=LIDARS["usual"] if kind in ("raster", "pinned") else None)


def a_design(rng: np.random.Generator, shape: str) -> Design:
    cover_m = float(rng.uniform(0.15, 0.3))
    return Design(
        PIPE,
        Start("cover", cover_m),
        Grading(float(rng.uniform(0.01, 0.02)), shape=shape, max_breaks=1),  # type: ignore[arg-type]
        Limits(float(rng.uniform(0.1, cover_m)), None, 3.0),
        Outlet("pop_up", "depth", 0.0, 0.3),
    )


def told(seed: int, kind: str, lawn: str, *, stated: bool, shape: str = "straight") -> Told:
    """One ground, its plan and the truth; the outlet as deep as leaves about nothing to spare."""
    rng = np.random.default_rng([seed, list(KINDS).index(kind), list(MIDDLE_M).index(lawn)])
    accuracy = accuracy_of(kind, lawn if stated else None)
    known = KINDS[kind](rng, MIDDLE_M[lawn], accuracy)
    design = a_design(rng, shape)
    ground, length_m = known.ground, float(known.at_m[-1])
    points = Alignment(ground.at_m, ground.elevation_m, np.ones(len(ground.at_m), dtype=bool))
    spare_m = decide(design, points).margin_m
    most_m = max(0.3 - spare_m + float(rng.uniform(-0.06, 0.06)), 0.01)
    design = replace(design, outlet=replace(design.outlet, most_m=most_m))
    asked_m = np.linspace(0, length_m, max(round(length_m / 2), 1) + 1)
    laid = lay(known.route, ground, design, asked_m)
    plan = make_plan(laid, SI.divisions("m"), errors=known.errors, explain=False)
    shown = np.min(np.abs(known.at_m[:, None] - plan.points.at_m[plan.points.is_station]), axis=1)
    truth = Alignment(known.at_m, known.true_m, shown < STEP_M / 2)
    assert plan.chance is not None
    truly = decide(plan.judged.design, truth, any_line=True).yes
    return Told(plan.chance.chance, plan.verdict, truly)


def fifths(found: list[Told]) -> list[tuple[int, float, float]]:
    """In each fifth of what was told: how many, their mean, and the share truly yes."""
    table = []
    for k in range(5):
        its = [t for t in found if k / 5 <= t.chance < (k + 1) / 5 or (k == 4 and t.chance == 1)]
        if its:
            table.append(
                (
                    len(its),
                    float(np.mean([t.chance for t in its])),
                    float(np.mean([t.truly for t in its])),
                )
            )
        else:
            table.append((0, np.nan, np.nan))
    return table


def told_on_a_lot(seed: int, lawn: str, *, stated: bool) -> list[Told]:
    """A lot of cells of 1 m: at some places a pipe may end, what is told and what is so."""
    rng = np.random.default_rng([seed, 99])
    rows, columns = 24, 20
    down, across = np.mgrid[:rows, :columns]
    xy = np.column_stack([across.ravel(), down.ravel()]).astype(float)
    true_m = true_ground(rng, xy, xy[:, 1], MIDDLE_M[lawn])
    lidar = LIDARS["usual"]
    apart = np.hypot(*(xy[:, None] - xy[None]).transpose(2, 0, 1))
    shared = drawn_heights(np.exp(-apart / lidar.reach_m), rng)
    z_m = true_m + lidar.shared_m * shared + lidar.own_m * rng.standard_normal(len(xy))
    grid = Grid(z_m.reshape(rows, columns), 1.0, 1.0)
    design = replace(
        a_design(rng, "straight"), outlet=Outlet("pop_up", "depth", 0.0, rng.uniform(0.2, 0.4))
    )
    start = np.array([9.0, 2.0])
    shut = np.zeros((rows, columns), dtype=bool)
    at = flat_index(grid, np.array([2]), np.array([9]))
    accuracy = accuracy_of("raster", lawn if stated else None)
    changes = true_grid(grid, accuracy.of_cells(20.0), accuracy.lawns_of_cells, (2, 9), LOT_DRAWS)

    def along(ground: Grid, ways: Reached | None) -> tuple[Floats, Reached, Seeds]:
        level_m = design.start.highest_m(float(ground.z_m[2, 9]), design.section)
        seeds = Seeds(at, np.array([level_m]), np.zeros(1))
        field = field_of(ground, design, shut, shut)
        ways = reach(field, seeds) if ways is None else ways
        ends_m = follow(field, seeds, ways, trail_of(ways, field.steps))
        return spare_m(field, replace(ways, end_m=ends_m)), ways, seeds

    spare, ways, seeds = along(grid, None)
    share = share_that_comes_out(
        grid, design, start, seeds, shut, shut, ways, changes.change_m, LOT_DRAWS
    )
    truly, *_ = along(grid.on(true_m.reshape(rows, columns)), ways)
    far = np.argwhere((np.abs(spare) <= LOT_DOUBT_M) & (down > 8))
    some = far[rng.permutation(len(far))[:LOT_PLACES]]
    return [
        Told(float(share[r, c]), "too_close", bool(np.nan_to_num(truly[r, c], nan=-1) >= 0))
        for r, c in some
    ]
