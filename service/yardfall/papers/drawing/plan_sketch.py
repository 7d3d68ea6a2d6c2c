"""The plan from above, to a scale that a scale rule carries, with north."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from yardfall.core.arrays import Floats
from yardfall.core.units import FOOT_M, INCH_M
from yardfall.papers.drawing.drawing import Drawing, shortened
from yardfall.papers.drawing.lettering import Lettering
from yardfall.papers.drawing.outlines import edge, geometry, hatches, lines_in
from yardfall.papers.drawing.ties import StakeOut, stake_out
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
MOST_NAMED: Final = 80
"""Stations of a line that a plan names; the table of ties has them all."""
APART_PT: Final = 4.0


def draw_plan(
    job: Job, width: float, height: float, stakes: StakeOut | None = None
) -> Drawing | None:
    """All lines that lie on the map and the corners to tape from, at the largest usual scale that
    fits; None without any line."""
    placed = list(job.placed())
    if not placed:
        return None
    stakes = stakes or stake_out(job)
    low, high = _extent(job, stakes)
    ratio = scale_of(job, width, height, stakes) or 1.0
    us = job.units.name == "us"
    middle = (low + high) / 2
    centre = np.array([width / 2, (height - FOOT + 10) / 2])

    def on_paper(xy: tuple[float, float]) -> tuple[float, float]:
        moved = (np.array(xy) - middle) / ratio / POINT_M
        return float(centre[0] + moved[0]), float(centre[1] - moved[1])

    scale = scale_text(ratio, us=us)
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
    for outline in job.fixed:
        if outline.kind == "area":
            for ring in lines_in(seen(edge(outline))):
                drawing.line(ring.tolist(), 1.6)
    for k, (_, xy) in enumerate(placed):
        drawing.line([on_paper(p) for p in xy.tolist()], 2.6 if k == 0 else 1.8)
    names = Lettering(drawing, below=height - FOOT + 4, size=SIZE)
    names.take((width - 34, 0.0, width, 50.0))
    for _, xy in placed:
        way = [on_paper(p) for p in xy.tolist()]
        names.take_line(way)
        for x, y in way:
            drawing.disc(x, y, 1.9)
    for corner in stakes.corners:
        x, y = on_paper((float(corner.place_m[0]), float(corner.place_m[1])))
        names.take((x - 7, y - 7, x + 7, y + 7))
        drawing.disc(x, y, 6.5, "white")
        drawing.label(x, y + 3, corner.letter, 9, anchor="middle", bold=True)
    for k, (line, xy) in enumerate(placed):
        _ends(drawing, names, line, [on_paper(p) for p in xy.tolist()], main=k == 0)
        for inlet in line.inlets:
            place = on_paper(line.along(xy, inlet.at))
            drawing.disc(*place, 3, "white")
            names.name(place, shortened(inlet.name, 24))
        for crossing in line.answer["crossings"]:
            x, y = on_paper(line.along(xy, crossing["at"]))
            drawing.line([(x - 4, y - 4), (x + 4, y + 4)], 1.6)
            drawing.line([(x - 4, y + 4), (x + 4, y - 4)], 1.6)
            names.name((x, y), shortened(crossing["what"], 30), bold=True)
    for outline, text in _named(job):
        shown = seen(geometry(outline))
        if not shown.is_empty:
            x, y = shapely.get_coordinates(shown.representative_point())[0].tolist()
            names.name((x, y), text)
    for line, xy in placed:
        _stations(names, line, [on_paper(p) for p in xy.tolist()])
    _north(drawing, job.up)
    _scale_bar(drawing, ratio, scale, us=us)
    return drawing


def _stations(names: Lettering, line: DrainLine, places: list[tuple[float, float]]) -> None:
    """Name the stations between the ends, but those that would crowd each other; a long line's
    are named evenly."""
    last = places[0]
    every = -(-len(places) // MOST_NAMED)
    for station, place in list(zip(line.stations, places, strict=True))[1:-1:every]:
        if np.hypot(place[0] - last[0], place[1] - last[1]) >= APART_PT and names.name(
            place, station["label"], always=False
        ):
            last = place


def _named(job: Job) -> list[tuple[Outline, str]]:
    """What is named on the plan: areas to keep out of, and what is taped from."""
    kept_out = {outline.name for outline in job.avoid}
    named = [(o, f"Keep out: {shortened(o.name, 30)}") for o in job.avoid]
    stands = [o for o in job.fixed if o.name not in kept_out]
    return named + [(o, shortened(o.name, 30)) for o in stands]


def beyond(job: Job, width: float, height: float, stakes: StakeOut) -> list[str]:
    """Names of what lies outside a plan of that size."""
    low, high = _extent(job, stakes)
    ratio = scale_of(job, width, height, stakes) or 1.0
    half = np.array([width, height - FOOT]) * POINT_M * ratio / 2
    xmin, ymin, xmax, ymax = *((low + high) / 2 - half), *((low + high) / 2 + half)
    page = shapely.box(xmin, ymin, xmax, ymax)
    return [o.name for o in job.avoid if not geometry(o).intersects(page)]


def scale_of(job: Job, width: float, height: float, stakes: StakeOut) -> float | None:
    """The largest usual scale, as a ratio, at which the plan fits; None where nothing lies on a
    map."""
    if not list(job.placed()):
        return None
    low, high = _extent(job, stakes)
    room = np.array([width - 2 * EDGE, height - EDGE / 2 - FOOT - 10]) * POINT_M
    needed = float(max(((high - low) / room).max(), 1.0))
    return next((r for r in _ratios(us=job.units.name == "us") if r >= needed), needed)


def scale_text(ratio: float, *, us: bool) -> str:
    """A scale as it is named: `1 in = 10 ft`, `1 : 100`."""
    return f"1 in = {ratio * INCH_M / FOOT_M:.4g} ft" if us else f"1 : {ratio:.0f}"


def _extent(job: Job, stakes: StakeOut) -> tuple[Floats, Floats]:
    """The corners (2,), (2,) of what the plan must show: the lines and what they are taped from."""
    every = np.vstack([*(xy for _, xy in job.placed()), *(c.place_m[None] for c in stakes.corners)])
    return every.min(axis=0), every.max(axis=0)


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
    names: Lettering,
    line: DrainLine,
    points: list[tuple[float, float]],
    *,
    main: bool,
) -> None:
    drawing.disc(*points[0], 4, "white")
    start = "START" if main else f"START {shortened(line.name, 20)}"
    names.name(points[0], start, bold=True)
    if main:
        x, y = points[-1]
        drawing.shape([(x - 4, y - 4), (x + 4, y - 4), (x + 4, y + 4), (x - 4, y + 4)], "black")
        names.name(points[-1], "OUTLET", bold=True)


def _ratios(*, us: bool) -> list[float]:
    if us:
        return [feet * FOOT_M / INCH_M for feet in FEET_PER_INCH]
    return [float(ratio) for ratio in RATIOS]


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
