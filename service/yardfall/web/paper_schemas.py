"""What a caller may write at the head of a paper."""

from __future__ import annotations

from typing import Final

import marshmallow as ma

from yardfall.store.jobs import MOST_REVISIONS
from yardfall.web.fields import Strict, Text, among
from yardfall.web.schemas import PlanBody

LONGEST_TITLE: Final = 200


class TitleBody(Strict):
    """The title block and the page. What is left out stays empty, to be written in by hand; the
    page is letter where the units are us, else a4."""

    title = Text(LONGEST_TITLE)
    place = Text(LONGEST_TITLE)
    prepared_for = Text(LONGEST_TITLE)
    prepared_by = Text(LONGEST_TITLE)
    date = Text(40)
    page = ma.fields.String(validate=among("letter", "a4"))


class PaperBody(PlanBody):
    """A plan request, with what its papers are to say of it."""

    paper = ma.fields.Nested(TitleBody)


class KeptPaperQuery(TitleBody):
    """The title block and the page of a kept job's paper, and which revision's it is."""

    revision = ma.fields.Integer(validate=ma.validate.Range(1, MOST_REVISIONS))
