"""Areas to keep out of and the lot line: their shapes, their strokes, and who runs through them."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from yardfall.core.arrays import Floats
from yardfall.papers import figures
from yardfall.papers.model import DrainLine, Job, Outline
from yardfall.sentences import say

TOUCH_M: Final = 0.15
"""An outlet on the lot line itself is on the lot: no hand and no screen is finer than this."""
NEAR_M: Final = 1.0
"""A crossing stated so near to what is drawn is the same thing: tape and screen differ by that."""


def geometry(outline: Outline) -> BaseGeometry:
    """The outline as a valid shape on the plane, be it one that crosses itself."""
    rings = outline.rings_m
    if outline.kind == "point":
        return shapely.Point(rings[0][0])
    if outline.kind == "line":
        return shapely.LineString(rings[0])
    return shapely.make_valid(shapely.Polygon(rings[0], rings[1:]))


def edge(outline: Outline) -> BaseGeometry:
    """The rings of an area as they were drawn."""
    return shapely.MultiLineString([ring.tolist() for ring in outline.rings_m])


def hatches(shape: BaseGeometry, gap: float) -> list[Floats]:
    """Strokes (k, 2) across an area from lower left to upper right, `gap` apart along x."""
    xmin, ymin, xmax, ymax = shape.bounds
    shifts = np.arange(ymin - xmax + gap / 2, ymax - xmin, gap)
    strokes = shapely.MultiLineString([((xmin, xmin + c), (xmax, xmax + c)) for c in shifts])
    return lines_in(strokes.intersection(shape))


def lines_in(shape: BaseGeometry) -> list[Floats]:
    """Every line (k, 2) of a shape; areas and points left out."""
    parts = shapely.get_parts(shapely.get_parts(shape))
    return [
        shapely.get_coordinates(part)
        for part in parts
        if part.geom_type == "LineString" and not part.is_empty
    ]


def _points_in(shape: BaseGeometry) -> list[BaseGeometry]:
    return [p for p in shapely.get_parts(shape) if p.geom_type == "Point" and not p.is_empty]


def told(outline: Outline, job: Job) -> str:
    """An area's name, and how far to keep away from it."""
    if not outline.clearance_m:
        return outline.name
    clearance = job.units.length_text(outline.clearance_m)
    return say("papers.stay_away", name=outline.name, clearance=clearance)


def trespasses(job: Job, line: DrainLine, *, named: bool = False) -> list[str]:
    """A sentence for each area that a line runs through, and for where it leaves the lot.

    Where a crossing is stated at such a place, that is told in its stead. `named` where the
    sentences are to name the line.
    """
    if line.plane_m is None:
        return []
    way = shapely.LineString(line.plane_m)
    found, of_line = [], "_of_line" if named else ""
    for outline in job.avoid:
        parts = {"line": line.name, "name": outline.name}
        stray = []
        for part in _parts(line, way.intersection(geometry(outline))):
            crossing = _crossing_at(job, line, part)
            if crossing is None:
                stray.append(part)
            else:
                stated = {"at": crossing["label"], "what": crossing["what"]}
                where = _where(job, [part])
                found.append(say(f"papers.crossed{of_line}", **parts, where=where, **stated))
        if stray:
            found.append(say(f"papers.runs_through{of_line}", **parts, where=_where(job, stray)))
    if job.lot:
        lot = shapely.union_all([geometry(outline) for outline in job.lot])
        where = _where(job, _parts(line, way.difference(lot)))
        if where:
            found.append(say(f"papers.leaves_lot{of_line}", line=line.name, where=where))
    return found


def _crossing_at(job: Job, line: DrainLine, part: tuple[float, float]) -> Any:
    """The crossing stated where a line meets something, from its answer; None where none is.

    The whole part lies within the crossing's size and clearance of its station, or `NEAR_M`.
    """
    for crossing in line.answer["crossings"]:
        own_m = (crossing["size"] + crossing["clearance"]) * job.units.depth_m
        reach = max(own_m, NEAR_M) / job.units.length_m
        if all(abs(end - crossing["at"]) <= reach for end in part):
            return crossing
    return None


def _parts(line: DrainLine, met: BaseGeometry) -> list[tuple[float, float]]:
    """The parts of a line by their two stations, but for those that only touch."""
    assert line.plane_m is not None
    along_m = np.append(0.0, np.cumsum(np.hypot(*np.diff(line.plane_m, axis=0).T)))
    way = shapely.LineString(line.plane_m)
    lines = shapely.line_merge(shapely.MultiLineString(lines_in(met)))
    parts = []
    for part in [*shapely.get_parts(lines), *_points_in(met)]:
        ends = shapely.line_locate_point(way, shapely.points(shapely.get_coordinates(part)))
        low, high = ends.min(), ends.max()
        crossed = part.geom_type == "Point" and TOUCH_M < low < along_m[-1] - TOUCH_M
        if crossed or high - low > TOUCH_M:
            first, last = np.interp([low, high], along_m, line.at).tolist()
            parts.append((first, last))
    return parts


def _where(job: Job, parts: list[tuple[float, float]]) -> str:
    """The stations of parts of a line, in words."""
    places = []
    for part in parts:
        first, last = (figures.label_at(at, job.units) for at in part)
        places.append(first if first == last else say("papers.stretch", from_=first, to=last))
    return ", ".join(places)
