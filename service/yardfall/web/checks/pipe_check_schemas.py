"""A pipe that lies already: what callers send of it, and what they get back."""

from __future__ import annotations

from typing import Final

import marshmallow as ma

from yardfall.web.checks.grade_check_schemas import PondAnswer
from yardfall.web.openapi.answer_fields import number, part, parts, words
from yardfall.web.openapi.fields import (
    MOST_LENGTH,
    Number,
    OneForm,
    Strict,
    TrueOrFalse,
    among,
    count,
    rod_unit_field,
    units_field,
)
from yardfall.web.schemas.accuracy_schemas import ByInstrument, BySigma
from yardfall.web.schemas.answer_schemas import AssumptionAnswer, CautionAnswer
from yardfall.web.schemas.plan_schemas import CataloguePipe, OwnPipe
from yardfall.web.schemas.survey_answer_schemas import WarningAnswer

MOST_READ: Final = 500


class PipePointBody(Strict):
    """A point of the pipe; `fixed` is one that cannot be moved, such as its outlet."""

    at = Number(0, MOST_LENGTH, required=True)
    fixed = TrueOrFalse(load_default=False)


class PipeByInvert(PipePointBody):
    """The elevation of the pipe's inside bottom."""

    invert = Number(required=True)


class PipeByMeasure(PipePointBody):
    """A measure down to the pipe; `on` is what the tape or rod stands on."""

    on = ma.fields.String(load_default="invert", validate=among("invert", "pipe_top"))


class PipeByDepth(PipeByMeasure):
    """Down from the ground, whose elevation stands beside."""

    depth = Number(0, required=True)
    ground = Number(required=True)


class PipeByLine(PipeByMeasure):
    """Down from a level line."""

    down = Number(required=True)


class PipeByRod(PipeByMeasure):
    """A rod reading, all from one set-up."""

    rod = Number(required=True)


class LeastGradeBody(Strict):
    """The least grade each stretch should have; left out, the usual one of the pipe."""

    min_percent = Number(0, 50, required=True)


class PipeCheckBody(Strict):
    """Points of a pipe in the ground, and what pipe it is, where that is known.

    Without `height`, points that are all read from one string or instrument count from there.
    """

    units = units_field()
    points = ma.fields.List(
        OneForm(
            {"invert": PipeByInvert, "depth": PipeByDepth, "down": PipeByLine, "rod": PipeByRod}
        ),
        required=True,
        validate=count(2, MOST_READ),
    )
    height = Number()
    rod_unit = rod_unit_field("ft where units are us, m where si")
    pipe = OneForm({"code": CataloguePipe, "outside": OwnPipe})
    grade = ma.fields.Nested(LeastGradeBody)
    accuracy = OneForm({"instrument": ByInstrument, "sigma": BySigma})


class PipePointAnswer(ma.Schema):
    """A point, downstream. `move` is the least that gives every stretch its grade."""

    at = number()
    label = words()
    point = ma.fields.Integer(required=True, metadata={"description": "Its index in points."})
    invert = number()
    grade_percent = number(nullable=True)
    standing_water = number()
    move = number(nullable=True)


class PipeStretch(ma.Schema):
    """Between neighbouring points."""

    from_ = number(data_key="from")
    to = number()
    fall = number()
    percent = number()
    falls_back = ma.fields.Boolean(required=True)
    under_least = ma.fields.Boolean(required=True)
    sentence = words()


class BellyAnswer(PondAnswer):
    """Where water stands. `within_error`: the readings' errors alone could show as much; null
    where the accuracy is not known. `fills_pipe` is null where the pipe is not known."""

    within_error = ma.fields.Boolean(required=True, allow_none=True)
    fills_pipe = ma.fields.Boolean(required=True, allow_none=True)


class PipeMove(ma.Schema):
    """A point to move, and how much, as a tape shows it."""

    at = number()
    label = words()
    move = number()
    mark = words()
    sentence = words()


class LeastMoves(ma.Schema):
    """The least lifting and lowering that gives every stretch its least grade; `moves` null: what
    is fixed leaves no way."""

    moves = ma.fields.List(ma.fields.Nested(PipeMove), required=True, allow_none=True)
    basis = words()
    sentence = words()


class PipeCheckAnswer(ma.Schema):
    """`verdict` is whether it drains: `too_close` where every belly may be an error of reading."""

    units = words()
    datum = words(metadata={"description": "What inverts count from."})
    verdict = words(metadata={"enum": ["yes", "no", "too_close"]})
    sentence = words()
    length = number()
    fall = number()
    percent = number()
    least_percent = number()
    reading_error = number(nullable=True)
    least_told = number(nullable=True)
    points = parts(PipePointAnswer)
    stretches = parts(PipeStretch)
    standing_water = parts(BellyAnswer)
    least_moves = part(LeastMoves)
    assumptions = parts(AssumptionAnswer)
    cautions = parts(CautionAnswer)
    warnings = parts(WarningAnswer)
