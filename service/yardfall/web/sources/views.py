"""The calls about named sources: which there are, and what they have at a place."""

from __future__ import annotations

from typing import Any, Final

from flask import Response, jsonify

from yardfall.core.units import SYSTEMS
from yardfall.geo.crs import find_crs
from yardfall.use_cases.around_a_place import ground_at, lot_at, place_at, whole_sources
from yardfall.use_cases.source_relief import draw_part
from yardfall.use_cases.source_window import keep_part
from yardfall.web.http.links import made
from yardfall.web.http.parsing import Calls
from yardfall.web.plan.views import kept_rasters
from yardfall.web.schemas.plan_schemas import UnitsQuery
from yardfall.web.sources import source_schemas as schemas
from yardfall.web.sources.source_answer import ground_answer, lot_answer, sources_answer
from yardfall.web.uploads.raster_answer import raster_answer
from yardfall.web.uploads.raster_schemas import Raster

sources = Calls("sources", __name__, description="Ground, lots and buildings at a place")


INTERVAL: Final = "Contour-Interval"
BETWEEN: Final = {
    "description": "What lies between two contours, with its unit: 1 ft",
    "schema": {"type": "string"},
}
PICTURE: Final = {
    "description": "The picture.",
    "content": {"image/png": {}},
    "headers": {INTERVAL: BETWEEN},
}


@sources.get("/sources")
@sources.arguments(UnitsQuery(), location="query")
@sources.response(200, schemas.SourceList)
def list_sources(query: dict[str, Any]) -> Response:
    """The sources that whoever runs the planner named, by name. A plan's ground names one."""
    found = whole_sources(kept_rasters().sources)
    return jsonify(sources_answer(found, SYSTEMS[query["units"]]))


@sources.post("/sources/<string:name>/windows")
@sources.arguments(schemas.WindowBody())
@sources.response(201, Raster)
@sources.alt_response(404, "DEFAULT_ERROR")
@sources.alt_response(503, "DEFAULT_ERROR")
def keep_window(body: dict[str, Any], name: str) -> Response:
    """Keep a part of a source as a raster of one's own, its cells as they are.

    A plan on it can be made again and printed when the source is gone. Up to 2,000,000 cells.
    What is kept already is not kept twice: the answer is the raster that there is.
    """
    record = keep_part(name, body["bounds"], body["crs"], kept_rasters())
    return made(raster_answer(record), f"/rasters/{record.id}")


@sources.get("/sources/<string:name>/relief.png")
@sources.arguments(schemas.ReliefPartQuery(), location="query")
@sources.doc(responses={"200": PICTURE})
@sources.alt_response(404, "DEFAULT_ERROR")
@sources.alt_response(422, "UNPROCESSABLE_ENTITY")
@sources.alt_response(503, "DEFAULT_ERROR")
def relief(query: dict[str, Any], name: str) -> Response:
    """A shaded relief with contour lines of a part of a source, north up in the system asked in.

    It covers exactly what is asked for, transparent where there is no ground; nothing is kept. Up
    to 2,000,000 cells.
    """
    bounds = [query[side] for side in ("west", "south", "east", "north")]
    sources_here = kept_rasters().sources
    drawn, between = draw_part(name, bounds, query["crs"], sources_here, query["units"])
    return Response(drawn, mimetype="image/png", headers={INTERVAL: between})


@sources.get("/ground")
@sources.arguments(schemas.GroundQuery(), location="query")
@sources.response(200, schemas.GroundAnswer)
@sources.alt_response(422, "UNPROCESSABLE_ENTITY")
def ground(query: dict[str, Any]) -> Response:
    """The ground at a place by every source that has some there."""
    place = _place(query)
    found = ground_at(kept_rasters().sources, *place)
    return jsonify(ground_answer(found, place, SYSTEMS[query["units"]]))


@sources.get("/lots")
@sources.arguments(schemas.LotQuery(), location="query")
@sources.response(200, schemas.LotAnswer)
@sources.alt_response(422, "UNPROCESSABLE_ENTITY")
def lots(query: dict[str, Any]) -> Response:
    """The lot at a place, and the buildings on it, by the sources that have them."""
    found = lot_at(kept_rasters().sources, *_place(query), find_crs(query["crs"]))
    return jsonify(lot_answer(found, query["crs"]))


def _place(query: dict[str, Any]) -> tuple[float, float]:
    """Longitude and latitude of what was asked about."""
    if "x" in query:
        return place_at(query["x"], query["y"], query["crs"])
    return query["lon"], query["lat"]
