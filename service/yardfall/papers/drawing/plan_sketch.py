"""The plan from above, to a scale that a scale rule carries, with north."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from yardfall.core.units import FOOT_M, INCH_M
from yardfall.papers.drawing.drawing import Anchor, Box, Drawing, overlap, shortened, text_box
from yardfall.papers.drawing.outlines import edge, geometry, hatches, lines_in
from yardfall.papers.model import DrainLine, Job, Outline
from yardfall.sentences import say

POINT_M: Final = INCH_M / 72
DECADES: Final = (1, 10, 100, 1000, 10_000, 100_000)
FEET_PER_INCH: Final = tuple(m * d for d in DECADES for m in (1, 2, 3, 4, 5, 6, 8))
RATIOS: Final = tuple(m * d for d in DECADES for m in (10, 20, 25, 50))
"""What scale rules carry, and their tens; the last are for the longest route that is taken."""
EDGE: Final = 34.0
FOOT: Final = 30.0
SIZE: Final = 8.5
SHUT_DASH: Final = (5.0, 3.0)
LOT_DASH: Final = (10.0, 3.0, 2.0, 3.0)
HATCH_GAP: Final = 9.0


def draw_plan(job: Job, width: float, height: float) -> Drawing | None:
    """All lines that lie on the map, at the largest usual scale that fits; None without any."""
    placed = list(job.placed())
    if not placed:
        return None
    every = np.vstack([xy for _, xy in placed])
    low, high = every.min(axis=0), every.max(axis=0)
    room = np.array([width - 2 * EDGE, height - EDGE / 2 - FOOT - 10]) * POINT_M
    us = job.units.name == "us"
    needed = float(max(((high - low) / room).max(), 1.0))
    ratio = next((r for r in _ratios(us=us) if r >= needed), needed)
    middle = (low + high) / 2
    centre = np.array([width / 2, (height - FOOT + 10) / 2])

    def on_paper(xy: tuple[float, float]) -> tuple[float, float]:
        moved = (np.array(xy) - middle) / ratio / POINT_M
        return float(centre[0] + moved[0]), float(centre[1] - moved[1])

    scale = f"1 in = {ratio * INCH_M / FOOT_M:.4g} ft" if us else f"1 : {ratio:.0f}"
    drawing = Drawing(width, height, say("papers.sketch", scale=scale, up=job.up))

    def seen(shape: BaseGeometry) -> BaseGeometry:
        drawn = shapely.transform(
            shape, lambda xy: centre + (xy - middle) / ratio / POINT_M * np.array([1, -1])
        )
        return shapely.clip_by_rect(drawn, 1, 1, width - 1, height - FOOT)

    for outline in job.lot:
        _strokes(drawing, seen(edge(outline)), LOT_DASH)
    for outline in job.avoid:
        _keep_out(drawing, outline, seen)
    for k, (_, xy) in enumerate(placed):
        drawing.line([on_paper(p) for p in xy.tolist()], 2.6 if k == 0 else 1.8)
    corner = (width - 34, 0.0, width, 50.0)
    taken: list[Box] = [corner, (0.0, height - FOOT + 8, width, height)]
    for _, xy in placed:
        for x, y in map(on_paper, xy.tolist()):
            taken.append((x - 3, y - 3, x + 3, y + 3))
            drawing.disc(x, y, 1.9)
    for k, (line, xy) in enumerate(placed):
        _ends(drawing, taken, line, [on_paper(p) for p in xy.tolist()], main=k == 0)
        for inlet in line.inlets:
            drawing.disc(*on_paper(line.along(xy, inlet.at)), 3, "white")
        for crossing in line.answer["crossings"]:
            x, y = on_paper(line.along(xy, crossing["at"]))
            drawing.line([(x - 4, y - 4), (x + 4, y + 4)], 1.6)
            drawing.line([(x - 4, y + 4), (x + 4, y - 4)], 1.6)
            _name(drawing, taken, (x, y), shortened(crossing["what"], 16))
    for outline in job.avoid:
        shown = seen(geometry(outline))
        if not shown.is_empty:
            x, y = shapely.get_coordinates(shown.representative_point())[0].tolist()
            text = f"Keep out: {shortened(outline.name, 16)}"
            _name(drawing, taken, (x, y), text, bold=False)
    for line, xy in placed:
        for station, place in list(zip(line.stations, xy.tolist(), strict=True))[1:-1]:
            _name(drawing, taken, on_paper(place), station["label"], bold=False)
    _north(drawing, job.up)
    _scale_bar(drawing, ratio, scale, us=us)
    return drawing


def _keep_out(
    drawing: Drawing, outline: Outline, seen: Callable[[BaseGeometry], BaseGeometry]
) -> None:
    """A broken edge, hatched inside; a ring where it is a point."""
    shown = seen(geometry(outline))
    if shown.is_empty:
        return
    if outline.kind == "point":
        x, y = shapely.get_coordinates(shown)[0].tolist()
        drawing.disc(x, y, 5, "white")
    elif outline.kind == "line":
        _strokes(drawing, shown, SHUT_DASH)
    else:
        _strokes(drawing, seen(edge(outline)), SHUT_DASH)
        for stroke in hatches(shown, HATCH_GAP):
            drawing.line(stroke.tolist(), 0.4)


def _strokes(drawing: Drawing, shape: BaseGeometry, dash: tuple[float, ...]) -> None:
    for points in lines_in(shape):
        drawing.line(points.tolist(), 1.0, dash)


def _ends(
    drawing: Drawing,
    taken: list[Box],
    line: DrainLine,
    points: list[tuple[float, float]],
    *,
    main: bool,
) -> None:
    drawing.disc(*points[0], 4, "white")
    _name(drawing, taken, points[0], "START" if main else f"START {shortened(line.name, 14)}")
    if main:
        x, y = points[-1]
        drawing.shape([(x - 4, y - 4), (x + 4, y - 4), (x + 4, y + 4), (x - 4, y + 4)], "black")
        _name(drawing, taken, points[-1], "OUTLET")


def _ratios(*, us: bool) -> list[float]:
    if us:
        return [feet * FOOT_M / INCH_M for feet in FEET_PER_INCH]
    return [float(ratio) for ratio in RATIOS]


def _name(
    drawing: Drawing, taken: list[Box], point: tuple[float, float], text: str, *, bold: bool = True
) -> None:
    """Name a point where there is room; ends and crossings are named in any case."""
    x, y = point
    spots: list[tuple[float, float, Anchor]] = [
        (x + 7, y + 3, "start"),
        (x - 7, y + 3, "end"),
        (x, y - 8, "middle"),
        (x, y + 15, "middle"),
        (x + 7, y + 17, "start"),
        (x - 7, y - 11, "end"),
    ]
    for at_x, at_y, anchor in spots:
        box = text_box(at_x, at_y, text, SIZE, anchor)
        inside = box[0] >= 1 and box[2] <= drawing.width - 1
        if inside and not any(overlap(box, other) for other in taken):
            break
    else:
        if not bold:
            return
        at_x, at_y, anchor = spots[0]
        box = text_box(at_x, at_y, text, SIZE, anchor)
    taken.append(box)
    drawing.label(at_x, at_y, text, SIZE, anchor=anchor, bold=bold)


def _north(drawing: Drawing, up: str) -> None:
    x, y = drawing.width - 16, 8.0
    if up.endswith("north"):
        drawing.shape([(x, y), (x + 6, y + 20), (x, y + 15), (x - 6, y + 20)], "black")
        drawing.label(x, y + 31, "N", 11, anchor="middle", bold=True)
        if up != "north":
            drawing.label(x, y + 40, f"({up.split()[0]})", 7, anchor="middle")
    else:
        drawing.line([(x, y), (x, y + 20)], 1.4)
        drawing.shape([(x, y), (x + 4, y + 7), (x - 4, y + 7)], "black")
        drawing.label(x, y + 31, "y", 10, anchor="middle", bold=True)


def _scale_bar(drawing: Drawing, ratio: float, scale: str, *, us: bool) -> None:
    unit_m, name = (FOOT_M, "ft") if us else (1.0, "m")
    most = drawing.width * 0.4 * POINT_M * ratio / unit_m
    power = 10.0 ** np.floor(np.log10(most))
    long = float(next(power * m for m in (5, 2, 1) if power * m <= most))
    wide, y = long * unit_m / ratio / POINT_M, drawing.height - 8
    for k in range(4):
        x0, x1 = 2 + wide * k / 4, 2 + wide * (k + 1) / 4
        fill = "black" if k % 2 == 0 else "white"
        drawing.shape([(x0, y), (x1, y), (x1, y + 5), (x0, y + 5)], fill)  # type: ignore[arg-type]
    drawing.label(2, y - 4, "0", 8)
    drawing.label(2 + wide, y - 4, f"{long:g} {name}", 8, anchor="middle")
    drawing.label(drawing.width - 2, y + 4, f"Scale {scale}", 8.5, anchor="end", bold=True)
