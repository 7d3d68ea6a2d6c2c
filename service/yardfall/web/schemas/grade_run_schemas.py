"""One grade of a line, and how to set it without a laser."""

from __future__ import annotations

import marshmallow as ma

from yardfall.web.openapi.answer_fields import number, part, parts, words


class LevelBlockAnswer(ma.Schema):
    """What to put under the low end of a level, so that its bubble is in the middle at grade."""

    level = number()
    tool = words()
    block = number()
    mark = words()
    text = words()


class BoardAnswer(ma.Schema):
    """A straight board laid along the trench bottom, and the most that may show under it."""

    length = number()
    tool = words()
    gap = number()
    mark = words()
    text = words()


class GradeRun(ma.Schema):
    """One grade. No block and no board where it does not fall."""

    from_ = number(data_key="from")
    to = number()
    percent = number()
    fall = number()
    level_blocks = parts(LevelBlockAnswer)
    board = part(BoardAnswer, allow_none=True)
