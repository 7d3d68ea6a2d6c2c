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

from yardfall.core.route import Floats

COMMON_EARTH_SWELL: Final = 0.25
"""Bank to loose: clay 1.43, common earth 1.25, sand 1.11 (US Army FM 5-434; clay and earth from
memory)."""


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
    bank_m3 = width_m * float(np.trapezoid(deep_m, at_m))
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


def _classes(
    at_m: Floats, deep_m: Floats, bounds_m: tuple[float, ...], width_m: float
) -> tuple[DepthClass, ...]:
    """Length and volume no deeper than each bound, stretch by stretch; classes by difference."""
    long_m = np.diff(at_m)
    one, other = deep_m[:-1], deep_m[1:]
    low, high = np.minimum(one, other), np.maximum(one, other)
    rise = high - low
    level = rise <= 0
    to_bound = np.subtract.outer(np.array([*bounds_m, np.inf]), low)
    share = np.minimum(np.maximum(to_bound / np.where(level, 1.0, rise), 0.0), 1.0)
    share = np.where(level, to_bound >= 0, share)
    part_m = share * long_m
    lengths_m = part_m.sum(axis=1)
    volumes_m3 = width_m * (part_m * (low + share * rise / 2)).sum(axis=1)
    edges: list[float | None] = [0.0, *bounds_m, None]
    found, before_m, before_m3 = [], 0.0, 0.0
    for k, (reached_m, reached_m3) in enumerate(
        zip(lengths_m.tolist(), volumes_m3.tolist(), strict=True)
    ):
        if reached_m - before_m > 1e-9:
            first, last = edges[k], edges[k + 1]
            assert first is not None
            found.append(DepthClass(first, last, reached_m - before_m, reached_m3 - before_m3))
        before_m, before_m3 = reached_m, reached_m3
    return tuple(found)
