"""From a checked body of a check to its answer."""

from __future__ import annotations

from typing import Any

from yardfall.core.asbuilt.old_pipe import check_pipe
from yardfall.store.uploads.rasters import RasterStore
from yardfall.use_cases import workflow
from yardfall.web.checks.grade_check_answer import check_answer
from yardfall.web.checks.parse_grade_check import read_check
from yardfall.web.checks.parse_pipe_check import read_pipe_check
from yardfall.web.checks.pipe_check_answer import pipe_check_answer
from yardfall.web.plan.handlers import gaps_told_in


def answer_grade_check(body: dict[str, Any], rasters: RasterStore) -> dict[str, Any]:
    """The answer to a checked grade-check body. Raises InputError."""
    read = read_check(body)
    with gaps_told_in(read.plan.units, "/plan"):
        check = workflow.check_grade(read.plan.request, read.as_dug, rasters)
    return check_answer(check, read)


def answer_pipe_check(body: dict[str, Any]) -> dict[str, Any]:
    """The answer to a checked pipe-check body. Raises InputError."""
    read = read_pipe_check(body)
    return pipe_check_answer(check_pipe(read.old, read.units.fine_step_m), read)
