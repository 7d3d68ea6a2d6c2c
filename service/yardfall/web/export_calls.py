"""Everything a caller keeps, out and in."""

from __future__ import annotations

import tempfile
from dataclasses import asdict
from typing import Any

from flask import Response, current_app, jsonify, send_file

from yardfall.export import Belongings, read_import, write_export
from yardfall.web import export_schemas as schemas
from yardfall.web.bodies import Calls
from yardfall.web.calls import kept_rasters
from yardfall.web.job_calls import kept_jobs
from yardfall.web.kept_check_calls import kept_checks
from yardfall.web.site_plan_calls import kept_site_plans

moving = Calls("moving", __name__, description="Everything kept, out and in")


def belongings() -> Belongings:
    """What the caller keeps."""
    return Belongings(kept_jobs(), kept_rasters(), kept_site_plans(), kept_checks())


@moving.get("/export")
@moving.arguments(schemas.ExportQuery(), location="query")
@moving.response(200, schemas.Bundle, content_type="application/zip")
def export(query: dict[str, Any]) -> Response:
    """All jobs with their revisions, rasters and site plans: one ZIP, which POST /imports takes."""
    out = tempfile.TemporaryFile(  # noqa: SIM115 - closed when it has been sent
        dir=current_app.extensions["data_dir"], suffix=".part"
    )
    write_export(out, belongings(), query["files"] == "with")
    out.seek(0)
    return send_file(
        out, "application/zip", as_attachment=True, download_name="yardfall-export.zip"
    )


@moving.post("/imports")
@moving.arguments(schemas.ExportFile(), location="files", content_type="multipart/form-data")
@moving.response(201, schemas.Moved)
def import_(files: dict[str, Any]) -> tuple[Response, int]:
    """Take in an export under new ids, beside what is there: all of it or nothing."""
    return jsonify(asdict(read_import(files["file"].stream, belongings()))), 201
