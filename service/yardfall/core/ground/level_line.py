"""Readings down from a level line: a string with a line level, or a water level.

A line at elevation E with a reading r puts the ground at E − r. Where the line is strung anew
at another height, the two lines tie at a station read from both:
E_B = E_A + (r_B − r_A).
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.core.errors import InputError, Problem
from yardfall.core.ground.profile import GroundProfile, Reference
from yardfall.core.ground.route import SAME_STATION_M

Level = TypeVar("Level", float, Floats)
"""A level, or how far each reading moves it (k,): the sums are the same."""
Reading = TypeVar("Reading")


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
            f"String {loose[0]!r} shares no station with the other strings. Read the ground from "
            f"both at one station, so that they can be tied. {loose[0]!r} was given as the name of "
            "a string: if it is a reading, give it as one.",
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
    order = sorted(range(len(at_m)), key=at_m.__getitem__)
    keys = [0] * len(at_m)
    for before, here in itertools.pairwise(order):
        apart = at_m[here] - at_m[before] > SAME_STATION_M
        keys[here] = keys[before] + int(apart)
    return keys


def spread_of_lines(readings: Sequence[LineReading]) -> Floats:
    """How far each of k readings moves each of the ground's n points, (n, k), in metres a metre.

    For readings that `from_level_line` takes: the same sums, worked on unit readings.
    """
    if len({r.line for r in readings}) == 1:
        order = np.argsort([r.at_m for r in readings], kind="stable")
        return -np.eye(len(readings))[order]
    down = list(np.eye(len(readings)))
    keys = _station_keys([r.at_m for r in readings])
    lines: dict[str, dict[int, int]] = {}
    seen: dict[int, list[int]] = {}
    for i, (key, reading) in enumerate(zip(keys, readings, strict=True)):
        lines.setdefault(reading.line, {})[key] = i
        seen.setdefault(key, []).append(i)
    height = {next(iter(lines)): np.zeros(len(readings))}
    for name, ties in _order_of_ties(lines):
        height[name] = _mean([height[o] - down[a] + down[b] for o, a, b in ties])
    return np.array(
        [_mean([height[readings[i].line] - down[i] for i in seen[key]]) for key in sorted(seen)]
    )


def _tie(
    lines: dict[str, dict[int, LineReading]],
) -> tuple[dict[str, float], dict[str, float]]:
    """Height of every line that can be tied to the first, and the spread of double ties."""
    height_m = {next(iter(lines)): 0.0}
    gaps_m = {}
    for name, ties in _order_of_ties(lines):
        heights = [height_m[other] - there.down_m + here.down_m for other, there, here in ties]
        height_m[name] = _mean(heights)
        if len(heights) > 1:
            gaps_m[name] = (max(heights) - min(heights)) / 2
    return height_m, gaps_m


def _order_of_ties(
    lines: dict[str, dict[int, Reading]],
) -> Iterator[tuple[str, list[tuple[str, Reading, Reading]]]]:
    """Each line that ties to those before it, with the readings of its ties: theirs and its own."""
    tied = [next(iter(lines))]
    waiting = [name for name in lines if name not in tied]
    while True:
        for name in waiting:
            ties = [
                (other, lines[other][key], lines[name][key])
                for other in tied
                for key in lines[name].keys() & lines[other].keys()
            ]
            if ties:
                yield name, ties
                tied.append(name)
                waiting.remove(name)
                break
        else:
            return


def _mean(levels: Sequence[Level]) -> Level:
    return sum(levels[1:], start=levels[0]) / len(levels)
