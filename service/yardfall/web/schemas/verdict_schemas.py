"""The `answer` part of a plan, for the generated contract."""

from __future__ import annotations

import marshmallow as ma

from yardfall.web.openapi.answer_fields import number, part, parts, words


class TurnsOn(ma.Schema):
    """The point in between that the line has to turn on."""

    at = number()
    limit = words()


class Pinch(ma.Schema):
    """The pair of stations that sets the spare, and the two limits that collide there."""

    upstream = number()
    downstream = number()
    limits = ma.fields.List(ma.fields.String(), required=True)
    turns_on = part(TurnsOn, allow_none=True)


class FixAnswer(ma.Schema):
    """One change that alone settles it. `from` and `to` are a number, a name or a code."""

    change = words()
    pointer = words()
    from_ = ma.fields.Raw(required=True, data_key="from")
    to = ma.fields.Raw(required=True)
    at = number(nullable=True)
    spare_after = number(nullable=True)
    trench_area = number(nullable=True)
    text = words()
    patch = ma.fields.Dict(
        required=True,
        allow_none=True,
        metadata={
            "description": "The whole change as a JSON merge patch (RFC 7396) of the request; in "
            "`fix_pair` of both changes. A branch's is for its own member of `branches`."
        },
    )


class AdviceAnswer(ma.Schema):
    """What may help, but no patch of the request says it.

    `nearest` is the one change that comes nearest where neither a fix nor a pair of them is found.
    `one_more_reading` is where to read the ground as well, `at` that station: `chance` is that of
    the answer if the ground lies there as the readings lead to expect. Both are null for others.
    `soil_start`, `soil_dip` and `soil_hump` are soil to lay or take off, which alone settles it: no
    patch holds them, for a reading is of the ground as it lies.
    """

    code = words()
    text = words()
    at = number(nullable=True)
    chance = number(nullable=True)


class RetakeAnswer(ma.Schema):
    """A reading worth taking again, by its share of the spare's variance."""

    pointer = words()
    at = number()
    label = words()
    share = number()
    chance_if_certain = number()


class ConditionAnswer(ma.Schema):
    """Something that a yes rests on: a usual value that gave way, or what water and outlet ask.

    `usual` and `taken` are in the unit of the field that `pointer` names, or a name; null where
    there is none. `accepts` states what was taken, `insists` the usual value: each a JSON merge
    patch (RFC 7396) of the request, null where there is none.
    """

    code = words()
    pointer = words()
    usual = ma.fields.Raw(required=True, allow_none=True)
    taken = ma.fields.Raw(required=True, allow_none=True)
    from_at = number(nullable=True)
    to_at = number(nullable=True)
    text = words()
    accepts = ma.fields.Dict(required=True, allow_none=True)
    insists = ma.fields.Dict(required=True, allow_none=True)


OVERALL = {
    "description": "Fall, conditions, water and outlet as one: `yes`, `conditional` (yes, on the "
    "`conditions`), `too_close` or `no`."
}


class VerdictAnswer(ma.Schema):
    """`verdict` is the fall's alone; what it comes to on the whole is `overall`.

    `spare` negative is the shortage; null where no limit on depth stands in the way. It is what is
    left with every usual value at its last; the line drawn keeps the `conditions`.
    """

    verdict = words()
    overall = words(metadata=OVERALL)
    sentence = words()
    conditions = parts(ConditionAnswer)
    fall_available = number(nullable=True)
    fall_needed = number()
    spare = number(nullable=True)
    pinch = part(Pinch)
    shape_blocks = ma.fields.Boolean(
        required=True,
        metadata={"description": "Only the wish for so few changes of grade stands in the way."},
    )
    explained = ma.fields.Boolean(
        required=True,
        metadata={
            "description": "False where the request said `explain: false`: fixes, fix_pair, "
            "advice, retake and grade_changes were not looked for."
        },
    )
    chance = number(nullable=True)
    chance_sentence = words(nullable=True)
    spare_error = number(
        nullable=True, metadata={"description": "Standard error of the spare, depth units."}
    )
    reading_error = number(
        nullable=True, metadata={"description": "Standard error of one reading, depth units."}
    )
    fixes = parts(FixAnswer)
    fix_pair = ma.fields.List(ma.fields.Nested(FixAnswer), required=True, allow_none=True)
    advice = parts(AdviceAnswer)
    retake = parts(RetakeAnswer)
