"""The calls of jobs: kept plans, each save a revision, so that nobody's work is overwritten."""

from __future__ import annotations

import re
from collections.abc import Collection
from typing import Any

from flask import Response, current_app, jsonify, request
from werkzeug.exceptions import BadRequest, PreconditionFailed, PreconditionRequired

from yardfall.engine_version import sums
from yardfall.store.records.jobs import Job, JobStore
from yardfall.use_cases import uploads
from yardfall.web.http.access import caller
from yardfall.web.http.conditions import unless_held
from yardfall.web.http.links import made, paged
from yardfall.web.http.once import OnceHeader, once
from yardfall.web.http.parsing import Calls
from yardfall.web.jobs import job_schemas as schemas
from yardfall.web.jobs.job_answer import content_of, job_answer, page_answer, revision_answer
from yardfall.web.plan.views import kept_rasters
from yardfall.web.uploads.raster_schemas import PageQuery
from yardfall.web.uploads.site_plan_views import kept_site_plans

jobs = Calls("jobs", __name__, description="Plans kept, with every revision")


def kept_jobs() -> JobStore:
    """The caller's jobs."""
    who = caller()
    return JobStore(
        current_app.extensions["engine"],
        who.owner,
        who.name,
        current_app.extensions["limits"].kept_mib << 20,
    )


def _expected(id: str) -> Collection[str] | None:
    """The tags of If-Match; None for `*`. Raises NotFoundError where there is no such job."""
    kept_jobs().require(id, None)
    header = request.headers.get("If-Match")
    if header is None:
        raise PreconditionRequired(
            "Send If-Match with the ETag that the job had when you read it, so that nobody's work "
            "is overwritten."
        )
    if not re.fullmatch(schemas.IF_MATCH, header.strip()):
        raise BadRequest(
            "If-Match takes the ETag as it was told, its quotation marks included, such as "
            'If-Match: "1"; several with commas between; or *.'
        )
    if header.strip() == "*":
        return None
    tags = request.if_match
    if not tags.as_set():
        raise PreconditionFailed(
            "A weak tag, W/ before the quotation marks, never matches in If-Match (RFC 9110, "
            "13.1.1). Send the ETag as this service told it, without the W/."
        )
    return tags.as_set()


def _told(job: Job) -> Response:
    answer = jsonify(job_answer(job))
    answer.set_etag(job.tag)
    return answer


def _made(job: Job) -> Response:
    return made(_told(job), f"/jobs/{job.id}")


def _made_before(id: str) -> Response:
    """As a job was when it was made."""
    first = kept_jobs().revision(id, 1)
    assert first.content is not None
    moment, size = first.saved_at, first.content.size_bytes
    return _made(Job(id, first.name, False, moment, moment, size, first))


@jobs.post("/jobs")
@jobs.arguments(OnceHeader(), location="headers")
@jobs.arguments(schemas.JobBody())
@jobs.response(201, schemas.Job)
@jobs.alt_response(409, "DEFAULT_ERROR")
@once(_made_before)
def create_job(body: dict[str, Any]) -> Response:
    """Plan a request and keep both under a name, as revision 1."""
    content = content_of(body, kept_rasters())
    return _made(kept_jobs().create(content))


@jobs.get("/jobs")
@jobs.arguments(schemas.JobsQuery(), location="query")
@jobs.response(200, schemas.JobPage)
def list_jobs(query: dict[str, Any]) -> Response:
    """The jobs kept, last changed first."""
    number, size = query["page"], query["page_size"]
    found, total = kept_jobs().page(number, size, query["search"], query["state"])
    listed = [job_answer(job) for job in found]
    return paged({"jobs": listed, "page": page_answer(number, size, total)})


@jobs.get("/jobs/<string:id>")
@jobs.response(200, schemas.Job)
@jobs.alt_response(404, "DEFAULT_ERROR")
def get_job(id: str) -> Response:
    """A job with its newest revision. Its ETag is what a save sends back as If-Match."""
    job = kept_jobs().get(id)
    if job.latest.sums != sums():  # the answer says so, and its tag does not
        return _told(job)
    return unless_held(_told(job))


@jobs.put("/jobs/<string:id>")
@jobs.arguments(schemas.IfMatch(), location="headers")
@jobs.arguments(schemas.JobBody())
@jobs.response(200, schemas.Job)
@jobs.alt_response(400, "DEFAULT_ERROR")
@jobs.alt_response(404, "DEFAULT_ERROR")
@jobs.alt_response(412, "DEFAULT_ERROR")
@jobs.alt_response(428, "DEFAULT_ERROR")
def save_job(_headers: dict[str, Any], body: dict[str, Any], id: str) -> Response:
    """Plan a request and keep both as the next revision; 412 when someone else saved first."""
    expected = _expected(id)
    store = kept_jobs()
    store.require(id, expected)
    content = content_of(body, kept_rasters())
    return _told(store.save(id, expected, content))


@jobs.delete("/jobs/<string:id>")
@jobs.arguments(schemas.IfMatch(), location="headers")
@jobs.arguments(schemas.DeleteQuery(), location="query")
@jobs.response(204)
@jobs.alt_response(400, "DEFAULT_ERROR")
@jobs.alt_response(404, "DEFAULT_ERROR")
@jobs.alt_response(412, "DEFAULT_ERROR")
@jobs.alt_response(428, "DEFAULT_ERROR")
def delete_job(_headers: dict[str, Any], query: dict[str, Any], id: str) -> None:
    """Forget a job and all its revisions."""
    files = (kept_rasters(), kept_site_plans()) if query["files"] == "delete" else ()
    uploads.delete_job(id, _expected(id), kept_jobs(), files)


@jobs.post("/jobs/<string:id>/copies")
@jobs.arguments(schemas.CopyBody())
@jobs.response(201, schemas.Job)
@jobs.alt_response(404, "DEFAULT_ERROR")
def copy_job(body: dict[str, Any], id: str) -> Response:
    """A new job from the newest revision of this one."""
    return _made(kept_jobs().copy(id, body.get("name")))


@jobs.post("/jobs/<string:id>/archive")
@jobs.arguments(schemas.ArchiveBody())
@jobs.response(200, schemas.Job)
@jobs.alt_response(404, "DEFAULT_ERROR")
def archive_job(body: dict[str, Any], id: str) -> Response:
    """Put a job away, or take it out again. Its ETag changes, its revision does not."""
    return _told(kept_jobs().archive(id, body["archived"]))


@jobs.get("/jobs/<string:id>/revisions")
@jobs.arguments(PageQuery(), location="query")
@jobs.response(200, schemas.RevisionPage)
@jobs.alt_response(404, "DEFAULT_ERROR")
def list_revisions(query: dict[str, Any], id: str) -> Response:
    """The revisions of a job, newest first."""
    number, size = query["page"], query["page_size"]
    found, total = kept_jobs().revisions(id, number, size)
    listed = [revision_answer(revision) for revision in found]
    return paged({"revisions": listed, "page": page_answer(number, size, total)})


@jobs.get("/jobs/<string:id>/revisions/<int:number>")
@jobs.response(200, schemas.Revision)
@jobs.alt_response(404, "DEFAULT_ERROR")
def get_revision(id: str, number: int) -> Response:
    """One revision of a job, as it was saved."""
    return jsonify(revision_answer(kept_jobs().revision(id, number)))
