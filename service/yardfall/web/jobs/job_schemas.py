"""What the calls of jobs take and answer."""

from __future__ import annotations

from typing import Any, Final

import marshmallow as ma
from marshmallow import validate

from yardfall.store.records.revision import MOST_DEPTH, is_plain
from yardfall.store.tables import MOST_NAME
from yardfall.web.http.problems import ProblemItem
from yardfall.web.openapi.answer_fields import part, parts, words
from yardfall.web.openapi.fields import Strict, Text, among, between
from yardfall.web.uploads.raster_schemas import PageOfList

_TAG: Final = r'(W/)?"[!#-~]*"'
IF_MATCH: Final = rf"\*|{_TAG}([ \t]*,[ \t]*{_TAG})*"
"""RFC 9110, 13.1.1 and 8.8.3, without letters beyond ASCII."""
STATES: Final = ("open", "archived", "all")


class Name(Text):
    """A name of 1 to MOST_NAME characters, each of which can be seen."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> str:
        name = super()._deserialize(value, attr, data, **kwargs)
        if not (name.isprintable() and name.strip()):
            raise ma.ValidationError("A name has letters that can be seen, and no line breaks.")
        return name.strip()


class PlainObject(ma.fields.Dict):
    """A JSON object kept as it came: finite numbers, not nested deeper than MOST_DEPTH."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        if not isinstance(value, dict):
            raise ma.ValidationError("This must be an object.")
        if not is_plain(value):
            raise ma.ValidationError(
                "A number here is not finite or has more than 64 bits, a text is no text, or this "
                f"is nested deeper than {MOST_DEPTH} levels."
            )
        return value


class YesNo(ma.fields.Boolean):
    """JSON's true or false, and nothing like it."""

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> bool:
        if not isinstance(value, bool):
            raise ma.ValidationError("This must be true or false.")
        return value


REQUEST: Final = {"description": "A body of POST /plan"}
FORM: Final = {"description": "What the client's own form held; kept and returned as it came"}


class JobBody(Strict):
    """A plan to keep. As `draft`, a request that cannot be computed yet is kept without answer."""

    name = Name(MOST_NAME, required=True)
    request = PlainObject(required=True, metadata=REQUEST)
    form = PlainObject(load_default=None, metadata=FORM)
    draft = YesNo(load_default=False)


class CopyBody(Strict):
    """The name of a copy; without one, the job's own."""

    name = Name(MOST_NAME)


class ArchiveBody(Strict):
    """Whether a job is put away."""

    archived = YesNo(required=True)


class JobsQuery(ma.Schema):
    """Which page of the jobs, whose name holds `search`."""

    page = ma.fields.Integer(load_default=1, validate=between(1, 100_000))
    page_size = ma.fields.Integer(load_default=50, validate=between(1, 200))
    search = ma.fields.String(
        load_default="",
        validate=validate.Length(
            0, MOST_NAME, error=f"This takes {MOST_NAME} characters at the most."
        ),
    )
    state = ma.fields.String(load_default="open", validate=among(*STATES))


class DeleteQuery(ma.Schema):
    """`files=delete` also deletes the rasters and site plans that no other job names."""

    files = ma.fields.String(load_default="keep", validate=among("keep", "delete"))


class IfMatch(ma.Schema):
    """The ETag that the job had when it was read."""

    class Meta:
        unknown = ma.EXCLUDE

    if_match = ma.fields.String(
        data_key="If-Match", metadata={"example": '"1"', "pattern": f"^({IF_MATCH})$"}
    )


class RevisionOutline(ma.Schema):
    """One save. `sums_changed`: the sums are no longer those that gave its answer."""

    revision = ma.fields.Integer(required=True)
    name = words()
    saved_at = words()
    saved_by = words()
    sums = words()
    sums_changed = ma.fields.Boolean(required=True)
    verdict = words(nullable=True)
    overall = words(nullable=True)


class Revision(RevisionOutline):
    """One save with what it kept. Without an answer, `problems` say why."""

    request = ma.fields.Dict(required=True, metadata=REQUEST)
    answer = ma.fields.Dict(
        required=True,
        allow_none=True,
        metadata={"description": "The answer of POST /plan as it was then"},
    )
    problems = parts(ProblemItem)
    form = ma.fields.Dict(required=True, allow_none=True, metadata=FORM)


class JobFacts(ma.Schema):
    id = words()
    archived = ma.fields.Boolean(required=True)
    created_at = words()
    changed_at = words()
    size_bytes = ma.fields.Integer(required=True)
    etag = words()


class JobOutline(JobFacts, RevisionOutline):
    """A job and its newest revision, without what that kept."""


class Job(JobFacts, Revision):
    """A job and its newest revision."""


class JobPage(ma.Schema):
    """A page of the jobs kept."""

    jobs = parts(JobOutline)
    page = part(PageOfList)


class RevisionPage(ma.Schema):
    """A page of a job's revisions."""

    revisions = parts(RevisionOutline)
    page = part(PageOfList)
