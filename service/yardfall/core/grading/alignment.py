"""The points of a route at which the limits are held, from its ground and its stations."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Final

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.core.design import Alignment, Limits
from yardfall.core.ground.profile import GroundProfile
from yardfall.core.ground.route import SAME_STATION_M, Route, merge_stations, same_station

KEPT: Final = 64
"""Alignments kept, so that whoever moves the pipe on the same ground gets them at once."""


def stations_of(
    route: Route, ground: GroundProfile, asked_m: Floats, special_m: Sequence[float]
) -> Floats:
    """Stations a crew sees: those asked for, both ends, bends, readings, and the `special_m`:
    crossings, joins, edges of what bears on the ground."""
    read_m = _on_line(ground.reading_at_m, route.length_m)
    special = np.array(special_m, dtype=np.float64)
    on_line = special[(special >= 0) & (special <= route.length_m + SAME_STATION_M)]
    return merge_stations(asked_m, route.vertex_at_m, read_m, on_line)


def align(ground: GroundProfile, stations_m: Floats, length_m: float, limits: Limits) -> Alignment:
    """Stations, every point where the ground was sampled, and where a cover limit changes."""
    return _aligned(ground, stations_m.tobytes(), length_m, limits.edges_m(length_m))


@lru_cache(maxsize=KEPT)
def _aligned(
    ground: GroundProfile, stations: bytes, length_m: float, edges_m: tuple[float, ...]
) -> Alignment:
    stations_m = np.frombuffer(stations).copy()  # compiled loops take no array that is read-only
    inside = _on_line(ground.at_m, length_m)
    at_m = merge_stations(stations_m, inside, np.array(edges_m))
    return Alignment(at_m, ground.elevation(at_m), same_station(at_m, stations_m))


def shortened(ground: GroundProfile, stations_m: Floats, end_m: float, limits: Limits) -> Alignment:
    """The alignment of the same route ended at `end_m`."""
    kept = stations_m[stations_m < end_m - SAME_STATION_M]
    return align(ground, np.append(kept, end_m), end_m, limits)


def _on_line(at_m: Floats, length_m: float) -> Floats:
    """Those of increasing stations (n,) that lie on a line."""
    if len(at_m) and at_m[0] >= 0 and at_m[-1] <= length_m:
        return at_m
    return at_m[(at_m >= 0) & (at_m <= length_m)]
