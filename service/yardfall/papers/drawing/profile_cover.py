"""What a profile shows of cover: where it is thin, what bears on the ground, the ditch beyond."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.papers.drawing.drawing import Drawing, shortened
from yardfall.papers.model import DrainLine

THIN: Final = ("run_in", "run_out")
SLANTS_APART: Final = 5.0
RAISED: Final = 1e-6
Scale = Callable[[Any], Any]


def thin_stretches(line: DrainLine) -> list[tuple[float, float]]:
    """Stations between which the cover is less than usual."""
    conditions = line.answer["answer"].get("conditions", ())
    return [(c["from_at"], c["to_at"]) for c in conditions if c["code"] in THIN]


def draw_thin(drawing: Drawing, line: DrainLine, across: Scale, down: Scale) -> None:
    """Slants between ground and pipe where the cover is thin."""
    profile = line.answer["profile"]
    at = np.array(profile["at"])
    for start, end in thin_stretches(line):
        left, right = (float(across(np.clip(x, at[0], at[-1]))) for x in (start, end))
        for x in np.arange(left + SLANTS_APART / 2, right, SLANTS_APART):
            xs = across(at)
            ground, top = (
                float(np.interp(x, xs, down(np.array(profile[name])))) for name in ("ground", "top")
            )
            if top > ground:
                drawing.line([(float(x) - 1.5, top), (float(x) + 1.5, ground)], 0.6)


def draw_borne(drawing: Drawing, line: DrainLine, across: Scale, down: Scale) -> None:
    """A heavy bar on the ground over each stretch that something bears on, with its name."""
    profile = line.answer["profile"]
    at, ground = np.array(profile["at"]), np.array(profile["ground"])
    for cover in line.answer.get("covers", ()):
        inside = at[(at > cover["from"]) & (at < cover["to"])]
        stations = np.array([cover["from"], *inside, cover["to"]])
        levels = down(np.interp(stations, at, ground)) - 3
        bar = list(zip(across(stations).tolist(), levels.tolist(), strict=True))
        drawing.line(bar, 4.0)
        middle = float(across((cover["from"] + cover["to"]) / 2))
        name = shortened(cover["what"], 22)
        drawing.label(middle, float(levels.min()) - 14, name, 8, anchor="middle", bold=True)


def finished_ground(line: DrainLine) -> Floats | None:
    """Elevations of the ground with the soil to be laid; None where none is, or from before."""
    finished = line.answer["profile"].get("finished")
    return np.array(finished) if finished else None


def draw_finished(drawing: Drawing, line: DrainLine, across: Scale, down: Scale) -> None:
    """The finished ground where soil is to be laid, dashed over the ground as it lies."""
    finished, profile = finished_ground(line), line.answer["profile"]
    if finished is None:
        return
    at, ground = np.array(profile["at"]), np.array(profile["ground"])
    raised = finished > ground + RAISED
    near = raised.copy()
    near[1:] |= raised[:-1]
    near[:-1] |= raised[1:]
    for first, last in zip(
        np.flatnonzero(near & ~np.append(False, near[:-1])),
        np.flatnonzero(near & ~np.append(near[1:], False)),
        strict=True,
    ):
        part = slice(first, last + 1)
        xs, ys = across(at[part]).tolist(), down(finished[part]).tolist()
        start = [(xs[0], float(down(ground[first])))] if raised[first] else []
        drawing.line([*start, *zip(xs, ys, strict=True)], 1.4, (6, 2))
        peak = int(np.argmax((finished - ground)[part]))
        drawing.label(xs[peak] + 4, ys[peak] - 15, "soil to lay", 8, bold=True)


def draw_ditch(
    drawing: Drawing, line: DrainLine, across: Scale, down: Scale, length: float
) -> None:
    """The level ditch beyond a daylight end, dashed, and the ground that falls to its bottom."""
    if not length:
        return
    profile = line.answer["profile"]
    end = profile["at"][-1]
    left, right = float(across(end)), float(across(end + length))
    ground, bottom = float(down(profile["ground"][-1])), float(down(profile["bottom"][-1]))
    drawing.line([(left, ground), (left, bottom), (right, bottom)], 1.2, (4, 2.5))
    drawing.line([(left, ground), (right, bottom)], 1.2, (1.5, 2.5))
    drawing.label(right, bottom + 10, "ditch", 8, anchor="end", bold=True)
