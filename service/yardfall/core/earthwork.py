"""What is dug, hauled and laid back: volumes by average end area, by depth.

Between neighbouring profile points the depth is a straight line, so that

    volume = width · length · (depth₁ + depth₂) / 2          (average end area)

is exact for a trench with upright sides; a class of depths takes the part of each stretch that
lies between its bounds, found by the same straight line.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numba import njit

from yardfall.core.route import Floats
from yardfall.core.units import INCH_M

COMMON_EARTH_SWELL: Final = 0.25
"""Bank to loose: clay 1.43, common earth 1.25, sand 1.11 (US Army FM 5-434; clay and earth from
memory)."""

TRENCH_BESIDE_PIPE_M: Final = 2 * INCH_M
"""A trench is this much wider than the pipe unless told otherwise (common practice, no source)."""
DIGGERS_M: Final[dict[str, float]] = {
    "by_hand": 36 * INCH_M,
    "trencher_18": 18 * INCH_M,
    "trencher_24": 24 * INCH_M,
    "trencher_36": 36 * INCH_M,
    "small_excavator": 60 * INCH_M,
}
"""How deep each way of digging goes (common practice, no source). The excavator could dig deeper;
60 in is where nobody may stand in an unprotected trench (29 CFR 1926.652(a)(1))."""
NO_BOUND: Final = np.array([np.inf])


@dataclass(frozen=True)
class DepthClass:
    """Trench between two depths (`to_m` None: no bound): how long, and its bank volume."""

    from_m: float
    to_m: float | None
    length_m: float
    volume_m3: float


@dataclass(frozen=True)
class Earthwork:
    """Volumes in m³, bank measure unless `loose`; the sod's area in m²."""

    bank_m3: float
    loose_m3: float
    classes: tuple[DepthClass, ...]
    greatest_m: float
    sod_m2: float
    bedding_m3: float
    pipe_m3: float
    backfill_m3: float
    haul_loose_m3: float


def earthwork(
    at_m: Floats,
    depth_m: Floats,
    bounds_m: tuple[float, ...],
    width_m: float,
    bedding_m: float,
    outside_m: float,
    swell: float,
) -> Earthwork:
    """Volumes of a trench of depths (n,) at stations (n,), none of them counted below 0.

    `bounds_m` part the classes, increasing. What the pipe and its bedding take the place of is
    hauled off, loose.
    """
    deep_m = np.maximum(depth_m, 0.0)
    length_m = float(at_m[-1] - at_m[0])
    bank_m3 = width_m * side_area_m2(at_m, deep_m)
    bedding_m3 = width_m * bedding_m * length_m
    pipe_m3 = math.pi / 4 * outside_m**2 * length_m
    return Earthwork(
        bank_m3=bank_m3,
        loose_m3=bank_m3 * (1 + swell),
        classes=_classes(at_m, deep_m, bounds_m, width_m),
        greatest_m=float(deep_m.max()),
        sod_m2=width_m * length_m,
        bedding_m3=bedding_m3,
        pipe_m3=pipe_m3,
        backfill_m3=max(0.0, bank_m3 - bedding_m3 - pipe_m3),
        haul_loose_m3=min(bank_m3, bedding_m3 + pipe_m3) * (1 + swell),
    )


def side_area_m2(at_m: Floats, depth_m: Floats) -> float:
    """Area of a trench of depths (n,) at stations (n,) seen from its side, none below 0."""
    _, areas_m2 = _no_deeper(at_m, np.maximum(depth_m, 0.0), NO_BOUND)
    return float(areas_m2[0])


def _classes(
    at_m: Floats, deep_m: Floats, bounds_m: tuple[float, ...], width_m: float
) -> tuple[DepthClass, ...]:
    """Length and volume no deeper than each bound, stretch by stretch; classes by difference."""
    lengths_m, areas_m2 = _no_deeper(at_m, deep_m, np.array([*bounds_m, np.inf]))
    edges: list[float | None] = [0.0, *bounds_m, None]
    found, before_m, before_m3 = [], 0.0, 0.0
    for k, (reached_m, reached_m3) in enumerate(
        zip(lengths_m.tolist(), (width_m * areas_m2).tolist(), strict=True)
    ):
        if reached_m - before_m > 1e-9:
            first, last = edges[k], edges[k + 1]
            assert first is not None
            found.append(DepthClass(first, last, reached_m - before_m, reached_m3 - before_m3))
        before_m, before_m3 = reached_m, reached_m3
    return tuple(found)


def warm() -> None:
    """Compile the loop below, or load what was compiled before, so that no caller waits."""
    one = np.array([0.0, 1.0])
    _no_deeper(one, one, one)


@njit(cache=True, nogil=True)
def _no_deeper(at, deep, bounds):  # type: ignore[no-untyped-def]
    """Length and side area no deeper than each bound."""
    lengths, areas = np.zeros(len(bounds)), np.zeros(len(bounds))
    for i in range(len(at) - 1):
        low, high = min(deep[i], deep[i + 1]), max(deep[i], deep[i + 1])
        for b in range(len(bounds)):
            if bounds[b] < low:
                continue
            share = 1.0 if bounds[b] >= high else (bounds[b] - low) / (high - low)
            part = share * (at[i + 1] - at[i])
            lengths[b] += part
            areas[b] += part * (low + share * (high - low) / 2)
    return lengths, areas
