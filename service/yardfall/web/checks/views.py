"""The calls about what stands: a trench held against its plan, plans side by side, an old pipe."""

from __future__ import annotations

from typing import Any

from flask import Response, jsonify

from yardfall.web.checks.comparison import answer_comparison
from yardfall.web.checks.comparison_schemas import Comparison, ComparisonBody
from yardfall.web.checks.grade_check_schemas import GradeCheckAnswer, GradeCheckBody
from yardfall.web.checks.handlers import answer_grade_check, answer_pipe_check
from yardfall.web.checks.pipe_check_schemas import PipeCheckAnswer, PipeCheckBody
from yardfall.web.http.parsing import Calls
from yardfall.web.openapi import examples
from yardfall.web.plan.views import kept_rasters

checking = Calls("checking", __name__, description="Check a trench or an old pipe; compare plans")


@checking.post("/grade-check")
@checking.arguments(GradeCheckBody(), example=examples.GRADE_CHECK)
@checking.response(200, GradeCheckAnswer)
def grade_check(body: dict[str, Any]) -> Response:
    """A trench held against its plan: what to shave or fill, and what to read next.

    The plan goes along in every call and nothing is kept, so that the same call always gets the
    same answer. A "fail" is an answer, status 200.
    """
    return jsonify(answer_grade_check(body, kept_rasters()))


@checking.post("/compare")
@checking.arguments(ComparisonBody(), example=examples.COMPARE)
@checking.response(200, Comparison)
def compare(body: dict[str, Any]) -> Response:
    """Plans side by side: another pipe, outlet or route. Each counts its branches in."""
    return jsonify(answer_comparison(body, kept_rasters()))


@checking.post("/pipe-check")
@checking.arguments(PipeCheckBody(), example=examples.PIPE_CHECK)
@checking.response(200, PipeCheckAnswer)
def pipe_check(body: dict[str, Any]) -> Response:
    """A pipe that lies already, by readings along it: whether it drains, and what would mend it.

    Where it falls back, where water stands, what grade there is, and the least lifting or lowering
    that makes it fall. It needs no plan.
    """
    return jsonify(answer_pipe_check(body))
