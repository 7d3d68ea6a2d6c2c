"""Areas to keep out of and the lot line on the map, told apart without colours."""

from __future__ import annotations

import itertools
from typing import Final

import folium
import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from yardfall.core.arrays import Floats
from yardfall.papers.drawing.drawing import shortened
from yardfall.papers.drawing.outlines import geometry, hatches, told, trespasses
from yardfall.papers.map.labels import PAPER, Room, inert, leaflet, tip
from yardfall.papers.model import Job, Outline
from yardfall.sentences import say

SHUT: Final = "#7a0f05"
LOT: Final = "#222222"
SHUT_DASH, LOT_DASH, CLEAR_DASH = "9 5", "18 6 3 6", "1 6"
HATCH_PX: Final = 12.0
MOST_HATCHES: Final = 80


def draw_outlines(chart: folium.Map, job: Job, room: Room) -> None:
    """The lot line and every area, hatched, with the ring of its clearance; no labels yet."""
    for outline in job.lot:
        _edge(chart, outline, LOT, LOT_DASH, "Lot line")
    for outline in job.avoid:
        shape = geometry(outline)
        if outline.clearance_m > 0:
            for part in shapely.get_parts(shape.buffer(outline.clearance_m)):
                ring = np.asarray(part.exterior.coords)
                folium.PolyLine(leaflet(ring), color=PAPER, weight=5, opacity=0.8).add_to(chart)
                folium.PolyLine(leaflet(ring), color=SHUT, weight=3, dash_array=CLEAR_DASH).add_to(
                    chart
                )
        if outline.kind == "area":
            _hatch(chart, shape, room)
        _edge(chart, outline, SHUT, SHUT_DASH, f"Keep out: {told(outline, job)}")


def label_outlines(chart: folium.Map, job: Job, room: Room) -> None:
    """Name the outlines where there is room; each tells its name when it is tapped, too."""
    named = [(_middle(o, room), f"Keep out: {shortened(o.name, 24)}") for o in job.avoid]
    named += [(_longest_side(o), "Lot line") for o in job.lot[:1]]
    for place, text in named:
        if room.is_clear(place, "center"):
            room.take(place, "center")
            folium.CircleMarker(
                leaflet(place),
                radius=1,
                stroke=False,
                class_name="untapped",
                tooltip=tip(text, permanent=True, side="center"),
            ).add_to(chart)


def outline_words(job: Job) -> str:
    """Who runs through what, what the marks mean and every area by name, as HTML."""
    wrong = [
        f"<p><b>{inert(text)}</b></p>"
        for line in job.lines
        for text in trespasses(job, line, named=True)
    ]
    words = [say("papers.lot_line")] if job.lot else []
    if job.avoid:
        words.append(say("papers.hatched"))
    if any(outline.clearance_m > 0 for outline in job.avoid):
        words.append(say("papers.clearance_ring"))
    if not words:
        return ""
    summary = "Keep out of" if job.avoid else "Lot line"
    rows = "".join(f"<li>{inert(told(outline, job))}</li>" for outline in job.avoid)
    return (
        f"{''.join(wrong)}<details><summary>{summary}</summary><p>{' '.join(words)}</p>"
        f"<ul>{rows}</ul></details>"
    )


def _edge(chart: folium.Map, outline: Outline, color: str, dash: str, text: str) -> None:
    if outline.kind == "point":
        folium.CircleMarker(
            leaflet(outline.rings_m[0][0]),
            radius=9,
            color=color,
            weight=3,
            dash_array="4 4",
            fill=True,
            fill_color=PAPER,
            fill_opacity=0.6,
            tooltip=tip(text),
        ).add_to(chart)
        return
    for ring in outline.rings_m:
        folium.PolyLine(leaflet(ring), color=PAPER, weight=7, opacity=0.8).add_to(chart)
        folium.PolyLine(
            leaflet(ring), color=color, weight=3, dash_array=dash, line_cap="butt"
        ).add_child(tip(text)).add_to(chart)


def _hatch(chart: folium.Map, shape: BaseGeometry, room: Room) -> None:
    xmin, ymin, xmax, ymax = shape.bounds
    gap = max(HATCH_PX * room.pixel_m, (xmax - xmin + ymax - ymin) / MOST_HATCHES)
    lines = [leaflet(stroke) for stroke in hatches(shape, gap)]
    if lines:
        folium.PolyLine(lines, color=SHUT, weight=1.5, opacity=0.9, class_name="untapped").add_to(
            chart
        )


def _middle(outline: Outline, room: Room) -> Floats:
    """A place on the outline, where the map opens if it reaches there."""
    shape = geometry(outline)
    seen = shape.intersection(shapely.box(*room.view_m))
    return shapely.get_coordinates((shape if seen.is_empty else seen).representative_point())[0]


def _longest_side(outline: Outline) -> Floats:
    ends = max(itertools.pairwise(outline.rings_m[0]), key=lambda ab: np.ptp(ab, axis=0).sum())
    return np.mean(ends, axis=0)
