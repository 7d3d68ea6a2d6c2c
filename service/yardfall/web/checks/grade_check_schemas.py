"""A trench held against its plan: what callers send, and what they get back."""

from __future__ import annotations

from typing import Any, Final

import marshmallow as ma

from yardfall.web.openapi.answer_fields import number, part, parts, words
from yardfall.web.openapi.fields import (
    MOST_LENGTH,
    Number,
    OneForm,
    Strict,
    Text,
    TrueOrFalse,
    among,
    count,
    rod_unit_field,
)
from yardfall.web.schemas.answer_schemas import AssumptionAnswer, CautionAnswer
from yardfall.web.schemas.grade_run_schemas import GradeRun
from yardfall.web.schemas.plan_schemas import PlanBody
from yardfall.web.schemas.survey_answer_schemas import WarningAnswer

MOST_DUG: Final = 500
SURFACES: Final = ("trench_bottom", "pipe_top", "invert")


class DugBody(Strict):
    """One reading in the trench; `on` is what the tape or rod stands on.

    `again` says that it was taken a second time, after the answer asked for it.
    """

    at = Number(0, MOST_LENGTH, required=True)
    again = TrueOrFalse()
    on = ma.fields.String(load_default="trench_bottom", validate=among(*SURFACES))


class DugByDepth(DugBody):
    """Down from the ground; negative only for a pipe that comes out of it."""

    depth = Number(required=True)


class DugByLine(DugBody):
    """Down from a level line: the plan's own, or one strung anew at elevation `height`."""

    line_to_bottom = Number(required=True)
    line = Text()
    height = Number()


class DugByRod(DugBody):
    """A rod reading: from the plan's own set-up, or a new one with its `height` of instrument."""

    rod = Number(required=True)
    height = Number()


def dug_readings(least: int) -> ma.fields.List[Any]:
    """At least so many readings."""
    forms = {"depth": DugByDepth, "line_to_bottom": DugByLine, "rod": DugByRod}
    return ma.fields.List(OneForm(forms), required=True, validate=count(least, MOST_DUG))


class AsDugBody(Strict):
    """What the trench or the pipe reads, in the plan's units.

    `branch` names the line that was read; left out, the main line. `next_on` is the surface to be
    read next, and every station must be read on it for a pass; left out, the one that was read
    last, or the pipe where that is all read and the pipe begun.
    """

    as_dug = dug_readings(0)
    tolerance = Number(0, 10_000)
    rod_unit = rod_unit_field("as in the plan")
    branch = Text()
    next_on = ma.fields.String(validate=among(*SURFACES))


class GradeCheckBody(AsDugBody):
    """A plan request, and what the trench or the pipe reads, in the plan's units.

    `branch` names the line that was read; left out, the main line. `next_on` is the surface to be
    read next, and every station must be read on it for a pass; left out, the one that was read
    last, or the pipe where that is all read and the pipe begun.
    """

    plan = ma.fields.Nested(PlanBody, required=True)


class DugAnswer(ma.Schema):
    """One station. `off` is positive where it lies high; `change` negative where to take off.

    `change` is the least work that makes the whole trench pass; `to_the_line` would put this
    station on the planned line. `mark` goes to `should_read_text`, the figure on the dig sheet,
    where the trench then passes, else it is the least in whole marks of the tape. `read_again`:
    its neighbors contradict this reading; nothing is judged by it until it was taken again.
    """

    at = number()
    label = words()
    reading = ma.fields.Integer(required=True, metadata={"description": "Its index in as_dug."})
    by = words()
    on = words()
    reads = number()
    should_read = number()
    should_read_text = words(
        metadata={"description": "The plan's own tape mark, or to 1/8 in (1 mm, a rod's digits)."}
    )
    off = number()
    state = words(metadata={"enum": ["high", "low", "within"]})
    invert = number()
    planned_invert = number()
    cover = number()
    fill = number()
    standing_water = number()
    change = number()
    to_the_line = number()
    do = words(metadata={"enum": ["nothing", "shave", "fill", "lower", "raise", "read_again"]})
    mark = words(nullable=True, metadata={"description": "How much, as a tape shows it."})
    sentence = words()


class DugRun(ma.Schema):
    """Between neighbouring readings, those to be read again left out."""

    from_ = number(data_key="from")
    to = number()
    fall = number()
    percent = number()
    planned_percent = number()
    falls_back = ma.fields.Boolean(required=True)
    under_least = ma.fields.Boolean(required=True)


class PondAnswer(ma.Schema):
    """Standing water, from upstream; `held_by` is the station whose invert holds it."""

    from_ = number(data_key="from")
    to = number()
    length = number()
    depth = number()
    deepest_at = number()
    held_by = number()
    fills_pipe = ma.fields.Boolean(required=True)
    sentence = words()


class FallAnswer(ma.Schema):
    """From first to last reading; `needed` is the minimum grade's fall less the tolerance."""

    from_ = number(data_key="from")
    to = number()
    fall = number()
    needed = number()


class Checks(ma.Schema):
    """What a pass is made of."""

    within_tolerance = ma.fields.Boolean(required=True)
    nothing_falls_back = ma.fields.Boolean(required=True)
    fall_enough = ma.fields.Boolean(required=True)
    steep_enough = ma.fields.Boolean(
        required=True,
        metadata={
            "description": "No stretch is flatter than the minimum grade, or than the dig sheet's "
            "own marks make it where none keep that grade."
        },
    )
    none_in_doubt = ma.fields.Boolean(
        required=True, metadata={"description": "No reading is to be taken again."}
    )
    all_read = ma.fields.Boolean(required=True)


class Change(ma.Schema):
    """What to take off or fill at a station."""

    at = number()
    label = words()
    change = number()


class AsItLies(ma.Schema):
    """Whether the plan's limits are kept off its line, give or take the tolerance.

    `changes` null: no work at these stations does it.
    """

    keeps_limits = ma.fields.Boolean(required=True)
    changes = ma.fields.List(ma.fields.Nested(Change), required=True, allow_none=True)
    sentence = words()


class Work(ma.Schema):
    """The least volume to take off and fill that makes the trench pass."""

    stations = ma.fields.Integer(required=True)
    volume = number()
    basis = words()


class WantedTexts(ma.Schema):
    """As a tape or a rod shows it: the dig sheet's marks, and for the pipe marks that keep the
    same fall."""

    depth = words()
    line_to_bottom = words(nullable=True)
    rod = words(nullable=True)


class WantedAnswer(ma.Schema):
    """A station not read yet, and what each way of measuring should show there."""

    at = number()
    label = words()
    on = words()
    depth = number()
    line_to_bottom = number(nullable=True)
    rod = number(nullable=True)
    fill = number()
    marks = part(WantedTexts)
    sentence = words()


class GradeCheckAnswer(ma.Schema):
    """`to_read` goes from the outlet up, as a crew works; `next` is its first. Both are of one
    surface, and so is a `pass`: a trench that passes says nothing of the pipe in it."""

    units = words()
    verdict = words(metadata={"enum": ["pass", "fail", "more_readings"]})
    sentence = words()
    plan_fits = ma.fields.Boolean(
        required=True, metadata={"description": "False where the plan itself is a no."}
    )
    tolerance = number()
    checks = part(Checks)
    stations = parts(DugAnswer)
    runs = parts(DugRun)
    grade_runs = parts(GradeRun)
    standing_water = parts(PondAnswer)
    fall = part(FallAnswer, allow_none=True)
    as_it_lies = part(AsItLies, allow_none=True)
    work = part(Work)
    next = part(WantedAnswer, allow_none=True)
    to_read = parts(WantedAnswer)
    assumptions = parts(AssumptionAnswer)
    cautions = parts(CautionAnswer)
    warnings = parts(WarningAnswer)
