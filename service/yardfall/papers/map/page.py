"""The plan as a map in one file: opens on a phone with no internet, everything inside it.

Drawn by folium on the job's own plane in metres (Leaflet's CRS.Simple), on which the relief lies
exactly. The map library comes from the installed xstatic-leaflet and goes into the file.
"""

from __future__ import annotations

import base64
import html
import re
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

import folium
import numpy as np
import xstatic.pkg.leaflet
from branca.element import Element, Figure, MacroElement
from jinja2 import Template

from yardfall.core.arrays import Floats
from yardfall.core.errors import InputError
from yardfall.papers.csp import page_policy
from yardfall.papers.dig_sheet.sheet_text import write_sheet
from yardfall.papers.dig_sheet.station_table import station_table
from yardfall.papers.drawing.drawing import shortened
from yardfall.papers.drawing.table import Column
from yardfall.papers.figures import dig
from yardfall.papers.map.labels import BRANCH, INK, PAPER, Room, inert, mark, tip
from yardfall.papers.map.map_outlines import draw_outlines, label_outlines, outline_words
from yardfall.papers.model import DrainLine, Job, Picture
from yardfall.sentences import say

LEAFLET: Final = Path(xstatic.pkg.leaflet.BASE_DIR)
TEMPLATES: Final = Path(__file__).parents[1] / "templates"
PAD: Final = (40, 40)


class PlanMap(folium.Map):
    """A folium map that asks nobody for anything."""

    default_js: list[tuple[str, str]] = []  # noqa: RUF012 - folium's own form
    default_css: list[tuple[str, str]] = []  # noqa: RUF012


class Inert(Element):
    """Markup of our own making, written as it is: its texts are never read as a template."""

    _template = Template("{{ this.text }}")

    def __init__(self, text: str) -> None:
        super().__init__()
        self.text = text


class Scale(MacroElement):
    """A scale bar in the caller's units."""

    _template = Template(
        "{% macro script(this, kwargs) %}L.control.scale({metric: {{ this.metric }}, "
        "imperial: {{ this.imperial }}, maxWidth: 160}).addTo({{ this._parent.get_name() }});"
        "{% endmacro %}"
    )

    def __init__(self, *, us: bool) -> None:
        super().__init__()  # type: ignore[no-untyped-call]
        self.metric, self.imperial = ("false", "true") if us else ("true", "false")


def map_page(job: Job) -> tuple[str, str]:
    """The map as HTML, and the policy under which it may be shown.

    Raises InputError for a taped run, which has no place to draw.
    """
    placed = list(job.placed())
    if not placed:
        raise InputError.at(
            "/route",
            "A map needs a route drawn on a map: this run is known only by its taped length, so "
            "nobody knows where it lies. Give route.line with its crs, or take the dig sheet.",
        )
    every = np.vstack([plane for _, plane in placed])
    low, high = every.min(axis=0), every.max(axis=0)
    middle = ((low + high) / 2).tolist()
    chart = PlanMap(
        location=middle[::-1],
        tiles=None,
        crs="Simple",
        zoom_start=3,
        min_zoom=-6,
        max_zoom=9,
        zoom_snap=0.25,
        attribution_control=False,
        height="72%",
    )
    room = Room.around(every)
    if job.beneath is not None:
        _lay(chart, job.beneath())
    draw_outlines(chart, job, room)
    for line, plane in placed:
        _draw(chart, job, line, plane, room)
    label_outlines(chart, job, room)
    for line, plane in placed:
        _draw_stations(chart, job, line, plane, room)
    chart.fit_bounds([low[::-1].tolist(), high[::-1].tolist()], padding=PAD, max_zoom=6)
    Scale(us=job.units.name == "us").add_to(chart)
    return _sealed(chart, job)


def _lay(chart: PlanMap, picture: Picture) -> None:
    xmin, ymin, xmax, ymax = picture.bounds_m
    content = base64.b64encode(picture.content).decode("ascii")
    folium.raster_layers.ImageOverlay(
        f"data:{picture.media_type};base64,{content}",
        [[ymin, xmin], [ymax, xmax]],
        pixelated=False,
    ).add_to(chart)


def _draw(chart: PlanMap, job: Job, line: DrainLine, plane: Floats, room: Room) -> None:
    """A line with what is always labelled: its ends, inlets and crossings."""
    main = line is job.main
    way = plane[:, ::-1].tolist()
    said = f"{line.name}: {line.answer['answer']['sentence']}"
    folium.PolyLine(way, color=PAPER, weight=9, opacity=0.9).add_to(chart)
    folium.PolyLine(
        way, color=INK if main else BRANCH, weight=5 if main else 4, tooltip=tip(said)
    ).add_to(chart)
    for k, text in _ends(job, line).items():
        mark(chart, plane[k], text, radius=9, filled=True, label=True)
        room.take(plane[k])
    points = [
        (c["at"], f"{shortened(c['what'], 24)}: dig by hand", "bottom")
        for c in line.answer["crossings"]
    ]
    points += [(inlet.at, f"INLET {shortened(inlet.name, 24)}", "top") for inlet in line.inlets]
    for at, text, side in points:
        place = np.array(line.along(plane, at))
        mark(chart, place, text, radius=11, filled=False, label=True, side=side)
        room.take(place, side)


def _draw_stations(chart: PlanMap, job: Job, line: DrainLine, plane: Floats, room: Room) -> None:
    """The other stations, labelled where there is room."""
    ends = _ends(job, line)
    for k, station in enumerate(line.stations):
        if k in ends:
            continue
        clear = room.is_clear(plane[k])
        mark(chart, plane[k], _words(job, station), radius=6, filled=False, label=clear)
        if clear:
            room.take(plane[k])


def _ends(job: Job, line: DrainLine) -> dict[int, str]:
    """What a line's ends are labelled, by the number of the station; a branch ends in another."""
    first, last = (_words(job, line.stations[k]) for k in (0, -1))
    if line is job.main:
        return {0: f"START {first}", len(line.stations) - 1: f"OUTLET {last}"}
    return {0: f"START {shortened(line.name, 20)} {first}"}


def _words(job: Job, station: dict[str, Any]) -> str:
    mark, _ = dig(station, job.units)
    depth = "no dig" if mark == "none" else f"{mark} {job.units.depth_name}"
    return f"{station['label']}: {depth}"


def _sealed(chart: PlanMap, job: Job) -> tuple[str, str]:
    """The page with the library in it, a table to read, and a policy that lets nothing else in."""
    figure = chart.get_root()
    assert isinstance(figure, Figure)
    figure.title = html.escape(f"{job.name}: map")
    css, script = _library()
    own = (TEMPLATES / "map.css").read_text("utf-8")
    figure.header.add_child(Inert(f"<style>{css}</style><style>{own}</style>"), name="styles")
    figure.header.add_child(Inert(f"<script>{script}</script>"), name="library")
    figure.html.add_child(Inert(_panel(job)), name="panel")
    page = figure.render()
    policy = page_policy(page)
    sealed = f'<meta http-equiv="Content-Security-Policy" content="{policy}">'
    page = page.replace("<head>", f"<head>\n{sealed}", 1)
    return page.replace("<html>", '<html lang="en">', 1), policy


def _panel(job: Job) -> str:
    sheet = write_sheet(job)
    tables = []
    for line in job.lines:
        table = station_table(job, line)
        shown = [i for i, column in enumerate(table.columns) if column.kind != "blank"]
        head = "".join(
            f"<th>{inert(f'{table.columns[i].head} {table.columns[i].unit}')}</th>" for i in shown
        )
        rows = "".join(
            f"<tr>{''.join(_cell(table.columns[i], row[i]) for i in shown)}</tr>"
            for row in table.rows
        )
        tables.append(f"<h2>{inert(line.name)}</h2><table><tr>{head}</tr>{rows}</table>")
    conditions = "".join(f"<li>{inert(text)}</li>" for text in sheet.conditions)
    if conditions:
        conditions = f"<p><b>{inert(sheet.sign)}</b></p><ul>{conditions}</ul>"
    stop = f" <b>{inert(sheet.sign)}.</b>" if sheet.stop else ""
    cautions = "".join(f"<li>{inert(text)}</li>" for text in sheet.cautions)
    lacking = f"<p>{inert(job.lacking)}</p>" if job.lacking else ""
    up = job.up[:1].upper() + job.up[1:]
    return (
        f'<div id="panel"><h1>{inert(sheet.name)}</h1><p><b>{inert(sheet.sentence)}</b>{stop}</p>'
        f"{conditions}"
        f"<p>{inert(say('papers.map', up=up))}</p>"
        f"{lacking}{outline_words(job)}"
        f"<details><summary>Stations and depths</summary>{''.join(tables)}</details>"
        f"<details><summary>Before you dig</summary><ul>{cautions}</ul></details></div>"
    )


def _cell(column: Column, text: str) -> str:
    """A cell that carries its head along, for a screen too narrow for a table."""
    head = inert(f"{column.head}, {column.unit}" if column.unit else column.head)
    return f'<td data-head="{head}">{inert(text)}</td>'


@lru_cache(maxsize=1)
def _library() -> tuple[str, str]:
    """Leaflet's style sheet with its pictures inside, and its script."""

    def inside(match: re.Match[str]) -> str:
        picture = (LEAFLET / match.group(1)).read_bytes()
        return f"url(data:image/png;base64,{base64.b64encode(picture).decode('ascii')})"

    css = (LEAFLET / "leaflet.css").read_text("utf-8")
    css = re.sub(r"url\((images/[a-z0-9-]+\.png)\)", inside, css)
    script = (LEAFLET / "leaflet.js").read_text("utf-8")
    return css, re.sub(r"//# sourceMappingURL=\S+", "", script).replace("</script", r"<\/script")
