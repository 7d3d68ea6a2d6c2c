"""The site-plan calls: a picture of the yard in, its facts and its placement out."""

from __future__ import annotations

from typing import Any

from flask import Response, current_app, jsonify, send_file

from yardfall.store.uploads.site_plans import SitePlanStore
from yardfall.use_cases import uploads
from yardfall.web.http.access import caller
from yardfall.web.http.links import made, paged
from yardfall.web.http.parsing import Calls
from yardfall.web.uploads import site_plan_schemas as schemas
from yardfall.web.uploads.raster_schemas import PageQuery
from yardfall.web.uploads.site_plan_answer import placement_of, site_plan_answer, site_plan_page

site_plans = Calls("site plans", __name__, description="Pictures of the yard to draw on")


def kept_site_plans() -> SitePlanStore:
    """The caller's site plans."""
    store: SitePlanStore = current_app.extensions["site_plans"]
    return store.of(caller().owner)


@site_plans.post("/site-plans")
@site_plans.arguments(schemas.SheetQuery(), location="query")
@site_plans.arguments(schemas.SitePlanFile(), location="files", content_type="multipart/form-data")
@site_plans.response(201, schemas.SitePlan)
@site_plans.alt_response(503, "DEFAULT_ERROR")
def upload_site_plan(query: dict[str, Any], files: dict[str, Any]) -> Response:
    """Keep a site plan: a PNG, a JPEG or one page of a PDF in a part named `file`.

    What it is, its content says. Kept are its pixels, upright, at most 4096 on the longest side,
    and nothing else that the file held.
    """
    upload = files["file"]
    record = uploads.add_site_plan(
        upload.stream, upload.filename or "", query["page"], kept_site_plans()
    )
    return made(site_plan_answer(record), f"/site-plans/{record.id}")


@site_plans.get("/site-plans")
@site_plans.arguments(PageQuery(), location="query")
@site_plans.response(200, schemas.SitePlanPage)
def list_site_plans(query: dict[str, Any]) -> Response:
    """The site plans kept, newest first."""
    return paged(site_plan_page(kept_site_plans(), **query))


@site_plans.get("/site-plans/<string:id>")
@site_plans.response(200, schemas.SitePlan)
@site_plans.alt_response(404, "DEFAULT_ERROR")
def get_site_plan(id: str) -> Response:
    """The facts of a site plan, and its placement."""
    return jsonify(site_plan_answer(kept_site_plans().get(id)))


@site_plans.get("/site-plans/<string:id>/picture")
@site_plans.doc(
    responses={
        "200": {"description": "The picture.", "content": {"image/png": {}, "image/jpeg": {}}}
    }
)
@site_plans.alt_response(404, "DEFAULT_ERROR")
def get_picture(id: str) -> Response:
    """The picture: PNG, or JPEG where that is smaller."""
    record = kept_site_plans().get(id)
    return send_file(record.path, mimetype=record.facts["media_type"], etag=record.id)


@site_plans.put("/site-plans/<string:id>/placement")
@site_plans.arguments(schemas.PlacementBody())
@site_plans.response(200, schemas.SitePlan)
@site_plans.alt_response(404, "DEFAULT_ERROR")
def place_site_plan(body: dict[str, Any], id: str) -> Response:
    """Lay a site plan on its plane: scale from two points, turn, origin, north."""
    record = kept_site_plans().get(id)
    placement = placement_of(body, record.facts["height"])
    placed = uploads.place_site_plan(id, placement, body["units"], kept_site_plans())
    return jsonify(site_plan_answer(placed))


@site_plans.delete("/site-plans/<string:id>")
@site_plans.response(204)
@site_plans.alt_response(404, "DEFAULT_ERROR")
def delete_site_plan(id: str) -> None:
    """Forget a site plan and its picture."""
    kept_site_plans().delete(id)
