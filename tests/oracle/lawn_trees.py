"""A line and a branch over one raster that hand readings pin: what is told of both, and what is so.

On grounds as in `lawns`.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from lawns import (
    MIDDLE_M,
    Floats,
    Told,
    a_design,
    a_line,
    accuracy_of,
    drawn_heights,
    true_ground,
)

from yardfall.core.chance.verdict import verdict_of
from yardfall.core.design import Alignment, Design, Outlet
from yardfall.core.ground.level_line import LineReading
from yardfall.core.ground.profile import GroundProfile
from yardfall.core.network.tree import Joined, Line
from yardfall.core.network.tree_chance import draw_tree, on_changed_ground
from yardfall.core.uncertainty.accuracy import Accuracy
from yardfall.core.uncertainty.lidar import LIDARS, Cells
from yardfall.core.uncertainty.pinned import HandReadings, pin_lines


def told_on_a_tree(seed: int, lawn: str, *, stated: bool) -> Told:
    """A line and a branch over one raster, readings down from a string along the line: what is told
    of both together, and what is so. The branch comes down to the line from its upper side."""
    rng = np.random.default_rng([seed, 98])
    accuracy = accuracy_of("pinned", lawn if stated else None)
    turn, long_m, short_m = rng.uniform(0, np.pi / 2), rng.uniform(14, 24), rng.uniform(5, 10)
    main_m, branch_m = (a_line(rng, one)[0] for one in (long_m, short_m))
    join = round(len(main_m) * rng.uniform(0.45, 0.8))
    along, aside = np.array([np.cos(turn), np.sin(turn)]), np.array([-np.sin(turn), np.cos(turn)])
    start = rng.uniform(0, 1, 2)
    main_xy = start + main_m[:, None] * along
    branch_xy = main_xy[join] - (short_m - branch_m)[:, None] * (along + aside) / np.sqrt(2)
    readings = np.sort(rng.choice(np.arange(2, len(main_m) - 2), 4, replace=False))
    sampled = [
        np.unique(np.append(np.arange(0, len(main_m), 4), [*readings, join, len(main_m) - 1]))
    ]
    sampled += [np.unique(np.append(np.arange(0, len(branch_m), 4), len(branch_m) - 1))]
    places = [main_xy[sampled[0]], branch_xy[sampled[1]]]
    corners = [np.floor(one)[:, None] + [[0, 0], [1, 0], [0, 1], [1, 1]] for one in places]
    cells = np.unique(np.concatenate([one.reshape(-1, 2) for one in corners]), axis=0)
    both = np.vstack([main_xy, branch_xy, cells])
    true_m = true_ground(rng, both, both @ along, MIDDLE_M[lawn])
    lidar = LIDARS["usual"]
    apart_m = np.hypot(*(cells[:, None] - cells[None]).transpose(2, 0, 1))
    z_m = true_m[-len(cells) :] + lidar.own_m * rng.standard_normal(len(cells))
    z_m = z_m + lidar.shared_m * drawn_heights(np.exp(-apart_m / lidar.reach_m), rng)
    lines = []
    for stations, which, there, its in zip(
        (main_m, branch_m), sampled, places, corners, strict=True
    ):
        own = np.unique(its.reshape(-1, 2), axis=0)
        rows = [int(np.flatnonzero((cells == one).all(axis=1))[0]) for one in own]
        about = Cells(own, z_m[rows], there, np.arange(len(there)), raster="yard")
        ground = GroundProfile(stations[which], about.carry() @ about.z_m, "raster", "cells")
        lines.append((ground, about))
    sigma_m = float(rng.uniform(0.003, 0.012))
    down_m = 101 - true_m[readings] + sigma_m * rng.standard_normal(len(readings))
    read = tuple(LineReading(x, d) for x, d in zip(main_m[readings], down_m, strict=True))
    found = pin_lines(lines, HandReadings(read, Accuracy(sigma_m=sigma_m), accuracy))
    models = [one.errors() for one in found]
    main, branch = a_design(rng, "straight"), a_design(rng, "straight")
    branch = replace(branch, outlet=Outlet("tie_in", "invert"))
    branch = replace(branch, limits=replace(branch.limits, outlet_taper_m=0.0))

    def tree(design: Design, grounds: list[tuple[Floats, Floats]]) -> Line:
        points = [Alignment(at, z, np.ones(len(at), dtype=bool)) for at, z in grounds]
        joined = Joined("branch", Line(branch, points[1], (), ()), float(main_m[join]), 0.02)
        return Line(design, points[0], (), (joined,))

    told_m = [
        (at, one.ground.elevation(at))
        for one, model in zip(found, models, strict=True)
        for at in [np.union1d(one.ground.at_m, model.ground_at_m)]
    ]
    as_read = [np.zeros((len(at), 1)) for at, _ in told_m]
    spare_m = float(on_changed_ground(tree(main, told_m), as_read).margin_m[0])
    most_m = max(0.3 - spare_m + float(rng.uniform(-0.06, 0.06)), 0.01)
    main = replace(main, outlet=replace(main.outlet, most_m=most_m))
    chance = draw_tree(tree(main, told_m), models, 1000).chance
    n = len(main_m)
    truth = [(main_m, true_m[:n]), (branch_m, true_m[n : n + len(branch_m)])]
    as_is = [np.zeros((len(at), 1)) for at, _ in truth]
    truly = on_changed_ground(tree(main, truth), as_is).chance == 1
    return Told(chance, verdict_of(truly, chance, blocked=False), bool(truly))
