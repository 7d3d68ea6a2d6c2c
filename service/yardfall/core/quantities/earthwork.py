"""What is dug, hauled and laid back: volumes by average end area, by depth.

Between neighbouring profile points the depth is a straight line, so that

    volume = width · length · (depth₁ + depth₂) / 2          (average end area)

is exact for a trench with upright sides; a class of depths takes the part of each stretch that
lies between its bounds, found by the same straight line. Where nobody stated the width, a trench
that people work in is wider where it is deep (`WORKING_WIDTHS_M`).
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numba import njit

from yardfall.core.arrays import Floats
from yardfall.core.units import INCH_M

COMMON_EARTH_SWELL: Final = 0.25
"""Bank to loose: clay 1.43, common earth 1.25, sand 1.11 (US Army FM 5-434; clay and earth from
memory)."""

WORKING_WIDTHS_M: Final = ((1.0, 0.8), (1.75, 0.9), (4.0, 1.0))
"""From each depth on, the least width of a trench that people work in: EN 1610, table 2 (from
memory). A shallower one has none: it is worked from above."""
TYPE_C_SLOPE: Final = 1.5
"""How far a side is laid back for each unit of depth in soil of type C, the weakest: 29 CFR 1926
Subpart P, Appendix B, table B-1."""
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
SHORTEST_M: Final = 1e-9
"""A shorter stretch is rounding."""


@dataclass(frozen=True)
class DepthClass:
    """Trench between two depths (`to_m` None: no bound): how long, and its bank volume.

    `width_m` is the widest of it.
    """

    from_m: float
    to_m: float | None
    length_m: float
    volume_m3: float
    width_m: float


@dataclass(frozen=True)
class Earthwork:
    """Volumes in m³, bank measure unless `loose`; the sod's area in m².

    `fill_m3` is soil to be laid, in place; spoil that is left over goes into it first, and only the
    rest of each is brought or hauled off.
    """

    bank_m3: float
    loose_m3: float
    classes: tuple[DepthClass, ...]
    greatest_m: float
    sod_m2: float
    bedding_m3: float
    pipe_m3: float
    backfill_m3: float
    haul_loose_m3: float
    fill_m3: float = 0.0
    fill_loose_m3: float = 0.0
    fill_from_spoil_m3: float = 0.0

    @property
    def fill_brought_m3(self) -> float:
        """What of the soil to lay must be brought, loose."""
        return self.fill_loose_m3 - self.fill_from_spoil_m3

    @property
    def widest_m(self) -> float:
        """The trench's width where it is widest."""
        return max((one.width_m for one in self.classes), default=0.0)


def earthwork(
    at_m: Floats,
    depth_m: Floats,
    bounds_m: tuple[float, ...],
    width_m: float,
    bedding_m: float,
    outside_m: float,
    swell: float,
    widths_m: Sequence[tuple[float, float]] = (),
    fill_m3: float = 0.0,
) -> Earthwork:
    """Volumes of a trench of depths (n,) at stations (n,), none of them counted below 0.

    `bounds_m` part the classes, increasing; `widths_m` are depths from which on the trench is at
    least so wide. What the pipe and its bedding take the place of is spoil, loose: it is laid where
    `fill_m3` of soil is to lie, and the rest is hauled off.
    """
    deep_m = np.maximum(depth_m, 0.0)
    length_m, greatest_m = float(at_m[-1] - at_m[0]), float(deep_m.max())
    classes = _classes(at_m, deep_m, bounds_m, width_m, widths_m)
    whole = classes
    if any(greatest_m > depth for depth, _ in widths_m):  # of one width, each of them
        whole = _classes(at_m, deep_m, tuple(depth for depth, _ in widths_m), width_m, widths_m)
    bank_m3 = sum(one.volume_m3 for one in whole)
    sod_m2 = sum(one.width_m * one.length_m for one in whole)
    bedding_m3 = sod_m2 * bedding_m
    pipe_m3 = math.pi / 4 * outside_m**2 * length_m
    spoil_m3, fill_loose_m3 = (
        min(bank_m3, bedding_m3 + pipe_m3) * (1 + swell),
        fill_m3 * (1 + swell),
    )
    from_spoil_m3 = min(spoil_m3, fill_loose_m3)
    return Earthwork(
        bank_m3=bank_m3,
        loose_m3=bank_m3 * (1 + swell),
        classes=classes,
        greatest_m=greatest_m,
        sod_m2=sod_m2,
        bedding_m3=bedding_m3,
        pipe_m3=pipe_m3,
        backfill_m3=max(0.0, bank_m3 - bedding_m3 - pipe_m3),
        haul_loose_m3=spoil_m3 - from_spoil_m3,
        fill_m3=fill_m3,
        fill_loose_m3=fill_loose_m3,
        fill_from_spoil_m3=from_spoil_m3,
    )


def side_area_m2(at_m: Floats, depth_m: Floats) -> float:
    """Area of a trench of depths (n,) at stations (n,) seen from its side, none below 0."""
    _, areas_m2 = _no_deeper(at_m, np.maximum(depth_m, 0.0), NO_BOUND)
    return float(areas_m2[0])


def no_deeper(at_m: Floats, depth_m: Floats, bounds_m: Floats) -> tuple[Floats, Floats]:
    """Length and side area (k,) of what lies no deeper than each bound (k,), none below 0."""
    lengths_m, areas_m2 = _no_deeper(at_m, np.maximum(depth_m, 0.0), bounds_m)
    return lengths_m, areas_m2


def _classes(
    at_m: Floats,
    deep_m: Floats,
    bounds_m: tuple[float, ...],
    width_m: float,
    widths_m: Sequence[tuple[float, float]],
) -> tuple[DepthClass, ...]:
    """Length and volume between the bounds: no deeper than each, stretch by stretch, less before.

    Where the width steps within a class, each part counts with its own.
    """
    steps = sorted({*bounds_m, *(depth for depth, _ in widths_m)})
    lengths_m, areas_m2 = _no_deeper(at_m, deep_m, np.array([*steps, np.inf]))
    parts, less_m, less_m2 = [], 0.0, 0.0
    for from_m, length_m, area_m2 in zip(
        [0.0, *steps], lengths_m.tolist(), areas_m2.tolist(), strict=True
    ):
        if length_m - less_m > SHORTEST_M:
            wide_m = _wide_m(from_m, width_m, widths_m)
            parts.append((from_m, length_m - less_m, area_m2 - less_m2, wide_m))
        less_m, less_m2 = length_m, area_m2
    found = []
    for first, last in itertools.pairwise([0.0, *bounds_m, math.inf]):
        own = [part for part in parts if first <= part[0] < last]
        if own:
            found.append(
                DepthClass(
                    first,
                    None if math.isinf(last) else last,
                    sum(length_m for _, length_m, _, _ in own),
                    sum(wide_m * area_m2 for _, _, area_m2, wide_m in own),
                    max(wide_m for _, _, _, wide_m in own),
                )
            )
    return tuple(found)


def _wide_m(depth_m: float, width_m: float, widths_m: Sequence[tuple[float, float]]) -> float:
    """Width of the trench from a depth on."""
    return max([width_m, *(wide_m for from_m, wide_m in widths_m if depth_m >= from_m)])


@dataclass(frozen=True)
class Sloped:
    """Trench as deep as asks for protection, with its sides laid back from the bottom."""

    length_m: float
    deepest_m: float
    top_m: float
    more_m3: float


def laid_back(
    at_m: Floats,
    depth_m: Floats,
    from_m: float,
    width_m: float,
    widths_m: Sequence[tuple[float, float]] = (),
    slope: float = TYPE_C_SLOPE,
) -> Sloped | None:
    """What sloping the sides takes where a trench is `from_m` deep or deeper; None: nowhere.

    Two triangles beside the trench, slope · depth²  in section; along a stretch of depths d₁ to d₂
    that is slope · length · (d₁² + d₁·d₂ + d₂²)/3 (the prismoid between two such sections).
    """
    length_m = more_m3 = 0.0
    deepest_m = float(depth_m.max())
    if deepest_m < from_m:
        return None
    for i in range(len(at_m) - 1):
        one, two = float(depth_m[i]), float(depth_m[i + 1])
        if max(one, two) < from_m:
            continue
        share = 1.0 if min(one, two) >= from_m else (max(one, two) - from_m) / abs(one - two)
        one, two = max(one, from_m), max(two, from_m)
        part_m = share * float(at_m[i + 1] - at_m[i])
        length_m += part_m
        more_m3 += slope * part_m * (one * one + one * two + two * two) / 3
    top_m = _wide_m(deepest_m, width_m, widths_m) + 2 * slope * deepest_m
    return Sloped(length_m, deepest_m, top_m, more_m3)


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
