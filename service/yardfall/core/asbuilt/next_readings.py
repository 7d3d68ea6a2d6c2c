"""What is still to be read in a trench, and what a tape or rod should show there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from yardfall.core.arrays import Floats
from yardfall.core.asbuilt.dug_readings import (
    AsDug,
    By,
    DugReading,
    Surface,
    below_invert_m,
    level_over,
)
from yardfall.core.asbuilt.ponding import READING_SLACK_M
from yardfall.core.design import Design
from yardfall.core.easing.lay import Laid
from yardfall.core.ground.profile import GroundProfile
from yardfall.core.ground.route import SAME_STATION_M
from yardfall.core.stakeout.sheet_marks import sheet_marks, wanted_marks
from yardfall.core.stakeout.tape_marks import Wanted as WantedMarks
from yardfall.core.stakeout.tape_marks import tape_marks
from yardfall.core.units import INCH_M, Divisions

NEAR_M: Final = 6 * INCH_M
"""A reading so near a station of the plan counts as its own (common practice, no source)."""


@dataclass(frozen=True)
class Wanted:
    """A station of the plan not read yet, and what each way of measuring should show there.

    Figures are what a tape or a rod should show: the dig sheet's marks for the trench bottom, and
    for the pipe marks that keep the same.
    """

    at_m: float
    depth_m: float
    line_to_bottom_m: float | None
    rod_m: float | None
    depth_figure_m: float
    line_figure_m: float | None
    rod_figure_m: float | None


def still_to_read(
    design: Design, ground: GroundProfile, laid: Laid, as_dug: AsDug
) -> tuple[Surface, tuple[Wanted, ...]]:
    """The surface to read next, and the stations of the plan where it was not, from the outlet up.

    A surface left open is the one that was read last; when that is all read, a pipe that was begun.
    """
    at_m, on = laid.shown_m, as_dug.on
    if on is None:
        on = as_dug.readings[-1].on if as_dug.readings else "trench_bottom"
        if not _unread(at_m, as_dug.read_at_m(on)).any():
            on = as_dug.last_on_pipe or on
    left = _unread(at_m, as_dug.read_at_m(on))
    return on, _wanted(design, ground, laid, as_dug, on, left) if left.any() else ()


def printed_m(
    design: Design,
    ground: GroundProfile,
    laid: Laid,
    as_dug: AsDug,
    readings: Sequence[DugReading],
    should_m: Floats,
) -> tuple[Floats, NDArray[np.bool_]]:
    """What each reading (n,) should be as it stands on the dig sheet, from what it exactly
    should be (n,): the plan's own mark, else the nearest that a tape shows. And which (n,) are
    the plan's own."""
    near = np.floor(should_m / as_dug.mark_m + 0.5 + 1e-6) * as_dug.mark_m
    own = np.zeros(len(readings), dtype=bool)
    known = {on: _figures_m(design, ground, laid, as_dug, on) for on in {r.on for r in readings}}
    for i, reading in enumerate(readings):
        marks_m = known[reading.on].get(reading.by)
        if marks_m is None or reading.height_m is not None or reading.line is not None:
            continue
        apart = np.abs(laid.shown_m - reading.at_m)
        k = int(apart.argmin())
        if apart[k] <= SAME_STATION_M:
            near[i], own[i] = marks_m[k], True
    return near, own


def _figures_m(
    design: Design, ground: GroundProfile, laid: Laid, as_dug: AsDug, on: Surface
) -> dict[By, Floats]:
    """What is to be read at each station of the plan (n,) from its own levels, by the way of
    measuring: the dig sheet's marks, and on the pipe marks that keep the same."""
    crew, wanted = _crew(as_dug, on), _wanted_marks(design, laid, as_dug, on)
    sheet = sheet_marks(ground, wanted, crew)
    found: dict[By, Floats] = {"depth": sheet.dig.mark_m}
    if sheet.line is not None:
        found["line_to_bottom"] = sheet.line.mark_m
    if sheet.rod is not None:
        found["rod"] = sheet.rod.mark_m
    return found


def _crew(as_dug: AsDug, on: Surface) -> Divisions:
    """What marks are told in: for the pipe no coarser than work is."""
    tape_m = as_dug.crew.tape_m
    if on != "trench_bottom":
        tape_m = tuple(q for q in tape_m if q <= as_dug.mark_m + READING_SLACK_M)
    return Divisions(tape_m, as_dug.crew.rod_m)


def _wanted_marks(design: Design, laid: Laid, as_dug: AsDug, on: Surface) -> WantedMarks:
    wanted = wanted_marks(
        design,
        laid.points,
        laid.decision.band,
        laid.decision.invert_m,
        laid.shown_m,
        as_dug.crew.tape_m[0],
    )
    up_m = design.section.below_invert_m - below_invert_m(design.section, on)
    return replace(
        wanted,
        bottom_m=wanted.bottom_m + up_m,
        lowest_m=wanted.lowest_m + up_m,
        highest_m=wanted.highest_m + up_m,
    )


def _unread(at_m: Floats, read_at_m: Floats) -> NDArray[np.bool_]:
    """The stations (n,) that no reading (m,) is near, as a mask."""
    if not len(read_at_m):
        return np.ones(len(at_m), dtype=bool)
    far: NDArray[np.bool_] = np.abs(at_m[:, None] - read_at_m).min(axis=1) > NEAR_M
    return far


def _wanted(
    design: Design,
    ground: GroundProfile,
    laid: Laid,
    as_dug: AsDug,
    on: Surface,
    left: NDArray[np.bool_],
) -> tuple[Wanted, ...]:
    at_m = laid.shown_m
    surface_m = np.interp(at_m, laid.points.at_m, laid.decision.invert_m)
    surface_m = surface_m - below_invert_m(design.section, on)
    depth_m = ground.elevation(at_m) - surface_m
    line_m = _levels_m(ground, "line", at_m, as_dug.last_height_m("line_to_bottom"))
    rod_m = _levels_m(ground, "instrument", at_m, as_dug.last_height_m("rod"))
    from_line_m = None if line_m is None else line_m - surface_m
    figures = _figures_m(design, ground, laid, as_dug, on)
    crew, keep = _crew(as_dug, on), _wanted_marks(design, laid, as_dug, on)
    ways: tuple[tuple[By, Floats | None, tuple[float, ...]], ...] = (
        ("line_to_bottom", line_m, crew.tape_m),
        ("rod", rod_m, crew.rod_m),
    )
    for by, zero_m, steps_m in ways:
        if zero_m is not None and (by not in figures or as_dug.last_height_m(by) is not None):
            figures[by] = tape_marks(zero_m, keep, steps_m, as_dug.crew.tape_m[0]).mark_m
    line_figures, rod_figures = figures.get("line_to_bottom"), figures.get("rod")
    return tuple(
        Wanted(
            float(at_m[k]),
            float(depth_m[k]),
            None if from_line_m is None else float(from_line_m[k]),
            None if rod_m is None else float(rod_m[k] - surface_m[k]),
            float(figures["depth"][k]),
            None if line_figures is None else float(line_figures[k]),
            None if rod_figures is None else float(rod_figures[k]),
        )
        for k in np.flatnonzero(left)[::-1].tolist()
    )


def _levels_m(
    ground: GroundProfile, kind: str, at_m: Floats, height_m: float | None
) -> Floats | None:
    """The level (n,) that serves each station: one stated, else the plan's; None: none."""
    if height_m is not None:
        return np.full(len(at_m), height_m)
    levels = [level_over(ground, kind, x, None) for x in at_m.tolist()]
    if any(level is None for level in levels):
        return None
    return np.array([level.elevation_m for level in levels if level is not None])
