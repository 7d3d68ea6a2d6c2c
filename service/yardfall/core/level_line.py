"""Readings down from a level line: a string with a line level, or a water level.

A line at elevation E with a reading r puts the ground at E − r. Where the line is strung anew
at another height, the two lines tie at a station read from both:
E_B = E_A + (r_B − r_A).
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from yardfall.core.errors import InputError, Problem
from yardfall.core.ground import GroundProfile, Reference
from yardfall.core.route import SAME_STATION_M


@dataclass(frozen=True)
class LineReading:
    """Distance `down_m` from the line named `line` to the ground at station `at_m`."""

    at_m: float
    down_m: float
    line: str = ""


def from_level_line(readings: Sequence[LineReading]) -> GroundProfile:
    """Ground from level-line readings; the first reading's line is elevation 0.

    Raises InputError for two readings at one station on one line, and for a line that shares no
    station with the others. Where two lines share several stations, the mean tie is taken and
    half the spread between ties goes into `tie_gaps_m`.
    """
    lines: dict[str, dict[int, LineReading]] = {}
    problems = []
    keys = _station_keys([r.at_m for r in readings])
    for i, (key, reading) in enumerate(zip(keys, readings, strict=True)):
        taken = lines.setdefault(reading.line, {})
        if key in taken:
            problems.append(
                Problem(
                    f"/readings/{i}/at",
                    f"Reading {i + 1} stands at the same station as an earlier one on the same "
                    "line; a station takes one reading from each line.",
                )
            )
        taken.setdefault(key, reading)
    if problems:
        raise InputError(*problems)

    height_m, gaps_m = _tie(lines)
    loose = [name for name in lines if name not in height_m]
    if loose:
        first = next(i for i, r in enumerate(readings) if r.line == loose[0])
        raise InputError.at(
            f"/readings/{first}/line",
            f"Line {loose[0]!r} shares no station with the other lines. Read the ground from "
            "both lines at one station, so that they can be tied.",
        )

    at_m: dict[int, float] = {}
    seen_m: dict[int, list[float]] = {}
    for key, reading in zip(keys, readings, strict=True):
        at_m.setdefault(key, reading.at_m)
        seen_m.setdefault(key, []).append(height_m[reading.line] - reading.down_m)
    order = sorted(at_m)
    references = tuple(
        Reference(
            "line",
            name,
            min(r.at_m for r in taken.values()),
            max(r.at_m for r in taken.values()),
            height_m[name],
        )
        for name, taken in lines.items()
    )
    first_line = next(iter(lines))
    datum = f"the level line {first_line!r} is 0" if first_line else "the level line is 0"
    return GroundProfile(
        np.array([at_m[k] for k in order]),
        np.array([sum(seen_m[k]) / len(seen_m[k]) for k in order]),
        "reading",
        datum,
        tuple(sorted(references, key=lambda r: r.from_m)),
        tie_gaps_m=gaps_m,
    )


def _station_keys(at_m: Sequence[float]) -> list[int]:
    """Number the distinct stations in order; readings at one station get one number."""
    order = np.argsort(at_m, kind="stable")
    keys = [0] * len(at_m)
    for before, here in itertools.pairwise(order):
        apart = at_m[here] - at_m[before] > SAME_STATION_M
        keys[here] = keys[before] + int(apart)
    return keys


def _tie(
    lines: dict[str, dict[int, LineReading]],
) -> tuple[dict[str, float], dict[str, float]]:
    """Height of every line that can be tied to the first, and the spread of double ties."""
    height_m = {next(iter(lines)): 0.0}
    gaps_m = {}
    waiting = [name for name in lines if name not in height_m]
    while True:
        tied = None
        for name in waiting:
            heights = [
                height_m[other] - lines[other][key].down_m + lines[name][key].down_m
                for other in height_m
                for key in lines[name].keys() & lines[other].keys()
            ]
            if heights:
                height_m[name] = sum(heights) / len(heights)
                if len(heights) > 1:
                    gaps_m[name] = (max(heights) - min(heights)) / 2
                tied = name
                break
        if tied is None:
            return height_m, gaps_m
        waiting.remove(tied)
