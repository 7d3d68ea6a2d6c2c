"""The trench from the side: ground, pipe, trench bottom, and what to dig at each station."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.papers.drawing.drawing import Drawing, apart, shortened, text_width
from yardfall.papers.drawing.profile_cover import (
    draw_borne,
    draw_ditch,
    draw_finished,
    draw_thin,
    finished_ground,
    thin_stretches,
)
from yardfall.papers.figures import dig
from yardfall.papers.model import DrainLine, Job
from yardfall.sentences import say

EDGE, HEAD, FOOT = 40.0, 24.0, 32.0
LABEL_APART = 60.0
Scale = Callable[[Any], Any]


def draw_profile(job: Job, line: DrainLine, width: float, height: float) -> Drawing:
    """The profile of one line, `width` × `height` points, the height stretched to fill it."""
    units, profile = job.units, line.answer["profile"]
    at, ground, bottom, top = (
        np.array(profile[name]) for name in ("at", "ground", "bottom", "top")
    )
    drawing = Drawing(width, height, say("papers.profile", line=line.name))
    ditch = line.answer["outlet"].get("ditch") or 0.0
    span_x = float(at[-1] - at[0]) + ditch or 1.0
    low = _lowest(job, line, float(min(bottom.min(), ground.min())), float(np.ptp(ground)))
    finished = finished_ground(line)
    high = float(max(ground.max(), top.max(), -np.inf if finished is None else finished.max()))
    span_y = (high - low) or 1.0
    scale_x = (width - 2 * EDGE) / span_x
    scale_y = (height - HEAD - FOOT) / span_y

    def across(x: Floats) -> Floats:
        return EDGE + (x - at[0]) * scale_x

    def down(z: Floats) -> Floats:
        return HEAD + (high - z) * scale_y

    def curve(z: Floats) -> list[tuple[float, float]]:
        return list(zip(across(at).tolist(), down(z).tolist(), strict=True))

    stations = line.stations
    s_at = line.at
    s_x = across(s_at)
    s_ground = down(np.interp(s_at, at, ground))
    s_label = s_ground if finished is None else down(np.interp(s_at, at, finished))
    s_bottom = down(np.interp(s_at, at, bottom))
    for x, y0, y1 in zip(s_x.tolist(), s_ground.tolist(), s_bottom.tolist(), strict=True):
        drawing.line([(x, y0), (x, y1)], 0.8)
    drawing.shape(curve(top) + curve(np.array(profile["invert"]))[::-1], "white")
    draw_thin(drawing, line, across, down)
    drawing.line(curve(bottom), 0.9, (4, 2.5))
    drawing.line(curve(ground), 2.2)
    draw_finished(drawing, line, across, down)
    standing = _water(line, low, high)
    if standing is not None:
        x, level = across(standing[0]).tolist(), down(standing[1]).tolist()
        drawing.line([*zip(x, level, strict=True), (width - EDGE / 4, level[-1])], 0.7)
    _earth(drawing, curve(ground))
    draw_ditch(drawing, line, across, down, ditch)
    ends = [0, len(stations) - 1]
    for i in apart(s_x.tolist(), LABEL_APART, ends):
        station, x = stations[i], float(s_x[i])
        drawing.label(
            x,
            float(s_label[i]) - 6,
            "no dig" if (mark := dig(station, units)[0]) == "none" else f"dig {mark}",
            9,
            anchor="middle",
            bold=True,
        )
        drawing.label(x, height - FOOT + 15, station["label"], 9, anchor="middle")
        drawing.line([(x, height - FOOT + 2), (x, height - FOOT + 5)], 1)
    draw_borne(drawing, line, across, down)
    _crossings(drawing, job, line, across, down, height - FOOT)
    stretch = scale_y / scale_x
    words = "inches" if units.name == "us" else "mm"
    said = say(f"papers.profile_{words}", stretch=f"{stretch:.0f}")
    if standing is not None:
        said = f"{said} {say('papers.profile_water')}"
    if thin_stretches(line):
        said = f"{said} {say('papers.profile_thin_cover')}"
    for k, text in enumerate(_lines(said, width)):
        drawing.label(3, height - 4 + 9 * k, text, 7.5)
        drawing.height = max(drawing.height, height + 9 * k)
    return drawing


def _lines(text: str, width: float) -> list[str]:
    """A text broken between its words where a drawing is too narrow for it."""
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if text_width(longer, 7.5) <= width - 6 or not lines[-1]:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def _water(line: DrainLine, low: float, high: float) -> tuple[Floats, Floats] | None:
    """Stations and levels of the water that stands at the outlet, where that lies in the drawing.

    Answers kept before it could be asked for have none.
    """
    water = line.answer["outlet"].get("water")
    if not water or not all(low <= level <= high for level in water["line"]["level"]):
        return None
    return np.array(water["line"]["at"]), np.array(water["line"]["level"])


def _earth(drawing: Drawing, ground: list[tuple[float, float]]) -> None:
    """Short slants under the ground line, so that earth and air cannot be mixed up in print."""
    xs, ys = zip(*ground, strict=True)
    for x in np.arange(xs[0] + 6, xs[-1], 14.0):
        y = float(np.interp(x, xs, ys))
        drawing.line([(float(x), y + 1), (float(x) - 4, y + 6)], 0.7)


def _buried(job: Job, line: DrainLine) -> list[tuple[float, float, float, str]]:
    """Station, top and bottom elevation, and name of what the line crosses."""
    profile, depth = line.answer["profile"], job.units.depth_m / job.units.length_m
    found = []
    for crossing in line.answer["crossings"]:
        ground = float(np.interp(crossing["at"], profile["at"], profile["ground"]))
        top = ground - crossing["top_depth"] * depth
        found.append((crossing["at"], top, top - crossing["size"] * depth, crossing["what"]))
    return found


def _lowest(job: Job, line: DrainLine, low: float, span: float) -> float:
    """How deep the drawing goes: to what is crossed, unless that would dwarf the trench."""
    floor = low - max(span, job.units.depth_m / job.units.length_m * 12)
    return min([low, *(max(bottom, floor) for _, _, bottom, _ in _buried(job, line))])


def _crossings(
    drawing: Drawing, job: Job, line: DrainLine, across: Scale, down: Scale, floor: float
) -> None:
    for at, top, bottom, what in _buried(job, line):
        x, y0, y1 = float(across(at)), float(down(top)), float(down(bottom))
        deeper = y0 > floor - 3
        y0 = min(y0, floor - 6)
        y1 = min(max(y1, y0 + 3), floor)
        drawing.shape([(x - 3, y0), (x + 3, y0), (x + 3, y1), (x - 3, y1)], "black")
        name = shortened(what, 22) + (" (deeper)" if deeper else "")
        drawing.label(x + 6, (y0 + y1) / 2 + 3, name, 8, bold=True)


def all_profiles(job: Job, width: float, height: float) -> Drawing:
    """Every line's profile, one under another."""
    sheet = Drawing(width, (height + 22) * len(job.lines), f"Profiles of {job.name}")
    for i, line in enumerate(job.lines):
        top = i * (height + 22)
        sheet.label(
            1, top + 14, f"{shortened(job.name, 60)}: {shortened(line.name, 40)}", 11, bold=True
        )
        sheet.place(draw_profile(job, line, width, height), 0, top + 20)
    return sheet
