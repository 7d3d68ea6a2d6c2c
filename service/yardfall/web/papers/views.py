"""The papers of a plan that nobody has saved."""

from __future__ import annotations

import unicodedata
from typing import Any, Final
from urllib.parse import quote

from flask import Response

from yardfall.papers.registry import PAPERS, Paper
from yardfall.web.http.parsing import Calls
from yardfall.web.openapi import examples
from yardfall.web.openapi.finish import ANY_COLLECTION
from yardfall.web.plan.handlers import answer_paper
from yardfall.web.plan.views import kept_rasters
from yardfall.web.schemas.plan_schemas import PlanBody
from yardfall.web.uploads.site_plan_views import kept_site_plans

papers = Calls("papers", __name__, description="What leaves the screen for the trench")
NAME: Final = {
    "in": "path",
    "name": "name",
    "required": True,
    "schema": {"type": "string", "enum": sorted(PAPERS)},
}


def paper_content(name: str) -> dict[str, Any]:
    """What the contract says of a paper's file: its media type alone, but for GeoJSON."""
    media_type = PAPERS[name].media_type
    return {media_type: {"schema": ANY_COLLECTION} if media_type.endswith("json") else {}}


ANSWERS: Final = {
    "200": {
        "description": "The paper, as a file to keep.",
        "content": {kind: form for name in PAPERS for kind, form in paper_content(name).items()},
    }
}


@papers.post("/papers/<string:name>", parameters=[NAME])
@papers.arguments(PlanBody(), example=examples.PAPER)
@papers.doc(responses=ANSWERS)
@papers.alt_response(404, "DEFAULT_ERROR")
def make_paper(body: dict[str, Any], name: str) -> Response:
    """One paper of a plan: dig sheet, map, stations, layers or profile."""
    return paper_response(answer_paper(name, body, kept_rasters(), kept_site_plans()))


def paper_response(paper: Paper) -> Response:
    """A paper as a file, under the policy it carries itself."""
    response = Response(paper.content, mimetype=paper.media_type)
    plain = unicodedata.normalize("NFKD", paper.name).encode("ascii", "ignore").decode()
    named = f'attachment; filename="{plain.lstrip("-.")}"'
    if plain != paper.name:  # RFC 6266, with RFC 8187's way of writing other letters
        named += f"; filename*=UTF-8''{quote(paper.name)}"
    response.headers["Content-Disposition"] = named
    if paper.policy:
        response.headers["Content-Security-Policy"] = f"{paper.policy}; frame-ancestors 'none'"
    return response
