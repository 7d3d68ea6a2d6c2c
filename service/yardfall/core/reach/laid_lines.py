"""Lines laid over a grid to its points, each decided as a drawn line is.

To every end asked about two lines are tried: straight from the start, and along the way that the
search of the grid found. Each takes its ground, its stations and its limits as a plan does: at no
more than a cell's spacing, at the stations, where a limit begins or ends. So the margin is that of
the plan of the same line, with one straight grade or one change of grade. All compiled.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from yardfall.core import deadline
from yardfall.core.arrays import Floats, Indices, Mask
from yardfall.core.design import Design
from yardfall.core.grading.band import DECISION_SLACK_M
from yardfall.core.grading.limits import held_to_m, highest_at_the_end_m, limits_of_ground
from yardfall.core.grading.one_break import one_break_margin
from yardfall.core.grading.straight import raised_start
from yardfall.core.ground.route import SAME_STATION_M
from yardfall.core.reach.field import Field, Reached
from yardfall.core.reach.grid import Grid
from yardfall.core.reach.line_profile import corners_of_way, is_open, profile_of
from yardfall.core.reach.triangles import NO_TRIANGLES, Triangles

NO_LINE: Final = -1e18
"""Margin where no line can be laid: over a hole, or through what is shut."""
STRAIGHT, BY_WAY = 1, 2
LEAST_GRADE, HIGHEST_START = 12, 15
"""Where in `_numbers` these stand."""


@dataclass(frozen=True, eq=False)
class Laid:
    """The better line to each end (n,): its margin, whether it needs no usual value to give way,
    and which it is; 0 where neither has a line of the shape. `whole` false: none was laid."""

    margin_m: Floats
    plain: NDArray[np.bool_]
    line: NDArray[np.int8]
    whole: bool = True


@dataclass(frozen=True, eq=False)
class Ways:
    """What the lines start from: the search's own ways, and stations `marks_m` along any line.

    `triangles` are the ground between the points of the grid where it is known so well.
    """

    start: Floats
    ground_m: float
    found: Reached
    steps: Indices
    marks_m: Floats
    triangles: Triangles = NO_TRIANGLES


def lay_lines(
    ends: Indices,
    hopes: NDArray[np.int8],
    grid: Grid,
    shut: Mask,
    ways: Ways,
    last: tuple[Design, Field],
    first: tuple[Design, Field],
    *,
    changes: tuple[bool, bool],
) -> Laid:
    """The better line to each end (flat, as of `flat_index`).

    `hopes` (n,) is what any number of changes along the way would bring: 0 nothing, 1 the pipe out,
    2 with no usual value given way.
    `last` is the design with every usual value at its last, `first` with none given way, and the
    limits of each on the grid. `changes`: whether the grade may change once in each, else not at
    all.
    """
    margin, plain = np.empty(len(ends)), np.zeros(len(ends), dtype=np.bool_)
    line = np.zeros(len(ends), dtype=np.int8)
    _lay(
        ends,
        hopes,
        np.ascontiguousarray(grid.z_m),
        shut,
        grid.dx_m,
        grid.dy_m,
        ways.triangles.arrays,
        ways.start,
        ways.ground_m,
        ways.found.before,
        ways.found.turn,
        ways.steps[ways.found.turn_way],
        ways.marks_m,
        _numbers(last[0], ways.ground_m),
        last[1].lowest_end_m,
        _numbers(first[0], ways.ground_m),
        first[1].lowest_end_m,
        *changes,
        margin,
        plain,
        line,
        deadline.flag(),
    )
    deadline.check()
    return Laid(margin, plain, line)


def margin_along(
    line: Floats,
    levels_m: Floats,
    grid: Grid,
    triangles: Triangles,
    marks_m: Floats,
    design: Design,
    lowest_end_m: float,
    *,
    changes: bool,
) -> float:
    """Margin of a line (k, 2) with ground (k,) at its corners, NO_LINE where not all is known."""
    most = 4 * (sum(grid.z_m.shape) + len(line) + len(marks_m)) + len(triangles.edges)
    profile = np.empty(most), np.empty(most), np.empty(most, dtype=np.bool_)
    z, legs = np.ascontiguousarray(grid.z_m), np.empty(len(line))
    cell, count = (grid.dx_m, grid.dy_m), len(line)
    n = profile_of(line, levels_m, count, z, *cell, triangles.arrays, marks_m, legs, *profile)
    if n < 2:
        return NO_LINE
    at, ground, seen = (one[:n] for one in profile)
    numbers = _numbers(design, float(ground[0]))
    return float(_margin(at, ground, seen, numbers, lowest_end_m, changes, deadline.flag()))


def _numbers(design: Design, ground_m: float) -> tuple[float, ...]:
    """What the loops need of a design, one number each."""
    limits, section, outlet = design.limits, design.section, design.outlet
    thin_m = limits.run_out_cover_m
    by_depth = outlet.by == "depth"
    return (
        limits.min_cover_m,
        limits.outlet_taper_m,
        -1.0 if thin_m is None else min(thin_m, limits.min_cover_m),
        limits.open_end_m,
        limits.run_in_m,
        min(limits.run_in_cover_m, limits.min_cover_m),
        np.inf if limits.max_depth_m is None else limits.max_depth_m,
        section.above_invert_m,
        section.below_invert_m,
        highest_at_the_end_m(section, limits),
        outlet.least_m if by_depth else -np.inf,
        np.inf if by_depth else outlet.most_m,
        design.grading.min_grade,
        design.grading.max_grade,
        design.start.invert_m(ground_m, section),
        design.start.highest_m(ground_m, section),
    )


def warm() -> None:
    """Compile the loops below, or load what was compiled before, so that no caller waits."""
    z, one, none = np.ones((3, 3)), np.array([24]), NO_TRIANGLES.arrays
    numbers = (
        0.1, 1.0, 0.1, 1.0, 0.0, 0.1, np.inf, 0.1, 0.0, 0.0, 0.0, np.inf, 0.01, np.inf, 0.8, 0.8,
    )  # fmt: skip
    level, turn = np.zeros(49), np.arange(49, dtype=np.int32)
    _lay(
        one, np.ones(1, dtype=np.int8), z, z < 0, 1.0, 1.0, none, np.zeros(2), 1.0,
        np.full(49, -1, dtype=np.int32), turn, np.full(49, -1), level[:1],
        numbers, level, numbers, level, True, False, np.empty(1), np.zeros(1, dtype=np.bool_),
        np.zeros(1, dtype=np.int8), deadline.flag(),
    )  # fmt: skip
    at, ground, seen, line = np.empty(9), np.empty(9), np.empty(9, dtype=np.bool_), np.eye(2)
    n = profile_of(line, z[0], 2, z, 1.0, 1.0, none, np.zeros(0), np.empty(2), at, ground, seen)
    _margin(at[:n], ground[:n], seen[:n], numbers, 0.8, False, deadline.flag())


@njit(cache=True, nogil=True)
def _lay(  # type: ignore[no-untyped-def]
    ends, hopes, z, shut, dx, dy, triangles, start, start_ground, before, turn, back, marks,
    last, last_end, first, first_end, changes, changes_first, margin, plain, which, over,
):  # fmt: skip
    rows, columns = z.shape
    width = columns + 4
    corners, legs = np.empty((rows * columns + 2, 2)), np.empty(rows * columns + 2)
    levels = np.empty(rows * columns + 2)
    most = 8 * (rows + columns) + len(marks) + len(triangles[0])
    at, ground, seen = np.empty(most), np.empty(most), np.empty(most, dtype=np.bool_)
    for e in range(len(ends)):
        if over[0]:
            break
        end = ends[e]
        margin[e] = NO_LINE
        x, y = (end % width - 2) * dx, (end // width - 2) * dy
        far = np.hypot(x - start[0], y - start[1])
        if last[HIGHEST_START] - last[LEAST_GRADE] * far < last_end[end] - DECISION_SLACK_M:
            continue  # too far for any line
        for way in (STRAIGHT, BY_WAY):
            if way == BY_WAY and (hopes[e] == 0 or (which[e] > 0 and hopes[e] == 1)):
                break
            if way == STRAIGHT:
                corners[0], corners[1, 0], corners[1, 1] = start, x, y
                count = 2
                if not is_open(start[0] / dx, start[1] / dy, x / dx, y / dy, shut):
                    continue
            else:
                count = corners_of_way(end, start, before, turn, back, width, dx, dy, corners)
            levels[0] = start_ground
            if len(triangles[0]):
                for k in range(1, count):  # points of the grid
                    levels[k] = z[int(corners[k, 1] / dy + 0.5), int(corners[k, 0] / dx + 0.5)]
            n = profile_of(
                corners, levels, count, z, dx, dy, triangles, marks, legs, at, ground, seen
            )
            if n < 2:
                continue
            ground[0] = start_ground
            line = at[:n], ground[:n], seen[:n]
            found = _margin(*line, last, last_end[end], changes, over)
            if found < -DECISION_SLACK_M:
                if which[e] == 0 and found > margin[e]:
                    margin[e] = found
                continue
            easily = _margin(*line, first, first_end[end], changes_first, over)
            easy = easily >= -DECISION_SLACK_M
            better = which[e] == 0 or (easy and not plain[e])
            if better or (easy == plain[e] and found > margin[e]):
                margin[e], plain[e], which[e] = found, easy, way
            if easy:
                break  # the straight one, and with nothing given way


@njit(cache=True, nogil=True)
def _margin(at, ground, shown, numbers, lowest_end, one_change, over):  # type: ignore[no-untyped-def]
    """Margin of the best line of a shape along a profile, as `core.grading.decision` finds it."""
    (
        cover, taper, thin, open_end, run_in, shallow, deepest, above, below, end_above,
        least, highest_end, s, S, start, raised,
    ) = numbers  # fmt: skip
    long = at[-1]
    bare = max(0.0, long - taper)
    opens = max(bare, long - open_end) if thin >= 0 else bare
    run = min(run_in, long) if run_in > 0 else 0.0
    at, ground, shown = _with_edges(at, ground, shown, np.array([bare, opens, run]))
    last = len(at) - 1
    hi, lo, _, _, _ = limits_of_ground(
        at, ground, held_to_m(bare), cover,
        held_to_m(opens) if thin >= 0 else -np.inf, max(thin, 0.0),
        run_in - SAME_STATION_M, shallow, deepest, above, below, end_above,
    )  # fmt: skip
    over_end = hi[last]
    own = min(ground[last] - least + below, highest_end)
    collides = np.ones(last + 1, dtype=np.bool_)
    collides[0] = collides[last] = False
    if own > over_end:
        collides[last] = True
    hi[last] = min(over_end, own)
    lo[last] = max(lo[last], lowest_end)
    room = np.inf
    if not collides[last]:
        room = over_end - lo[last]
    room = min(room, start - lo[0])
    hi[0], lo[0] = min(hi[0], raised), max(lo[0], start)
    if lo[0] > hi[0] + DECISION_SLACK_M or room < -DECISION_SLACK_M:
        return min(hi[0] - lo[0], room)
    _, found = raised_start(at, hi, lo, collides, lo[0], hi[0], s, S)
    if found < -DECISION_SLACK_M and not one_change:
        return min(found, room)
    if one_change and last > 1:
        places = np.flatnonzero(shown[1:-1]) + 1
        if len(places) > 0:
            most = _of_any_shape(at, hi, lo, collides, s)
            if most > found + DECISION_SLACK_M and most >= -DECISION_SLACK_M:
                bent, _ = one_break_margin(
                    at, hi, lo, collides, lo[0], hi[0], s, S, places,
                    most - DECISION_SLACK_M, np.empty(3), over,
                )  # fmt: skip
                found = max(found, bent)
    return min(found, room)


@njit(cache=True, nogil=True)
def _of_any_shape(at, hi, lo, collides, s):  # type: ignore[no-untyped-def]
    """The most that a line with any changes of grade leaves: the least over pairs of points."""
    top, most = hi[0] + s * at[0], np.inf
    for i in range(1, len(at)):
        if collides[i]:
            most = min(most, hi[i] - lo[i])
        most = min(most, top - s * at[i] - lo[i])
        top = min(top, hi[i] + s * at[i])
    return most


@njit(cache=True, nogil=True)
def _with_edges(at, ground, shown, edges):  # type: ignore[no-untyped-def]
    """The profile with points where a limit begins or ends, the ground straight between its own."""
    n = len(at)
    more_at, more_ground = np.empty(n + len(edges)), np.empty(n + len(edges))
    more_shown = np.zeros(n + len(edges), dtype=np.bool_)
    edges = np.sort(edges)
    m, e = 0, 0
    for i in range(n):
        while e < len(edges) and edges[e] < at[i]:
            near = i == 0 or min(edges[e] - more_at[m - 1], at[i] - edges[e]) <= SAME_STATION_M
            if not near:
                share = (edges[e] - at[i - 1]) / (at[i] - at[i - 1])
                more_at[m] = edges[e]
                more_ground[m] = ground[i - 1] + share * (ground[i] - ground[i - 1])
                m += 1
            e += 1
        more_at[m], more_ground[m], more_shown[m] = at[i], ground[i], shown[i]
        m += 1
    return more_at[:m], more_ground[:m], more_shown[:m]
