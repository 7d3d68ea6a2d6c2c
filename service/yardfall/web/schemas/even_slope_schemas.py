"""Where ground that nobody measured is to be measured next."""

from __future__ import annotations

import marshmallow as ma

from yardfall.web.openapi.answer_fields import number, words


class ToMeasureAnswer(ma.Schema):
    """Where ground that was only taken to lie even is to be measured, and what would spoil a yes.

    `first` marks where least would. `rise` and `dip` null: none that is likely, or there is no yes.
    """

    at = number()
    label = words()
    rise = number(nullable=True)
    dip = number(nullable=True)
    first = ma.fields.Boolean(required=True)
    text = words()
