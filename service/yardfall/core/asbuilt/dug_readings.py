"""Readings taken in a trench or on a pipe, and the inverts they stand for.

A reading down from a known level puts a surface at that level less the reading: the trench bottom,
the pipe's top or its invert. The pipe's section carries each to the invert.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.core.asbuilt.ponding import READING_SLACK_M
from yardfall.core.design import Design, Section
from yardfall.core.errors import InputError, Problem
from yardfall.core.ground.profile import GroundProfile, Reference
from yardfall.core.ground.route import SAME_STATION_M
from yardfall.core.units import INCH_M, Divisions

By = Literal["depth", "line_to_bottom", "rod"]
Surface = Literal["trench_bottom", "pipe_top", "invert"]

ON_FILL_M: Final = 6 * INCH_M
"""A pipe read as standing this much too high is still believed (common practice, no source)."""
REFERENCE_KIND: Final = {"line_to_bottom": "line", "rod": "instrument"}


@dataclass(frozen=True)
class DugReading:
    """A reading `value_m` down to a surface: from the ground, a level line or an instrument.

    `line` names the line, where several are strung. `height_m` is the level of the line or the
    instrument where it is not the plan's own. `again` where it was taken a second time, so that
    no slip of the tape is looked for in it.
    """

    at_m: float
    by: By
    value_m: float
    on: Surface = "trench_bottom"
    line: str | None = None
    height_m: float | None = None
    again: bool = False


@dataclass(frozen=True)
class AsDug:
    """What was read in a trench; `branch` names the line it belongs to, None: the main.

    `mark_m` is the step in which work is told, `crew` what the plan's own marks are read by. `on`
    is the surface to be read next, None where the caller leaves it open.
    """

    readings: tuple[DugReading, ...]
    tolerance_m: float
    mark_m: float
    crew: Divisions
    branch: str | None = None
    on: Surface | None = None

    def read_at_m(self, on: Surface) -> Floats:
        """Stations (n,) where a surface was read; under a pipe that was read the trench is dug."""
        trench = on == "trench_bottom"
        return np.array([r.at_m for r in self.readings if trench or r.on != "trench_bottom"])

    @property
    def last_on_pipe(self) -> Surface | None:
        """The surface of the pipe that was read last; None before it is laid."""
        pipe = (r.on for r in reversed(self.readings) if r.on != "trench_bottom")
        return next(pipe, None)

    def last_height_m(self, by: By) -> float | None:
        """The height last stated for a line or an instrument that is not the plan's own."""
        return next((r.height_m for r in reversed(self.readings) if r.by == by), None)


def below_invert_m(section: Section, on: Surface) -> float:
    """How far a surface lies below the invert; negative above it."""
    if on == "trench_bottom":
        return section.below_invert_m
    return -section.above_invert_m if on == "pipe_top" else 0.0


def inverts_read(
    design: Design, ground: GroundProfile, length_m: float, readings: Sequence[DugReading]
) -> tuple[Floats, Floats, list[tuple[int, DugReading]]]:
    """Stations (n,) and inverts (n,) in order, and each one's reading with its index.

    Where both trench and pipe were read, the pipe is what counts.
    """
    problems = []
    level_m = np.zeros(len(readings))
    for i, reading in enumerate(readings):
        if reading.at_m > length_m + SAME_STATION_M:
            problems.append(Problem(f"/{i}/at", "This reading lies beyond the end of the line."))
            continue
        zero_m = _zero_m(ground, reading)
        if zero_m is None:
            problems.append(_no_level(i, reading))
            continue
        level_m[i] = zero_m - reading.value_m + below_invert_m(design.section, reading.on)
    order = sorted(range(len(readings)), key=lambda i: readings[i].at_m)
    kept: list[int] = []
    for i in order:
        here = readings[i]
        if not kept or here.at_m - readings[kept[-1]].at_m > SAME_STATION_M:
            kept.append(i)
        elif (here.on == "trench_bottom") == (readings[kept[-1]].on == "trench_bottom"):
            later, earlier = max(i, kept[-1]), min(i, kept[-1])
            problems.append(
                Problem(
                    f"/{later}/at",
                    f"Reading {later + 1} stands at the same station as reading {earlier + 1}; "
                    "a station takes one reading of the trench and one of the pipe.",
                )
            )
        elif here.on != "trench_bottom":
            kept[-1] = i
    if problems:
        raise InputError(*problems)
    at_m = np.array([readings[i].at_m for i in kept])
    return at_m, level_m[kept], [(i, readings[i]) for i in kept]


def refuse_above_ground(
    section: Section, readings: Sequence[DugReading], planned_m: Floats
) -> None:
    """Raise InputError for depths that put the trench above the ground, higher than planned.

    `planned_m` (n,) is the plan's depth to the trench bottom at each reading; only a plan that
    does not fit lies above the ground. Where the trench runs out, the pipe's top stands above the
    ground by the pipe's own height, and by ON_FILL_M more on too much fill.
    """
    problems = []
    for i, (reading, depth_m) in enumerate(zip(readings, planned_m.tolist(), strict=True)):
        pipe_m = section.below_invert_m - below_invert_m(section, reading.on)
        slack_m = ON_FILL_M if pipe_m else READING_SLACK_M
        if reading.by == "depth" and reading.value_m + pipe_m < min(0.0, depth_m) - slack_m:
            what = "the pipe" if pipe_m else "the trench bottom"
            told = f"This puts {what} above the ground: a depth is how far below it it lies."
            problems.append(Problem(f"/{i}/depth", told))
    if problems:
        raise InputError(*problems)


def _zero_m(ground: GroundProfile, reading: DugReading) -> float | None:
    """The level that a reading is taken down from; None where the plan has no such level."""
    if reading.height_m is not None:
        return reading.height_m
    if reading.by == "depth":
        return ground.elevation_at(reading.at_m)
    level = level_over(ground, REFERENCE_KIND[reading.by], reading.at_m, reading.line)
    return None if level is None else level.elevation_m


def level_over(ground: GroundProfile, kind: str, at_m: float, name: str | None) -> Reference | None:
    those = [r for r in ground.references if r.kind == kind and name in (None, r.name)]
    return min(those, key=lambda r: r.away_m(at_m), default=None)


def _no_level(i: int, reading: DugReading) -> Problem:
    what = "level line" if reading.by == "line_to_bottom" else "instrument"
    if reading.line is not None:
        return Problem(f"/{i}/line", f"The plan has no {what} named {reading.line!r}.")
    return Problem(
        f"/{i}/{reading.by}",
        f"The plan was not read from a {what}: give beside this reading the height it is taken "
        "from, as an elevation, or a depth from the ground.",
    )
