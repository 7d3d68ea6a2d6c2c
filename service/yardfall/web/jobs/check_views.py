"""The calls of a job's as-built record: checks of its trench, kept with their time."""

from __future__ import annotations

from typing import Any

from flask import Response, current_app, jsonify

from yardfall.store.records.grade_checks import GradeCheckStore, KeptCheck
from yardfall.web.http.access import caller
from yardfall.web.http.links import made, paged
from yardfall.web.http.once import OnceHeader, once
from yardfall.web.http.parsing import Calls
from yardfall.web.jobs import check_schemas as schemas
from yardfall.web.jobs.check_answer import check_outline, kept_check_answer, outcome_of
from yardfall.web.jobs.job_answer import page_answer
from yardfall.web.jobs.views import kept_jobs
from yardfall.web.plan.views import kept_rasters
from yardfall.web.uploads.raster_schemas import PageQuery

record = Calls("record", __name__, description="What was built, of the jobs kept")


def kept_checks() -> GradeCheckStore:
    """The checks of the caller's jobs."""
    who = caller()
    most = current_app.extensions["limits"].kept_mib << 20
    return GradeCheckStore(current_app.extensions["engine"], who.owner, who.name, most)


def _made(check: KeptCheck, job: str) -> Response:
    return made(kept_check_answer(check), f"/jobs/{job}/grade-checks/{check.number}")


def _made_before(number: str, id: str) -> Response:
    return _made(kept_checks().get(id, int(number)), id)


@record.post("/jobs/<string:id>/grade-checks")
@record.arguments(OnceHeader(), location="headers")
@record.arguments(schemas.KeptCheckBody())
@record.response(201, schemas.KeptCheck)
@record.alt_response(404, "DEFAULT_ERROR")
@record.alt_response(409, "DEFAULT_ERROR")
@once(_made_before)
def keep_grade_check(body: dict[str, Any], id: str) -> Response:
    """Hold a trench against a kept plan, and keep the check with its time: the as-built record."""
    outcome = outcome_of(body, kept_jobs().at(id, body.get("revision")), kept_rasters())
    return _made(kept_checks().keep(id, outcome), id)


@record.get("/jobs/<string:id>/grade-checks")
@record.arguments(PageQuery(), location="query")
@record.response(200, schemas.CheckPage)
@record.alt_response(404, "DEFAULT_ERROR")
def list_grade_checks(query: dict[str, Any], id: str) -> Response:
    """The checks kept of a job, newest first."""
    number, size = query["page"], query["page_size"]
    found, total = kept_checks().page(id, number, size)
    listed = [check_outline(check) for check in found]
    return paged({"grade_checks": listed, "page": page_answer(number, size, total)})


@record.get("/jobs/<string:id>/grade-checks/<int:number>")
@record.response(200, schemas.KeptCheck)
@record.alt_response(404, "DEFAULT_ERROR")
def get_grade_check(id: str, number: int) -> Response:
    """One check of a job, as it was kept."""
    return jsonify(kept_check_answer(kept_checks().get(id, number)))
