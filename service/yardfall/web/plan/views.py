"""The calls. Each takes a checked body, calls the workflow, gives the answer."""

from __future__ import annotations

from typing import Any, Final

from flask import Response, current_app, jsonify

from yardfall.core import compiled
from yardfall.core.units import SYSTEMS
from yardfall.store.health import look_over
from yardfall.store.uploads.rasters import RasterRecord, RasterStore
from yardfall.use_cases import uploads
from yardfall.web.answers.plan_answer import catalogue_answer
from yardfall.web.http.access import caller
from yardfall.web.http.conditions import tagged, told_before, weak_tag
from yardfall.web.http.health_answer import health_answer
from yardfall.web.http.links import made, paged
from yardfall.web.http.once import OnceHeader, once
from yardfall.web.http.parsing import Calls
from yardfall.web.openapi import examples
from yardfall.web.openapi.security import NONE_NEEDED
from yardfall.web.plan.handlers import answer_flow, answer_plan, answer_profile
from yardfall.web.schemas import answer_schemas as answers
from yardfall.web.schemas import plan_schemas, survey_schemas
from yardfall.web.schemas import survey_answer_schemas as survey_answers
from yardfall.web.schemas.health_schemas import Health
from yardfall.web.uploads import raster_schemas
from yardfall.web.uploads.raster_answer import raster_answer, raster_page

planning = Calls("planning", __name__, description="Plan a drain")
rasters = Calls("rasters", __name__, description="Elevation rasters")


NEVER_CHANGES: Final = "private, max-age=86400, immutable"
"""A kept raster's picture is the same for good. What a key opens is not kept all the same."""


def kept_rasters() -> RasterStore:
    """The caller's rasters."""
    store: RasterStore = current_app.extensions["rasters"]
    return store.of(caller().owner)


@planning.get("/health")
@planning.doc(security=NONE_NEEDED)
@planning.response(200, Health)
@planning.alt_response(503, schema=Health, description="Something it needs is broken")
def health() -> tuple[Response, int]:
    """Whether what the service depends on works, and what does not."""
    parts = current_app.extensions
    found = look_over(parts["engine"], parts["data_dir"]) | parts["holders"].broken()
    told = health_answer(found, getting_ready=not compiled.settled(0))
    return jsonify(told), 503 if found else 200


@planning.get("/pipes")
@planning.arguments(plan_schemas.UnitsQuery(), location="query")
@planning.response(200, answers.Catalogue)
@planning.alt_response(422, "UNPROCESSABLE_ENTITY")
def pipes(query: dict[str, Any]) -> Response:
    """The pipe catalogue, each value with its source."""
    return jsonify(catalogue_answer(SYSTEMS[query["units"]]))


@planning.post("/profile")
@planning.arguments(survey_schemas.ProfileBody(), example=examples.PROFILE)
@planning.response(200, survey_answers.ProfileAnswer)
def profile(body: dict[str, Any]) -> Response:
    """The ground along a route."""
    return jsonify(answer_profile(body, kept_rasters()))


@planning.post("/plan")
@planning.arguments(plan_schemas.PlanBody(), example=examples.PLAN)
@planning.response(200, answers.TreeAnswer)
def plan(body: dict[str, Any]) -> Response:
    """The main job: stations, depths and the outlet answer. A "no" is an answer, status 200."""
    return jsonify(answer_plan(body, kept_rasters()))


@planning.post("/flow")
@planning.arguments(plan_schemas.FlowBody(), example=examples.FLOW)
@planning.response(200, answers.FlowAnswer)
def flow(body: dict[str, Any]) -> Response:
    """Whether a pipe at a grade carries the water, and the smallest pipe that does."""
    return jsonify(answer_flow(body))


def _made(record: RasterRecord) -> Response:
    return made(raster_answer(record), f"/rasters/{record.id}")


def _made_before(id: str) -> Response:
    return _made(kept_rasters().get(id))


@rasters.post("/rasters")
@rasters.arguments(OnceHeader(), location="headers")
@rasters.arguments(
    raster_schemas.RasterFile(), location="files", content_type="multipart/form-data"
)
@rasters.response(201, raster_schemas.Raster)
@rasters.alt_response(409, "DEFAULT_ERROR")
@once(_made_before)
def upload_raster(files: dict[str, Any]) -> Response:
    """Keep an elevation raster: one single-band GeoTIFF in a part named `file`."""
    upload = files["file"]
    record = uploads.add_raster(upload.stream, upload.filename or "", kept_rasters())
    return _made(record)


@rasters.get("/rasters")
@rasters.arguments(raster_schemas.PageQuery(), location="query")
@rasters.response(200, raster_schemas.RasterPage)
def list_rasters(query: dict[str, Any]) -> Response:
    """The rasters kept, newest first."""
    return paged(raster_page(kept_rasters(), **query))


@rasters.get("/rasters/<string:id>")
@rasters.response(200, raster_schemas.Raster)
@rasters.alt_response(404, "DEFAULT_ERROR")
def get_raster(id: str) -> Response:
    """The facts of a raster."""
    return jsonify(raster_answer(kept_rasters().get(id)))


@rasters.get("/rasters/<string:id>/relief.png")
@rasters.arguments(raster_schemas.ReliefQuery(), location="query")
@rasters.doc(responses={"200": {"description": "The picture.", "content": {"image/png": {}}}})
@rasters.alt_response(404, "DEFAULT_ERROR")
def get_relief(query: dict[str, Any], id: str) -> Response:
    """A shaded relief with contour lines, north up, covering exactly the raster's bounds.

    The contours are in the raster's own unit, or with `units` in feet (us) or metres (si).
    """
    tag = weak_tag(kept_rasters().get(id).id, query["units"])
    held = told_before(tag)
    if held is not None:
        return held
    picture = Response(uploads.relief(id, kept_rasters(), query["units"]), mimetype="image/png")
    picture.headers["Cache-Control"] = NEVER_CHANGES
    return tagged(picture, tag)


@rasters.delete("/rasters/<string:id>")
@rasters.response(204)
@rasters.alt_response(404, "DEFAULT_ERROR")
def delete_raster(id: str) -> None:
    """Forget a raster and its file."""
    kept_rasters().delete(id)
