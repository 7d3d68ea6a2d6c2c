"""What is still to be read in a trench, and what a tape or rod should show there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from yardfall.core.arrays import Floats
from yardfall.core.asbuilt.dug_readings import (
    AsDug,
    DugReading,
    Surface,
    below_invert_m,
    level_over,
)
from yardfall.core.asbuilt.least_work import least_marks
from yardfall.core.design import Design
from yardfall.core.easing.lay import Laid
from yardfall.core.ground.profile import GroundProfile
from yardfall.core.ground.route import SAME_STATION_M
from yardfall.core.stakeout.tape_marks import tape_marks
from yardfall.core.units import INCH_M

NEAR_M: Final = 6 * INCH_M
"""A reading so near a station of the plan counts as its own (common practice, no source)."""


@dataclass(frozen=True)
class Wanted:
    """A station of the plan not read yet, and what each way of measuring should show there.

    Figures are what a tape should show: the plan's own marks for its trench bottom, else whole
    marks near the pipe's level that nowhere leave less than the least grade, where there are such.
    """

    at_m: float
    depth_m: float
    line_to_bottom_m: float | None
    rod_m: float | None
    depth_figure_m: float
    line_figure_m: float | None


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
) -> Floats:
    """What each reading (n,) should be as it stands on the dig sheet, from what it exactly
    should be (n,): the plan's own mark, else the nearest that a tape shows."""
    near = np.floor(should_m / as_dug.mark_m + 0.5 + 1e-6) * as_dug.mark_m
    known = {on: _figures_m(design, ground, laid, as_dug, on) for on in {r.on for r in readings}}
    for i, reading in enumerate(readings):
        own = known[reading.on].get(reading.by)
        if own is None or reading.height_m is not None:
            continue
        apart = np.abs(laid.shown_m - reading.at_m)
        k = int(apart.argmin())
        if apart[k] <= SAME_STATION_M:
            near[i] = own[k]
    return near


def _figures_m(
    design: Design, ground: GroundProfile, laid: Laid, as_dug: AsDug, on: Surface
) -> dict[str, Floats]:
    """What a tape should show at each station of the plan (n,), by the way of measuring."""
    at_m = laid.shown_m
    surface_m = np.interp(at_m, laid.points.at_m, laid.decision.invert_m)
    surface_m = surface_m - below_invert_m(design.section, on)
    from_m = {"depth": ground.elevation(at_m)}
    line_m = _levels_m(ground, "line", at_m, as_dug.last_height_m("line_to_bottom"))
    if line_m is not None:
        from_m["line_to_bottom"] = line_m
    if on != "trench_bottom":
        return {by: _steep(design, at_m, zero, surface_m, as_dug) for by, zero in from_m.items()}
    needed_m, step_m = design.grading.min_grade * float(at_m[-1]), as_dug.tape_step_m
    return {
        by: step_m
        * tape_marks(at_m, zero_m - surface_m, surface_m, step_m, needed_m).steps.astype(np.float64)
        for by, zero_m in from_m.items()
    }


def _steep(
    design: Design, at_m: Floats, zero_m: Floats, surface_m: Floats, as_dug: AsDug
) -> Floats:
    """Whole marks (n,) down from `zero_m` (n,) that keep the least grade, the nearest without."""
    step_m = as_dug.mark_m
    near = np.floor((zero_m - surface_m) / step_m + 0.5 + 1e-6) * step_m
    drop_m = np.minimum(design.grading.min_grade * np.diff(at_m), -np.diff(surface_m))
    bounds = (surface_m - as_dug.tolerance_m, surface_m + as_dug.tolerance_m)
    weight = np.ones(len(at_m))
    moved_m = least_marks(zero_m - near, *bounds, weight, np.maximum(drop_m, 0.0), step_m)
    return near if moved_m is None else near - moved_m


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
    line_figures = figures.get("line_to_bottom")
    return tuple(
        Wanted(
            float(at_m[k]),
            float(depth_m[k]),
            None if from_line_m is None else float(from_line_m[k]),
            None if rod_m is None else float(rod_m[k] - surface_m[k]),
            float(figures["depth"][k]),
            None if line_figures is None else float(line_figures[k]),
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
