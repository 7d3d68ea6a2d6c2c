"""Ground as flat triangles between spot heights, cut along a line as a plan's is. Compiled loops.

A line's ground has a point wherever it crosses an edge, and runs straight between these: nothing is
missed. Edges are kept by squares, so that a stretch of a line is held against those near it alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from yardfall.core.arrays import Floats, Indices
from yardfall.core.ground.route import SAME_STATION_M
from yardfall.core.ground.tin import AT_A_CORNER

MOST_SQUARES: Final = 32
"""Along a side: a long edge is kept in each square of the box about it."""


@dataclass(frozen=True, eq=False)
class Triangles:
    """Edges (m, 6): x, y, z of both ends.

    Those of square i are `which[first[i]:first[i + 1]]`; squares (`rows`, `columns`) of a side
    `size_m` begin at `low` (2,).
    """

    edges: Floats
    first: Indices
    which: Indices
    low: Floats
    size_m: float
    rows: int
    columns: int

    @classmethod
    def of(cls, corners: NDArray[np.integer], xy: Floats, z_m: Floats) -> Triangles:
        """Of triangles (k, 3) between points (n, 2) of levels (n,)."""
        pairs = np.sort(corners[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
        one, two = np.unique(pairs, axis=0).T
        points = np.column_stack([xy, z_m])
        low = xy.min(axis=0)
        size_m = max(float(np.ptp(xy, axis=0).max()) / MOST_SQUARES, SAME_STATION_M)
        at = np.floor((xy - low) / size_m).astype(np.int64)
        columns, rows = (int(n) + 1 for n in at.max(axis=0))
        least, most = np.minimum(at[one], at[two]), np.maximum(at[one], at[two])
        wide, tall = (most - least + 1).T
        count = wide * tall
        edge = np.repeat(np.arange(len(one)), count)
        nth = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count)
        square = (least[edge, 1] + nth // wide[edge]) * columns
        square += least[edge, 0] + nth % wide[edge]
        first = np.concatenate([[0], np.cumsum(np.bincount(square, minlength=rows * columns))])
        which = edge[np.argsort(square, kind="stable")]
        edges = np.hstack([points[one], points[two]])
        return cls(edges, first.astype(np.int64), which, low, size_m, rows, columns)

    @property
    def arrays(self) -> tuple[Floats, Indices, Indices, Floats, float, int, int]:
        """As the compiled loops take them."""
        return (
            self.edges, self.first, self.which, self.low, self.size_m, self.rows, self.columns,
        )  # fmt: skip


NO_TRIANGLES: Final = Triangles(
    np.empty((0, 6)), np.zeros(1, dtype=np.int64), np.empty(0, dtype=np.int64),
    np.zeros(2), 1.0, 0, 0,
)  # fmt: skip
"""Ground that is no triangles."""


@njit(cache=True, nogil=True)
def profile_over(triangles, corners, levels, count, marks, legs, at, ground, seen):  # type: ignore[no-untyped-def]
    """How many points a line has over triangles; their stations, ground, and which a crew sees are
    filled in, as `line_profile.profile_of` does. `levels` are the ground at its corners; 0: there
    are too many of them."""
    legs[0], n = 0.0, 1
    at[0], ground[0], seen[0] = 0.0, levels[0], True
    for k in range(1, count):
        legs[k] = legs[k - 1] + np.hypot(
            corners[k, 0] - corners[k - 1, 0], corners[k, 1] - corners[k - 1, 1]
        )
        n = _crossings(
            triangles, corners[k - 1], corners[k], legs[k - 1], legs[k], at, ground, seen, n
        )
        if n == 0 or n == len(at):
            return 0
        if legs[k] - at[n - 1] <= SAME_STATION_M:
            n -= 1
        at[n], ground[n], seen[n] = legs[k], levels[k], True
        n += 1
    return _with_marks(marks, at, ground, seen, n)


@njit(cache=True, nogil=True)
def _crossings(triangles, here, there, from_m, to_m, at, ground, seen, n):  # type: ignore[no-untyped-def]
    """Put where a leg crosses edges after n points, in order; how many points then, 0: too many."""
    edges, first, which, low, size, rows, columns = triangles
    x, y, over, up = here[0], here[1], there[0] - here[0], there[1] - here[1]
    parts = max(int(np.ceil(np.hypot(over, up) / size)), 1)
    for part in range(parts):
        begin, end = part / parts, (part + 1) / parts
        left, right = x + begin * over - low[0], x + end * over - low[0]
        bottom, top = y + begin * up - low[1], y + end * up - low[1]
        c0 = max(int(np.floor(min(left, right) / size - AT_A_CORNER)), 0)
        c1 = min(int(np.floor(max(left, right) / size + AT_A_CORNER)), columns - 1)
        r0 = max(int(np.floor(min(bottom, top) / size - AT_A_CORNER)), 0)
        r1 = min(int(np.floor(max(bottom, top) / size + AT_A_CORNER)), rows - 1)
        for r in range(r0, r1 + 1):
            for c in range(c0, c1 + 1):
                square = r * columns + c
                for i in range(first[square], first[square + 1]):
                    edge = edges[which[i]]
                    along, aside = edge[3] - edge[0], edge[4] - edge[1]
                    cross = over * aside - up * along
                    if cross == 0.0:
                        continue
                    gap, rise = edge[0] - x, edge[1] - y
                    on_leg = (gap * aside - rise * along) / cross
                    on_edge = (gap * up - rise * over) / cross
                    if not (begin <= on_leg <= end and 0.0 < on_leg < 1.0):
                        continue
                    if not -AT_A_CORNER <= on_edge <= 1.0 + AT_A_CORNER:
                        continue
                    station = from_m + on_leg * (to_m - from_m)
                    level = edge[2] + on_edge * (edge[5] - edge[2])
                    j = n
                    while at[j - 1] > station:
                        j -= 1
                    if station - at[j - 1] <= SAME_STATION_M:
                        continue
                    if j < n and at[j] - station <= SAME_STATION_M:
                        continue
                    if n == len(at):
                        return 0
                    for m in range(n, j, -1):
                        at[m], ground[m], seen[m] = at[m - 1], ground[m - 1], seen[m - 1]
                    at[j], ground[j], seen[j] = station, level, False
                    n += 1
    return n


@njit(cache=True, nogil=True)
def _with_marks(marks, at, ground, seen, n):  # type: ignore[no-untyped-def]
    """Put marks (stations that grow) among n points, the ground straight between these."""
    k = 0
    for mark in marks:
        if mark >= at[n - 1] - SAME_STATION_M:
            break
        while at[k] < mark - SAME_STATION_M:
            k += 1
        if at[k] <= mark + SAME_STATION_M:
            seen[k] = True
            continue
        if n == len(at):
            return 0
        share = (mark - at[k - 1]) / (at[k] - at[k - 1])
        level = ground[k - 1] + share * (ground[k] - ground[k - 1])
        for m in range(n, k, -1):
            at[m], ground[m], seen[m] = at[m - 1], ground[m - 1], seen[m - 1]
        at[k], ground[k], seen[k] = mark, level, True
        n += 1
    return n
