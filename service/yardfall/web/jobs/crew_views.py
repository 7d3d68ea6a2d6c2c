"""The calls of links for a crew, and of a trench that a crew reads."""

from __future__ import annotations

from typing import Any

from flask import Response, current_app, jsonify

from yardfall.store.records.crew_links import CrewLink, CrewLinkStore
from yardfall.web.checks.grade_check_schemas import GradeCheckAnswer
from yardfall.web.http.access import caller
from yardfall.web.http.links import made
from yardfall.web.http.parsing import Calls
from yardfall.web.jobs import crew_schemas as schemas
from yardfall.web.jobs.check_answer import outcome_of
from yardfall.web.jobs.check_schemas import TrenchBody
from yardfall.web.jobs.views import kept_jobs
from yardfall.web.plan.views import kept_rasters

crews = Calls("crews", __name__, description="One job for a crew: links to it, and its trench")


def kept_links() -> CrewLinkStore:
    """The links of the caller's jobs."""
    who = caller()
    return CrewLinkStore(current_app.extensions["engine"], who.owner, who.name)


@crews.post("/jobs/<string:id>/crew-links")
@crews.arguments(schemas.CrewLinkBody())
@crews.response(201, schemas.NewCrewLink)
@crews.alt_response(404, "DEFAULT_ERROR")
def make_crew_link(body: dict[str, Any], id: str) -> Response:
    """Make a link that reads this job and adds checks of its trench, and opens nothing else."""
    link, secret = kept_links().make(id, body["name"])
    address = f"/crew#job={id}&crew={secret}"
    told = _told(link) | {"key": secret, "address": address}
    return made(told, f"/jobs/{id}/crew-links/{link.id}")


@crews.get("/jobs/<string:id>/crew-links")
@crews.response(200, schemas.CrewLinkList)
@crews.alt_response(404, "DEFAULT_ERROR")
def list_crew_links(id: str) -> Response:
    """The links to a job, oldest first."""
    return jsonify(crew_links=[_told(link) for link in kept_links().all(id)])


@crews.get("/jobs/<string:id>/crew-links/<string:link>")
@crews.response(200, schemas.CrewLink)
@crews.alt_response(404, "DEFAULT_ERROR")
def get_crew_link(id: str, link: str) -> Response:
    """One link to a job, without its key."""
    return jsonify(_told(kept_links().get(id, link)))


@crews.delete("/jobs/<string:id>/crew-links/<string:link>")
@crews.response(204)
@crews.alt_response(404, "DEFAULT_ERROR")
def withdraw_crew_link(id: str, link: str) -> None:
    """Withdraw a link: it opens nothing from now on. The checks made with it stay."""
    kept_links().withdraw(id, link)


@crews.post("/jobs/<string:id>/grade-check")
@crews.arguments(TrenchBody())
@crews.response(200, GradeCheckAnswer)
@crews.alt_response(404, "DEFAULT_ERROR")
def check_kept_grade(body: dict[str, Any], id: str) -> Response:
    """Hold a trench against a kept plan as each reading comes in, and keep nothing.

    Answered as POST /grade-check; POST /jobs/{id}/grade-checks keeps one.
    """
    revision = kept_jobs().at(id, body.get("revision"))
    return jsonify(outcome_of(body, revision, kept_rasters()).answer)


def _told(link: CrewLink) -> dict[str, Any]:
    return {
        "id": link.id,
        "name": link.name,
        "made_at": link.made_at.isoformat(),
        "made_by": link.made_by,
        "used_at": link.used_at and link.used_at.isoformat(),
    }
