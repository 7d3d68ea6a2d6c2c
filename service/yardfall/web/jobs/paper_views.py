"""The papers of a kept job, each at an address of its own."""

from __future__ import annotations

from typing import Any

from flask import Response, current_app

from yardfall.core.errors import InputError, Problem
from yardfall.papers.model import Address
from yardfall.papers.registry import PAPERS
from yardfall.store.records.jobs import Revision
from yardfall.use_cases.paper_context import find_beneath
from yardfall.use_cases.papers import paper
from yardfall.web.http.conditions import tagged, told_before, weak_tag
from yardfall.web.http.parsing import Calls
from yardfall.web.http.problems import told
from yardfall.web.jobs.job_answer import plan_body
from yardfall.web.jobs.views import kept_jobs
from yardfall.web.openapi.operations import operation_id
from yardfall.web.papers.views import paper_content, paper_response
from yardfall.web.plan.views import kept_rasters
from yardfall.web.schemas.paper_schemas import KeptPaperQuery
from yardfall.web.uploads.site_plan_views import kept_site_plans

job_papers = Calls("job papers", __name__, description="The papers of the jobs kept")


def _offer(name: str) -> None:
    """Serve one paper of every job."""

    @job_papers.get(f"/jobs/<string:id>/{name}", endpoint=name.replace(".", "_"))
    @job_papers.arguments(KeptPaperQuery(), location="query")
    @job_papers.doc(
        summary=f"The paper {name} of a job as it was last saved, or of one revision of it.",
        description="Left out, each is as the request's `paper` says; `title` else the job's name.",
        operationId=operation_id(f"get_job_{name.replace('.', '_')}"),
        responses={"200": {"description": "A file to keep.", "content": paper_content(name)}},
    )
    @job_papers.alt_response(404, "DEFAULT_ERROR")
    def job_paper(query: dict[str, Any], id: str) -> Response:
        revision = kept_jobs().at(id, query.pop("revision", None))
        address = _address(id, revision.number)
        body, answer = _kept(revision, query)
        files = kept_rasters(), kept_site_plans()
        beneath = find_beneath(body["ground"], body["paper"], *files, gone_is_told=True)
        tag = weak_tag(name, id, revision.number, sorted(query.items()), address, beneath.told)
        held = told_before(tag)
        if held is not None:
            return held
        made = paper(name, body, answer, *files, gone_is_told=True, address=address)
        return tagged(paper_response(made), tag)


def _address(id: str, revision: int) -> Address | None:
    """Where a crew opens a job in the trench; None while nobody said how this planner is reached.

    It holds no key: a phone has its own, or was sent a link.
    """
    url = current_app.extensions["public_url"]
    if url is None:
        return None
    return Address(f"{url}/crew#job={id}&revision={revision}&in-the-trench", revision)


def _kept(revision: Revision, title: dict[str, Any]) -> tuple[dict[str, Any], dict[str, Any]]:
    """The request under a title, and its answer as it was then. Raises InputError for a draft."""
    kept = revision.content
    assert kept is not None
    if kept.answer is None:
        why = told([Problem(**problem) for problem in kept.problems])
        raise InputError.at("", f"This was kept as a draft and has no answer to print. {why}")
    body = plan_body(kept.request)
    shown = {"title": kept.name} | body.get("paper", {}) | title
    return body | {"paper": shown}, kept.answer


for _name in PAPERS:
    _offer(_name)
