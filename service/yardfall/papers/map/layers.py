"""The plan as layers for a map program: GeoJSON (RFC 7946) and a GeoPackage (OGC 12-128)."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any, Final

import geopandas as gpd
import numpy as np
import pandas as pd
import pyogrio
from shapely.geometry import LineString, Point, Polygon, mapping
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from yardfall.core.arrays import Floats
from yardfall.papers import figures
from yardfall.papers.dig_sheet.sheet_text import overall_of
from yardfall.papers.model import DrainLine, Job, Outline
from yardfall.papers.station_file import decimal
from yardfall.sentences import say

LOCAL: Final = "local"
DECIMALS: Final = 8
"""Of a degree: about a millimetre on the ground."""


def plan_geojson(job: Job) -> dict[str, Any]:
    """A FeatureCollection on WGS 84; features without a geometry where the place is not known.

    Coordinates are longitude, latitude to 8 decimals. Elevations are properties: they count from
    the plan's own datum, and RFC 7946 would have heights above the ellipsoid.
    """
    features = [
        {"type": "Feature", "geometry": shape, "properties": {"layer": layer, **properties}}
        for line in job.lines
        for layer, shape, properties in _features(job, line, line.lonlat)
    ]
    for layer, outline in _outlines(job):
        shape = None if outline.lonlat is None else mapping(_shape(outline, outline.lonlat))
        facts = {"layer": layer, **outline_facts(job, outline)}
        features.append({"type": "Feature", "geometry": shape, "properties": facts})
    placed = all(line.lonlat is not None for line in job.lines)
    note = {} if placed else {"note": say("papers.not_placed")}
    return {
        "type": "FeatureCollection",
        "name": job.name,
        "units": job.units.name,
        "verdict": job.answer["whole"]["verdict"],
        "overall": overall_of(job.answer["whole"]),
        "sentence": job.answer["whole"]["sentence"],
        "datum": job.answer["datum"],
        **note,
        "features": features,
    }


def _outlines(job: Job) -> list[tuple[str, Outline]]:
    """Layer and shape of what lies around the drain."""
    layers = (("lot", job.lot), ("avoid", job.avoid), ("fixed", job.fixed))
    return [(layer, outline) for layer, outlines in layers for outline in outlines]


def _shape(outline: Outline, rings: tuple[Floats, ...]) -> BaseGeometry:
    """An outline in other coordinates, as it was drawn."""
    rounded = [np.round(ring, DECIMALS) for ring in rings]
    if outline.kind == "point":
        return Point(rounded[0][0])
    if outline.kind == "line":
        return LineString(rounded[0])
    return orient(Polygon(rounded[0], rounded[1:]))


def outline_facts(job: Job, outline: Outline) -> dict[str, Any]:
    """What the layers of what lies around the drain say; `clearance` in the caller's lengths."""
    return {"name": outline.name, "clearance": outline.clearance_m / job.units.length_m}


def _features(
    job: Job, line: DrainLine, places: Floats | None
) -> list[tuple[str, dict[str, Any] | None, dict[str, Any]]]:
    """Layer name, GeoJSON geometry or None, properties."""

    def at(station: float) -> dict[str, Any] | None:
        if places is None:
            return None
        x, y = line.along(places, station)
        return {"type": "Point", "coordinates": [round(x, DECIMALS), round(y, DECIMALS)]}

    way = None
    if places is not None:
        way = {"type": "LineString", "coordinates": np.round(places, DECIMALS).tolist()}
    found: list[tuple[str, dict[str, Any] | None, dict[str, Any]]] = [
        ("route", way, route_facts(job, line))
    ]
    for station in line.stations:
        found.append(("stations", at(station["at"]), station_facts(line, station)))
    for layer, rows in point_layers(job, line).items():
        found += [(layer, at(row["at"]), row) for row in rows]
    return found


def route_facts(job: Job, line: DrainLine) -> dict[str, Any]:
    """What a route's layer says of a line."""
    answer = line.answer
    return {
        "line": line.name,
        "length": answer["length"],
        "pipe": answer["pipe"]["name"],
        "outside": answer["pipe"]["outside"],
        "verdict": answer["answer"]["verdict"],
        "overall": overall_of(answer["answer"]),
        "conditions": " ".join(c["text"] for c in answer["answer"].get("conditions", ())),
        "sentence": answer["answer"]["sentence"],
        "grades_percent": ", ".join(figures.percent(r["percent"]) for r in answer["grade_runs"]),
        "datum": answer["datum"],
        "units": job.units.name,
    }


def station_facts(line: DrainLine, s: dict[str, Any]) -> dict[str, Any]:
    """What a station's layer says."""
    mark, rod_mark = s["marks"]["line_to_bottom"], s["marks"]["rod_at_bottom"]
    return {
        "line": line.name,
        "station": s["label"],
        "at": s["at"],
        "x": s["x"],
        "y": s["y"],
        "ground": s["ground"],
        "invert": s["invert"],
        "dig_depth": s["dig_depth"],
        "dig_mark": decimal(s["marks"]["dig_depth"]),
        "cover": s["cover"],
        "line_to_bottom": s["line_to_bottom"],
        "line_mark": decimal(mark) if mark else None,
        "rod_at_bottom": s["rod_at_bottom"],
        "rod_mark": decimal(rod_mark) if rod_mark else None,
        "grade_percent": s["grade_percent"],
        "why": ", ".join(s["why"]),
    }


def point_layers(job: Job, line: DrainLine) -> dict[str, list[dict[str, Any]]]:
    """Inlets, the outlet or join, and crossings, each with the station it stands at."""
    answer = line.answer
    end = answer["outlet"]
    inlets = [{"line": line.name, "at": 0.0, "name": "start"}]
    inlets += [{"line": line.name, "at": i.at, "name": i.name} for i in line.inlets]
    crossings = [
        {
            "line": line.name,
            "at": c["at"],
            "what": c["what"],
            "passes": c["pass"],
            "top_depth": c["top_depth"],
            "size": c["size"],
            "hand_dig_from": zone[0],
            "hand_dig_to": zone[1],
        }
        for c in answer["crossings"]
        for zone in [figures.hand_dig_zone(c, answer["length"], job.units)]
    ]
    return {
        "inlets": inlets,
        "outlet": [{"line": line.name, **end}],
        "crossings": crossings,
    }


def plan_gpkg(job: Job) -> bytes:
    """A GeoPackage with the layers route, stations, inlets, outlet and crossings, and what lies
    around the drain, where it is known: lot, avoid and fixed.

    In the system of the main line's route; a site plan's is an engineering system of its own. A
    taped run has the same layers as tables without geometry.
    """
    crs = _crs(job)
    tables = _tables(job)
    with tempfile.TemporaryDirectory(prefix="yardfall-") as folder:
        path = Path(folder) / "plan.gpkg"
        for layer, (rows, shapes) in tables.items():
            frame = pd.DataFrame(rows)
            if crs is not None:
                frame = gpd.GeoDataFrame(frame, geometry=shapes, crs=crs)
            pyogrio.write_dataframe(frame, path, layer=layer, driver="GPKG", append=path.exists())
        return path.read_bytes()


def _crs(job: Job) -> str | None:
    crs = job.main.crs
    if crs != LOCAL:
        return crs
    name, metres = ("foot", 0.3048) if job.units.name == "us" else ("metre", 1)
    return (
        'ENGCRS["Site plan",EDATUM["Corner of the site plan"],CS[Cartesian,2],'
        f'AXIS["x",east],AXIS["y",north],LENGTHUNIT["{name}",{metres}]]'
    )


def _tables(job: Job) -> dict[str, tuple[list[dict[str, Any]], list[Any]]]:
    """Rows and shapes of each layer that has any; lines in another system have no shape."""
    tables: dict[str, tuple[list[dict[str, Any]], list[Any]]] = {}

    def add(layer: str, row: dict[str, Any], shape: Any) -> None:
        rows, shapes = tables.setdefault(layer, ([], []))
        rows.append(row)
        shapes.append(shape)

    for line in job.lines:
        xy = line.xy if line.crs == job.main.crs else None
        add("route", route_facts(job, line), None if xy is None else LineString(xy))
        for station in line.stations:
            place = None if xy is None else Point(station["x"], station["y"])
            add("stations", station_facts(line, station), place)
        for layer, rows in point_layers(job, line).items():
            for row in rows:
                place = None if xy is None else Point(line.along(xy, row["at"]))
                add(layer, row, place)
    for layer, outline in _outlines(job):
        add(layer, outline_facts(job, outline), _shape(outline, outline.rings))
    return tables
