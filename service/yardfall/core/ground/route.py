"""The way the pipe takes, and stations along it.

Stations are measured along the ground plan (horizontal distance) from 0 at the inlet.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numba import njit
from numpy.typing import NDArray

from yardfall.core.arrays import Floats
from yardfall.core.errors import InputError

MAX_STATIONS: Final = 2000
SAME_STATION_M: Final = 1e-6
"""Stations closer than this are one station: far below anything a tape can show."""


@dataclass(frozen=True, eq=False)
class Route:
    """Vertices and their stations.

    `vertex_at_m` (k,) starts at 0 and ends at `length_m`; `xy` (k, 2) are the vertices in the
    route's own coordinates, or None for a taped run without a map. `drawn_length_m` is the
    length before a tape stretched it.
    """

    length_m: float
    vertex_at_m: Floats
    xy: Floats | None
    drawn_length_m: float

    def position(self, at_m: Floats) -> Floats | None:
        """Coordinates (n, 2) of stations (n,), linear along each leg; None without a map."""
        if self.xy is None:
            return None
        return np.column_stack(
            [np.interp(at_m, self.vertex_at_m, self.xy[:, axis]) for axis in (0, 1)]
        )

    def position_at(self, at_m: float) -> tuple[float, float] | None:
        """Coordinates of one station."""
        xy = self.position(np.array([at_m]))
        return None if xy is None else (float(xy[0, 0]), float(xy[0, 1]))


def taped(length_m: float) -> Route:
    """A run known only by its taped length."""
    return Route(length_m, np.array([0.0, length_m]), None, length_m)


def drawn(xy: Floats, leg_m: Floats, tape_length_m: float | None = None) -> Route:
    """A drawn line with the true length of each leg; a taped length stretches it evenly.

    `xy` (k, 2), `leg_m` (k - 1,). Raises InputError when two following points coincide or the
    line has no length.
    """
    short = np.flatnonzero(leg_m <= SAME_STATION_M)
    if short.size:
        first = int(short[0])
        raise InputError.at(
            f"/line/coordinates/{first + 1}",
            f"Point {first + 2} of the line lies on point {first + 1}; leave one of them out.",
        )
    at_m = np.concatenate([[0.0], np.cumsum(leg_m)])
    drawn_length_m = float(at_m[-1])
    if tape_length_m is not None:
        at_m = at_m * (tape_length_m / drawn_length_m)
        at_m[-1] = tape_length_m
    return Route(float(at_m[-1]), at_m, xy, drawn_length_m)


def turns_deg(xy: Floats, squeeze: float = 1.0) -> Floats:
    """How far a line (k, 2) turns at each inner vertex (k - 2,), 0 to 180 degrees.

    `squeeze` is the length of a unit of x against one of y: the cosine of the latitude for
    longitude and latitude.
    """
    steps = np.diff(xy, axis=0) * np.array([squeeze, 1.0])
    bearings = np.degrees(np.arctan2(steps[:, 1], steps[:, 0]))
    return np.abs((np.diff(bearings) + 180) % 360 - 180)


def planar_legs(xy: Floats) -> Floats:
    """Straight-line length of each leg (k - 1,) of a plane line (k, 2)."""
    steps = np.diff(xy, axis=0)
    return np.hypot(steps[:, 0], steps[:, 1])


def regular_stations(length_m: float, every_m: float) -> Floats:
    """Stations 0, every, 2·every … up to the end. Raises InputError past MAX_STATIONS."""
    count = int(np.floor(length_m / every_m + 1e-9)) + 1
    if count > MAX_STATIONS:
        raise InputError.at(
            "/every",
            f"That would be {count} stations; at most {MAX_STATIONS} are computed. "
            "Space them further apart, or see whether the route is really so long.",
        )
    return np.minimum(np.arange(count) * every_m, length_m)


def same_station(at_m: Floats, stations_m: Floats) -> NDArray[np.bool_]:
    """Which of `at_m` (n,) is one of `stations_m` (m,), in order and at least one."""
    found: NDArray[np.bool_] = _among(at_m, stations_m)
    return found


def merge_stations(*groups: Floats) -> Floats:
    """All stations of the groups, in order, each once (within SAME_STATION_M)."""
    # The groups are in order, mostly; a stable sort takes such runs in one pass.
    merged: Floats = _each_once(np.sort(np.concatenate(groups), kind="stable"))
    return merged


def warm() -> None:
    """Compile the loops below, or load what was compiled before, so that no caller waits."""
    one = np.array([0.0, 1.0])
    _among(one, _each_once(one))


@njit(cache=True, nogil=True)
def _each_once(ordered):  # type: ignore[no-untyped-def]
    count = min(len(ordered), 1)
    for i in range(1, len(ordered)):
        if ordered[i] - ordered[i - 1] > SAME_STATION_M:
            ordered[count] = ordered[i]
            count += 1
    return ordered[:count]


@njit(cache=True, nogil=True)
def _among(at, stations):  # type: ignore[no-untyped-def]
    found = np.empty(len(at), dtype=np.bool_)
    for i, right in enumerate(np.searchsorted(stations, at - SAME_STATION_M)):
        found[i] = abs(stations[min(right, len(stations) - 1)] - at[i]) <= SAME_STATION_M
    return found
