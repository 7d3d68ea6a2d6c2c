"""What is told of the things on a line: what bears on it, what it crosses, soil laid over it."""

from __future__ import annotations

import marshmallow as ma

from yardfall.web.openapi.answer_fields import number, words


class CrossingAnswer(ma.Schema):
    """Something buried that the line passes; `exposed`: dug up by hand and measured."""

    at = number()
    label = words()
    what = words()
    pass_ = words(data_key="pass")
    top_depth = number()
    size = number()
    clearance = number()
    exposed = ma.fields.Boolean(required=True)


class CoverAnswer(ma.Schema):
    """A stretch that something bears on; `least` is the soil over the pipe where it is thinnest."""

    from_ = number(data_key="from")
    to = number()
    cover = number()
    what = words()
    least = number(nullable=True)


class FillAnswer(ma.Schema):
    """Soil to be laid on the ground over a stretch, once the trench is closed."""

    from_ = number(data_key="from")
    to = number()
    depth = number()
    full_from = number()
    full_to = number()
    width = number()
    volume = number()
    text = words()
