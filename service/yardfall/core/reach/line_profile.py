"""The profile of a line laid over a grid, as a survey of the raster takes it. Compiled loops."""

from __future__ import annotations

from typing import Final

import numpy as np
from numba import njit

from yardfall.core.ground.route import SAME_STATION_M
from yardfall.core.reach.triangles import profile_over

LOOKED_AT: Final = 0.25
"""Of a cell: a line is looked along for what is shut at this spacing."""
ON_A_POINT: Final = 1e-6
"""Of a cell: what lies no further from a point lies on it."""


@njit(cache=True, nogil=True)
def is_open(x, y, u, v, shut):  # type: ignore[no-untyped-def]
    """Whether a straight line keeps off what is shut, from a column and row to another."""
    steps = int(max(abs(u - x), abs(v - y)) / LOOKED_AT) + 1
    over, down = (u - x) / steps, (v - y) / steps
    for i in range(1, steps + 1):
        if shut[int(y + i * down + 0.5), int(x + i * over + 0.5)]:
            return False
    return True


@njit(cache=True, nogil=True)
def corners_of_way(end, start, before, turn, back, width, dx, dy, corners):  # type: ignore[no-untyped-def]
    """The corners of the way found to an end, from the start on; how many, 0: there is no way.

    Points between two steps of one direction are left out.
    """
    most, count, at = len(corners), 0, end
    aim = turn[end]
    step, was = 0, 0
    while True:
        if at != aim:
            there = at + back[end]
        else:
            aim = at
            there = before[at]
        step = at - there
        if count == 0 or step != was or there < 0:
            if count >= most - 1:
                return 0
            corners[count, 0], corners[count, 1] = (at % width - 2) * dx, (at // width - 2) * dy
            count += 1
        was = step
        if at == aim:
            aim = there
            if there < 0:
                break
        at = there
    if (
        np.hypot(corners[count - 1, 0] - start[0], corners[count - 1, 1] - start[1])
        > SAME_STATION_M
    ):
        corners[count] = start
        count += 1
    for i in range(count // 2):
        for j in range(2):
            swap = corners[i, j]
            corners[i, j] = corners[count - 1 - i, j]
            corners[count - 1 - i, j] = swap
    return count


@njit(cache=True, nogil=True)
def profile_of(corners, levels, count, z, dx, dy, triangles, marks, legs, at, ground, seen):  # type: ignore[no-untyped-def]
    """How many points a line has; their stations, ground, and which a crew sees are filled in.

    At no more than a cell's spacing, and at `marks`, stations that grow; 0: its ground is unknown.
    Over `triangles`, where there are any, whose ground at the corners is `levels`.
    """
    if len(triangles[0]):
        return profile_over(triangles, corners, levels, count, marks, legs, at, ground, seen)
    legs[0] = 0.0
    spacing, n, j = min(dx, dy), 0, 0
    for k in range(1, count):
        x, y = corners[k - 1, 0] / dx, corners[k - 1, 1] / dy
        over, down = corners[k, 0] / dx - x, corners[k, 1] / dy - y
        leg = np.hypot(over * dx, down * dy)
        legs[k] = legs[k - 1] + leg
        points = int(np.ceil((legs[k] - legs[k - 1]) / spacing))
        i = 1 if n else 0
        while i <= points:
            here = legs[k - 1] + leg * i / points
            is_mark = i in (0, points)
            if j < len(marks) and marks[j] <= here + SAME_STATION_M:
                if marks[j] < here - SAME_STATION_M:
                    here = marks[j]
                    i -= 1
                is_mark = True
                j += 1
            i += 1
            if n and here - at[n - 1] <= SAME_STATION_M:
                seen[n - 1] |= is_mark
                continue
            if n == len(at):
                return 0
            share = (here - legs[k - 1]) / leg
            level = ground_at(z, x + share * over, y + share * down)
            if np.isnan(level):
                return 0
            at[n], ground[n], seen[n] = here, level, is_mark
            n += 1
    return n


@njit(cache=True, nogil=True)
def ground_at(z, x, y):  # type: ignore[no-untyped-def]
    """Bilinear ground at a column and row; NaN off the grid or beside a missing value."""
    c, r = int(x + ON_A_POINT), int(y + ON_A_POINT)
    u, v = x - c, y - r
    u, v = 0.0 if abs(u) < ON_A_POINT else u, 0.0 if abs(v) < ON_A_POINT else v
    c1, r1 = c + (u > 0), r + (v > 0)
    if u < 0 or v < 0 or c1 >= z.shape[1] or r1 >= z.shape[0]:
        return np.nan
    upper = z[r, c] * (1 - u) + z[r, c1] * u
    lower = z[r1, c] * (1 - u) + z[r1, c1] * u
    return upper * (1 - v) + lower * v
