"""Jobs for JSON, and what a save keeps."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import marshmallow as ma

from yardfall.core.errors import InputError, Problem, under
from yardfall.engine_version import sums
from yardfall.store.records.jobs import Job, Revision
from yardfall.store.records.revision import Content, files_named
from yardfall.store.uploads.rasters import RasterStore
from yardfall.web.http.problems import bounded, flatten
from yardfall.web.plan.handlers import answer_plan
from yardfall.web.schemas.plan_schemas import PlanBody


def content_of(body: dict[str, Any], rasters: RasterStore) -> Content:
    """A checked job body with its plan computed.

    Raises InputError when it cannot be, unless it is a draft.
    """
    request = body["request"]
    answer, problems = None, []
    try:
        with under("/request"):
            answer = _answered(request, rasters)
    except InputError as error:
        if not body["draft"]:
            raise
        problems = [asdict(problem) for problem in bounded(error.problems)]
    return Content(
        name=body["name"],
        request=request,
        answer=answer,
        sums=sums(),
        verdict=answer["answer"]["verdict"] if answer else None,
        problems=problems,
        files=files_named([request, body["form"]]),
        form=body["form"],
    )


def _answered(request: dict[str, Any], rasters: RasterStore) -> dict[str, Any]:
    return answer_plan(plan_body(request), rasters)


def plan_body(request: dict[str, Any]) -> dict[str, Any]:
    """A kept request as a checked plan body. Raises InputError."""
    try:
        body: dict[str, Any] = PlanBody().load(request)
    except ma.ValidationError as error:
        raise InputError(*flatten(error.messages)) from error
    return body


def job_answer(job: Job) -> dict[str, Any]:
    """A job with its newest revision; what that kept only where it was read."""
    return {
        "id": job.id,
        "archived": job.archived,
        "created_at": job.created_at.isoformat(),
        "changed_at": job.changed_at.isoformat(),
        "size_bytes": job.size_bytes,
        "etag": f'"{job.tag}"',
        **revision_answer(job.latest),
    }


def revision_answer(revision: Revision) -> dict[str, Any]:
    """One revision; what it kept only where that was read."""
    outline = {
        "revision": revision.number,
        "name": revision.name,
        "saved_at": revision.saved_at.isoformat(),
        "saved_by": revision.saved_by,
        "sums": revision.sums,
        "sums_changed": revision.sums != sums(),
        "verdict": revision.verdict,
        "overall": revision.overall or revision.verdict,
    }
    kept = revision.content
    if kept is None:
        return outline
    return outline | {
        "request": kept.request,
        "answer": kept.answer,
        "problems": [asdict(Problem(**problem)) for problem in kept.problems],
        "form": kept.form,
    }


def page_answer(number: int, size: int, total: int) -> dict[str, int]:
    """Which page this is of how many entries."""
    return {"number": number, "size": size, "total": total}
