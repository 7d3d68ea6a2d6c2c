"""Plans side by side: what callers send, and what they get back."""

from __future__ import annotations

from typing import Final

import marshmallow as ma

from yardfall.web.openapi.answer_fields import number, part, parts, words
from yardfall.web.openapi.fields import Strict, Text, count
from yardfall.web.schemas.plan_schemas import PlanBody

MOST_PLANS: Final = 6


class AlternativeBody(Strict):
    """One plan request under a name."""

    name = Text(required=True)
    plan = ma.fields.Nested(PlanBody, required=True)


class ComparisonBody(Strict):
    """2 to 6 plan requests under names of their own, all in one unit system."""

    plans = ma.fields.List(
        ma.fields.Nested(AlternativeBody), required=True, validate=count(2, MOST_PLANS)
    )


class Alternative(ma.Schema):
    """One plan, its branches counted in. `spare` and `chance` are of all its lines together."""

    name = words()
    verdict = words()
    overall = words()
    sentence = words()
    spare = number(nullable=True)
    chance = number(nullable=True)
    length = number()
    flattest_percent = number()
    greatest_depth = number()
    dig_volume = number()
    haul_volume = number()
    pipe = words()
    pipe_laid = number()
    pieces = ma.fields.Integer(required=True)
    outlet = words()
    carries = ma.fields.Boolean(
        required=True, allow_none=True, metadata={"description": "Null without inflows."}
    )
    cost = number(nullable=True)
    currency = words(nullable=True)
    cost_left_out = ma.fields.List(ma.fields.String(), required=True)


class Best(ma.Schema):
    """Names of those that come out best among the plans that fit; null where none does, or two tie.

    `least_cost` needs every plan that fits priced in one currency, with nothing left out.
    """

    most_spare = words(nullable=True)
    least_dig = words(nullable=True)
    least_cost = words(nullable=True)


class Comparison(ma.Schema):
    """Plans side by side."""

    units = words()
    alternatives = parts(Alternative)
    best = part(Best)
    sentence = words()
