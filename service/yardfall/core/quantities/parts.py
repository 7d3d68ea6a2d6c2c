"""Pipe, fittings and outlet parts to buy. Rules of the trade: common practice, no source."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from yardfall.core.arrays import Floats
from yardfall.core.design import OutletKind
from yardfall.core.pipes import Pipe
from yardfall.core.units import FOOT_M

COIL_M: Final = 100 * FOOT_M
STICK_M: Final = 10 * FOOT_M
STICK_WASTE: Final = 0.05
CLEANOUT_EVERY_M: Final = 100 * FOOT_M
STRAIGHT_ENOUGH_DEG: Final = 10.0
"""A turn that the pipe or its joints take without a fitting."""
ONE_SMALL_ELBOW_DEG: Final = 33.75
HEAD_M: Final = 0.3
"""What enters this near the start enters at the head of the pipe."""

PARTS: Final[dict[str, str]] = {
    "elbow_22": "22-1/2 degree elbow",
    "elbow_45": "45 degree elbow",
    "elbow_90": "90 degree elbow with a weep hole",
    "wye": "wye",
    "coupler": "coupler",
    "cleanout": "cleanout with cap",
    "downspout_adapter": "downspout adapter",
    "leaf_filter": "leaf filter above ground",
    "catch_basin": "catch basin with grate",
    "pump_adapter": "adapter from the pump's pipe",
    "pop_up": "pop-up emitter",
    "stone_pit": "pit of washed stone under the weep hole",
    "animal_guard": "animal guard that opens by hand",
    "stone_apron": "stone where the water lands",
    "curb_adapter": "curb adapter",
    "dry_well": "dry well, as sized",
    "overflow": "overflow at the dry well",
}
FIGURES: Final[dict[str, str]] = {
    "pipe": "pipe",
    "bedding": "bedding",
    "haul": "hauling off",
    "fill": "soil to bring",
    "sod": "sod",
    "hour_by_hand": "digging by hand",
    "hour_by_machine": "digging by machine",
}
"""What a bill prices beside parts."""
MACHINES: Final[dict[str, str]] = {
    "trencher_18": "trencher to 18 in (460 mm)",
    "trencher_24": "trencher to 24 in (610 mm)",
    "trencher_36": "trencher to 36 in (910 mm)",
    "small_excavator": "small excavator",
}
OUTLET_PARTS: Final[dict[OutletKind, tuple[str, ...]]] = {
    "daylight": ("animal_guard", "stone_apron"),
    "pop_up": ("pop_up", "elbow_90", "stone_pit"),
    "curb": ("curb_adapter",),
    "dry_well": ("dry_well", "overflow"),
    "tie_in": ("wye", "elbow_45"),
}
ENTRIES: Final[dict[str, tuple[str, ...]]] = {
    "roof": ("downspout_adapter", "cleanout", "leaf_filter"),
    "yard": ("catch_basin",),
    "pump": ("pump_adapter",),
    "other": (),
}


@dataclass(frozen=True)
class PipeBill:
    """Pipe to buy in whole pieces for the length laid along the slope."""

    form: Literal["coil", "stick"]
    laid_m: float
    waste: float
    piece_m: float
    pieces: int


@dataclass(frozen=True)
class Part:
    """So many of a part of PARTS; `why` names what for, in words in `sentences/quantities`."""

    code: str
    count: int
    why: str


def pipe_bill(pipe: Pipe, laid_m: float, piece_m: float | None, waste: float | None) -> PipeBill:
    """Single-wall corrugated comes in coils, the rest in sticks with 5 % over."""
    form: Literal["coil", "stick"] = (
        "coil" if (pipe.code or "").startswith("corrugated-single") else "stick"
    )
    piece_m = piece_m or (COIL_M if form == "coil" else STICK_M)
    if waste is None:
        waste = 0.0 if form == "coil" else STICK_WASTE
    return PipeBill(form, laid_m, waste, piece_m, math.ceil(laid_m * (1 + waste) / piece_m - 1e-9))


def fittings(
    entries: Sequence[tuple[str, float]], turns_deg: Floats, length_m: float, pipe: PipeBill
) -> tuple[Part, ...]:
    """Fittings along a line; `entries` are what enters, by kind of inflow and station.

    The pipe's own end takes one entry at the head; every other comes in by a wye and a 45.
    """
    found: list[Part] = []
    for kind in ("roof", "yard", "pump"):
        count = sum(entry == kind for entry, _ in entries)
        if count:
            found += [Part(code, count, f"each_{kind}") for code in ENTRIES[kind]]
    at_head = sum(at_m <= HEAD_M for _, at_m in entries)
    wyes = len(entries) - min(at_head, 1)
    if wyes:
        found += [Part("wye", wyes, "each_joining"), Part("elbow_45", wyes, "each_joining")]
    turns = [float(turn) for turn in turns_deg if turn > STRAIGHT_ENOUGH_DEG]
    small = sum(turn <= ONE_SMALL_ELBOW_DEG for turn in turns)
    large = [max(1, round(turn / 45)) for turn in turns if turn > ONE_SMALL_ELBOW_DEG]
    if small:
        found.append(Part("elbow_22", small, "each_slight_bend"))
    if large:
        found.append(Part("elbow_45", sum(large), "bend"))
    sharp = sum(elbows > 1 for elbows in large)
    if sharp:
        found.append(Part("cleanout", sharp, "sharp_bend"))
    along = math.ceil(length_m / CLEANOUT_EVERY_M - 1e-9) - 1
    if along > 0:
        found.append(Part("cleanout", along, "along_the_line"))
    if not any(kind == "roof" and at_m <= HEAD_M for kind, at_m in entries):
        found.append(Part("cleanout", 1, "head_of_line"))
    if pipe.form == "coil" and pipe.pieces > 1:
        found.append(Part("coupler", pipe.pieces - 1, "between_coils"))
    return tuple(found)


def outlet_parts(kind: OutletKind, *, steps_down: bool = False) -> tuple[Part, ...]:
    """What stands at the end; a line that ends in another brings its own wye.

    `steps_down`: it ends above that one's wye, and turns down to it by one more elbow.
    """
    why = "joins_other_pipe" if kind == "tie_in" else "at_outlet"
    found = tuple(Part(code, 1, why) for code in OUTLET_PARTS[kind])
    return (*found, Part("elbow_45", 1, "steps_down")) if steps_down else found


def step_piece_m(down_m: float) -> float:
    """Pipe in m that slants at 45 degrees down a step of `down_m` ≥ 0: L = √2·h.

    Plane geometry. The fittings take up some of it, so it is cut to fit.

    >>> round(step_piece_m(0.3), 3)
    0.424
    """
    return math.sqrt(2) * down_m
