"""A three-level tree on each of many drawn grounds, against one linear program a draw."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import linprog

from yardfall.core.chance.draws import SEED, draw
from yardfall.core.design import Alignment, Design, Grading, Limits, Outlet, Start
from yardfall.core.ground.profile import from_elevations
from yardfall.core.network.tree import Joined, Line
from yardfall.core.network.tree_chance import draw_tree, on_changed_ground
from yardfall.core.pipes import CATALOGUE
from yardfall.core.uncertainty.accuracy import Accuracy, point_errors
from yardfall.core.units import INCH_M

PIPE = CATALOGUE["corrugated-single-4"]
GRADE = 0.0125
DRAWS = 120
OPEN = Outlet("tie_in", "invert", -1e9)


def a_line(
    rng: np.random.Generator, shape: str, raise_m: float, joined: tuple[Joined, ...]
) -> Line:
    n = int(rng.integers(4, 7))
    at_m = np.concatenate([[0.0], np.cumsum(rng.uniform(2, 4, n - 1))])
    ground_m = 30 - 0.016 * at_m + rng.normal(0, 0.02, n)
    cover_m = float(rng.uniform(6, 9)) * INCH_M
    design = Design(
        PIPE,
        Start("cover", cover_m, cover_m - raise_m if raise_m else None),
        Grading(GRADE, shape=shape),  # type: ignore[arg-type]
        Limits(4 * INCH_M, float(rng.uniform(17, 24)) * INCH_M, 0.0),
        OPEN,
    )
    return Line(design, Alignment(at_m, ground_m, np.ones(n, dtype=bool)), (), joined)


def a_tree(seed: int, shape: str, raise_m: float) -> Line:
    """A main, a branch on it, and a branch on that, on one datum or tied by the ground."""
    rng = np.random.default_rng(seed)
    line = a_line(rng, shape, raise_m, ())
    for name in ("branch", "main"):
        below = a_line(rng, shape, raise_m, ())
        at = int(rng.integers(1, len(below.points.at_m) - 1))
        apart_m = float(line.points.ground_m[-1] - below.points.ground_m[at])
        tied = bool(rng.integers(0, 2))
        if not tied:
            ground_m = line.points.ground_m - apart_m
            line = replace(line, points=replace(line.points, ground_m=ground_m))
            apart_m = 0.0
            line = replace(line, joined=tuple(line.joined))
        join = Joined(name, line, float(below.points.at_m[at]), 0.01, apart_m, tied)
        line = replace(below, joined=(join,))
    end = Outlet("tie_in", "depth", 0.0, float(rng.uniform(12, 18)) * INCH_M)
    return replace(line, design=replace(line.design, outlet=end))


def fits(tree: Line, changes: list[np.ndarray]) -> tuple[bool, float]:
    """One linear program over the inverts of all pipes: how far limits must give."""
    bounds: list[tuple[float, float]] = []
    upper, most, lower, least = [], [], [], []

    def add(line: Line, waiting: list[np.ndarray]) -> tuple[int, np.ndarray]:
        change = waiting.pop(0)
        g = line.points.ground_m + change
        x, design, section = line.points.at_m, line.design, line.design.section
        first = len(bounds)
        for i, here in enumerate(g):
            hi = float(section.invert_at_cover(here, design.limits.min_cover_m))
            lo = float(section.invert_at_depth(here, design.limits.max_depth_m or 0))
            if i == 0:
                stated = float(section.invert_at_cover(here, design.start.value_m))
                raised = design.start.shallowest_cover_m
                top = stated if raised is None else float(section.invert_at_cover(here, raised))
                lo, hi = max(lo, stated), min(hi, top)
            if i == len(g) - 1 and design.outlet is not OPEN:
                lo = max(lo, float(section.invert_at_depth(here, design.outlet.most_m)))
                hi = min(hi, float(section.invert_at_depth(here, design.outlet.least_m)))
            bounds.append((lo, hi))
            if i:
                upper.append({first + i: 1.0, first + i - 1: -1.0})
                most.append(-GRADE * (x[i] - x[i - 1]))
            if line.straight and i > 1:
                a, b = x[i - 1] - x[i - 2], x[i] - x[i - 1]
                lower.append({first + i: a, first + i - 1: -a - b, first + i - 2: b})
                least.append(0.0)
        for branch in line.joined:
            above, its_change = add(branch.line, waiting)
            i = int(np.argmin(np.abs(x - branch.at_m)))
            offset = branch.offset_m + (its_change[-1] - change[i] if branch.tied_by_ground else 0)
            upper.append({first + i: 1.0, above: -1.0})
            most.append(-branch.drop_m - offset)
        return first + len(g) - 1, change

    add(tree, list(changes))
    size = len(bounds)
    # Every lower limit may give by one unknown, which is made as small as can be.
    limits = [{i: -1.0, size: -1.0} for i in range(size)]
    rows = [*upper, *limits, *({i: 1.0} for i in range(size))]
    right = [*most, *(-lo for lo, _ in bounds), *(hi for _, hi in bounds)]

    def matrix(parts: list[dict[int, float]]) -> np.ndarray:
        full = np.zeros((len(parts), size + 1))
        for r, part in enumerate(parts):
            for c, value in part.items():
                full[r, c] = value
        return full

    answer = linprog(
        np.eye(size + 1)[-1],
        matrix(rows),
        right,
        matrix(lower) if lower else None,
        least if lower else None,
        bounds=[(None, None)] * size + [(0, None)],
    )
    return answer.status == 0 and answer.x[-1] < 1e-9, answer.x[-1]


@pytest.mark.parametrize("seed", range(3))
@pytest.mark.parametrize(
    ("shape", "raise_in"), [("least_dig", 0), ("straight", 0), ("straight", 2)]
)
def test_every_draw(seed: int, shape: str, raise_in: float) -> None:
    tree = a_tree(seed, shape, raise_in * INCH_M)
    rng = np.random.default_rng(seed + 100)
    lines = [tree, tree.joined[0].line, tree.joined[0].line.joined[0].line]
    changes = [rng.normal(0, 0.02, (len(one.points.at_m), DRAWS)) for one in lines]
    drawn = on_changed_ground(tree, changes)
    told = []
    for d in range(DRAWS):
        exists, give_m = fits(tree, [change[:, d] for change in changes])
        if 1e-9 <= give_m < 1e-6:
            continue  # the linear program's own tolerance
        assert (drawn.margin_m[d] >= -1e-9) == exists, d
        told.append(exists)
    assert len(told) > 0.9 * DRAWS


def test_the_tree_is_drawn_as_a_whole() -> None:
    """Its chance is that of its own draws, each line's readings drawn apart from the others'."""
    tree = a_tree(1, "least_dig", 0.0)
    lines = [tree, tree.joined[0].line, tree.joined[0].line.joined[0].line]
    models = [
        point_errors(
            Accuracy(sigma_m=0.02),
            from_elevations(one.points.at_m, one.points.ground_m),
            ["r"] * len(one.points.at_m),
        )
        for one in lines
    ]
    chance = draw_tree(tree, models, 2000).chance
    errors = [draw(model, 2000, SEED + i).errors_m for i, model in enumerate(models)]
    size = min(len(e) for e in errors)
    together = np.corrcoef(np.concatenate([e[:size] for e in errors]))
    apart = together - np.eye(len(together))
    assert np.abs(apart).max() < 0.1
    rng = np.random.default_rng(7)
    again = on_changed_ground(
        tree, [rng.normal(0, 0.02, (len(one.points.at_m), 20_000)) for one in lines]
    ).chance
    assert chance == pytest.approx(again, abs=4 * (again * (1 - again) / 2000) ** 0.5 + 1e-9)
    assert draw_tree(tree, models, 2000).chance == chance
