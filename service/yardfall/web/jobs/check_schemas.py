"""The as-built record of a job: what is sent, and what is told of it."""

from __future__ import annotations

import marshmallow as ma

from yardfall.store.records.jobs import MOST_REVISIONS
from yardfall.web.checks.grade_check_schemas import AsDugBody, dug_readings
from yardfall.web.openapi.answer_fields import part, parts, words
from yardfall.web.openapi.fields import Whole
from yardfall.web.uploads.raster_schemas import PageOfList


class TrenchBody(AsDugBody):
    """What the trench of a kept job reads, in its units, held against a revision of its plan.

    `revision` left out, the newest.
    """

    revision = Whole(1, MOST_REVISIONS)


class KeptCheckBody(TrenchBody):
    """What the trench of a kept job reads, in its units, held against a revision of its plan.

    `revision` left out, the newest.
    """

    as_dug = dug_readings(1)


class CheckOutline(ma.Schema):
    """One check that was kept: of which revision, when, under which key's name, by which sums."""

    number = ma.fields.Integer(required=True)
    revision = ma.fields.Integer(required=True)
    checked_at = words()
    checked_by = words()
    sums = words()
    verdict = words()
    sentence = words()


class KeptCheck(CheckOutline):
    """One check with its readings and its answer as it was then."""

    request = ma.fields.Dict(
        required=True, metadata={"description": "The readings, as they were sent"}
    )
    answer = ma.fields.Dict(
        required=True, metadata={"description": "The answer of POST /grade-check as it was then"}
    )


class CheckPage(ma.Schema):
    """A page of a job's checks."""

    grade_checks = parts(CheckOutline)
    page = part(PageOfList)
