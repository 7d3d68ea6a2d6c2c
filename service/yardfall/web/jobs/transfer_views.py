"""Everything a caller keeps, out and in."""

from __future__ import annotations

from dataclasses import asdict
from itertools import chain
from typing import Any

from flask import Response, current_app

from yardfall.store.imports import held
from yardfall.store.records.grade_checks import GradeCheckStore
from yardfall.store.records.jobs import JobStore
from yardfall.store.uploads.rasters import RasterStore
from yardfall.store.uploads.site_plans import SitePlanStore
from yardfall.use_cases.transfer import Belongings, read_import
from yardfall.use_cases.transfer_stream import written_export
from yardfall.web.http.access import caller
from yardfall.web.http.links import made
from yardfall.web.http.parsing import Calls
from yardfall.web.http.watch.limits import Limits
from yardfall.web.jobs import transfer_schemas as schemas

moving = Calls("moving", __name__, description="Everything kept, out and in")


def belongings(owner: str) -> Belongings:
    """What an owner keeps, saved under the caller's name."""
    known, who = current_app.extensions, caller()
    engine, folder, most = known["engine"], known["data_dir"], _share()
    return Belongings(
        JobStore(engine, owner, who.name, most),
        RasterStore(engine, folder, owner, most),
        SitePlanStore(engine, folder, owner, most),
        GradeCheckStore(engine, owner, who.name, most),
    )


def _share() -> int:
    """Bytes that the caller may keep: a key its share, the machine's own user the whole disk."""
    limits: Limits = current_app.extensions["limits"]
    return limits.kept_mib << 20 if caller().key else 1 << 62


@moving.get("/export")
@moving.arguments(schemas.ExportQuery(), location="query")
@moving.doc(responses={"200": {"description": "The file.", "content": {"application/zip": {}}}})
def export(query: dict[str, Any]) -> Response:
    """All jobs with their revisions, rasters and site plans: one ZIP, which POST /imports takes."""
    parts = written_export(belongings(caller().owner), query["files"] == "with")
    first = next(parts)  # what cannot be read is told before an answer has begun
    answer = Response(chain((first,), parts), mimetype="application/zip")
    answer.headers.set("Content-Disposition", "attachment", filename="yardfall-export.zip")
    return answer


@moving.post("/imports")
@moving.arguments(schemas.ExportFile(), location="files", content_type="multipart/form-data")
@moving.response(201, schemas.Moved)
def import_(files: dict[str, Any]) -> Response:
    """Take in an export under new ids, beside what is there: all of it or nothing."""
    known = current_app.extensions
    with held(known["engine"], known["data_dir"], caller().owner, _share()) as holder:
        moved = read_import(files["file"].stream, belongings(holder))
    return made(asdict(moved), "/jobs")
