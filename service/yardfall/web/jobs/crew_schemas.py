"""Links for a crew: what is sent, and what is told of them."""

from __future__ import annotations

import marshmallow as ma

from yardfall.store.tables import MOST_NAME
from yardfall.web.jobs.job_schemas import Name
from yardfall.web.openapi.answer_fields import parts, words
from yardfall.web.openapi.fields import Strict


class CrewLinkBody(Strict):
    """Whom the link is for: its checks are kept under this name."""

    name = Name(MOST_NAME, required=True)


class CrewLink(ma.Schema):
    """A link to one job, without its key; `used_at` to the minute, null before its first use."""

    id = words()
    name = words()
    made_at = words()
    made_by = words()
    used_at = words(nullable=True)


class NewCrewLink(CrewLink):
    """A new link. `key` is told this once; `address` opens the job with it, under the planner's
    own address, and holds it behind the # alone, which no browser sends."""

    key = words()
    address = words()


class CrewLinkList(ma.Schema):
    """The links to a job."""

    crew_links = parts(CrewLink)
