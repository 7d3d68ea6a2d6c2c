"""Likely slips in a set of readings. They are pointed at, never mended."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numba import njit

from yardfall.core.arrays import Floats
from yardfall.core.ground.profile import GroundProfile
from yardfall.core.remarks import Remark
from yardfall.core.units import FOOT_M, INCH_M

JUMP_M: Final = 6 * INCH_M
"""Least departure from its neighbours that is called a jump (common practice, no source)."""
JUMP_RATIO: Final = 6.0
"""…and at least so many times the other readings' median departure."""
LEAST_READINGS: Final = 5
"""Fewer readings do not tell which of them is off."""
MENDS: Final = 0.25
"""A misread explains a jump when it leaves less than this share of it."""
SAG_M: Final = INCH_M / 8
TWINE_LB_PER_FT: Final = 0.001
PULL_LB: Final = 20.0
RISES_M: Final = 3 * INCH_M


@dataclass(frozen=True, eq=False)
class Readings:
    """Hand readings from one level: stations (k,), values (k,) in metres, and pointers to them.

    `down` is true where a bigger value is lower ground; `strung` where they were measured from a
    string, `rod` where they were read on a rod.
    """

    at_m: Floats
    value_m: Floats
    pointers: tuple[str, ...]
    down: bool = True
    strung: bool = False
    rod: bool = False


def likely_blunders(groups: Sequence[Readings], ground: GroundProfile) -> list[Remark]:
    """Jumps with what they might be, a set that runs the wrong way, and string that sags.

    Each group holds the readings from one line or set-up, which may be compared as they stand.
    """
    found = [jump for readings in groups for jump in _jumps(readings)]
    rise_m = float(ground.elevation_m[-1] - ground.elevation_m[0])
    if rise_m > RISES_M and any(readings.down for readings in groups):
        found.append(Remark("runs_uphill", groups[0].pointers[0], {"rise_m": rise_m}))
    for line in ground.references if any(readings.strung for readings in groups) else ():
        span_m = line.to_m - line.from_m
        sag_m = string_sag_m(span_m)
        if sag_m > SAG_M:
            found.append(
                Remark("string_sags", "/ground/readings", {"span_m": span_m, "sag_m": sag_m})
            )
    return found


def string_sag_m(span_m: float) -> float:
    """Sag of a string at mid-span, w·L²/(8·T), for twine of 0.001 lb/ft pulled at 20 lb.

    100 ft sags 0.75 in (arithmetic; the weight and pull are common practice, no source).
    """
    span_ft = span_m / FOOT_M
    return TWINE_LB_PER_FT * span_ft**2 / (8 * PULL_LB) * FOOT_M


def _jumps(readings: Readings) -> list[Remark]:
    """The reading without which the others run smoothest, if it is far off what they expect."""
    if len(readings.at_m) < LEAST_READINGS:
        return []
    order = np.argsort(readings.at_m, kind="stable")
    at, value = readings.at_m[order], readings.value_m[order]
    off = departures(at, value)
    if max(off.max(), -off.min()) < JUMP_M:
        return []
    rests = [np.abs(departures(np.delete(at, k), np.delete(value, k))) for k in range(len(at))]
    k = min(range(len(at)), key=lambda i: float(rests[i].max()))
    jump = float(off[k])
    if abs(jump) < max(JUMP_M, JUMP_RATIO * float(np.median(rests[k]))):
        return []
    meant = _what_was_meant(float(value[k]), float(value[k]) - jump, abs(jump), readings.rod)
    values: dict[str, float | str] = {"jump_m": abs(jump), "station_m": float(at[k])}
    code = "reading_jumps"
    if meant is not None:
        code = f"reading_jumps_{meant[0]}"
        values |= {"typed_m": float(value[k]), "meant_m": meant[1]}
    return [Remark(code, readings.pointers[int(order[k])], values)]


def departures(at: Floats, value: Floats) -> Floats:
    """How far each value (k,) is from the straight line between its neighbours; ends from the
    line through the next two."""
    off: Floats = _departures(at, value)
    return off


def warm() -> None:
    """Compile the loop below, or load what was compiled before, so that no caller waits."""
    one = np.array([0.0, 1.0])
    _departures(one, one)


@njit(cache=True, nogil=True)
def _departures(at, value):  # type: ignore[no-untyped-def]
    n = len(at)
    off = np.zeros(n)
    for k in range(n if n > 2 else 0):
        i, j = k - 1, k + 1
        if k == 0:
            i, j = 1, 2
        elif k == n - 1:
            i, j = n - 3, n - 2
        if at[j] > at[i]:
            fit = value[i] + (value[j] - value[i]) * (at[k] - at[i]) / (at[j] - at[i])
            off[k] = value[k] - fit
    return off


def _what_was_meant(
    typed_m: float, expected_m: float, jump_m: float, rod: bool
) -> tuple[str, float] | None:
    """A usual misreading of the typed value that comes near what its neighbours expect.

    Feet written where inches are asked, or the other way; 6.9 written for 6 ft 9 in.
    """
    typed_ft = abs(typed_m) / FOOT_M
    whole = float(np.floor(typed_ft))
    guesses = {"feet_for_inches": typed_m * 12}
    if rod:
        written_ft = (whole + (typed_ft - whole) * 10 / 12) * FOOT_M
        guesses |= {
            "inches_for_feet": typed_m / 12,
            "inches_for_tenths": float(np.copysign(written_ft, typed_m)),
        }
    name, value_m = min(guesses.items(), key=lambda guess: abs(guess[1] - expected_m))
    return (name, value_m) if abs(value_m - expected_m) < MENDS * jump_m else None
