"""The call that searches a yard."""

from __future__ import annotations

from typing import Any

from flask import Response, jsonify

from yardfall.store.uploads.rasters import RasterStore
from yardfall.use_cases.reach.reach import find_reach
from yardfall.web.http.parsing import Calls
from yardfall.web.openapi import examples
from yardfall.web.plan.handlers import gaps_told_in
from yardfall.web.plan.views import kept_rasters
from yardfall.web.reach.parse_reach import read_reach
from yardfall.web.reach.reach_answer import reach_answer
from yardfall.web.reach.reach_schemas import ReachAnswer, ReachBody

searching = Calls("searching", __name__, description="Search a yard")


@searching.post("/reach")
@searching.arguments(ReachBody(), example=examples.REACH)
@searching.response(200, ReachAnswer)
def reach(body: dict[str, Any]) -> Response:
    """Every place where gravity can bring this pipe out, and the best routes there."""
    return jsonify(answer_reach(body, kept_rasters()))


def answer_reach(body: dict[str, Any], rasters: RasterStore) -> dict[str, Any]:
    """The answer to a checked reach body. Raises InputError."""
    read = read_reach(body)
    with gaps_told_in(read.units):
        return reach_answer(find_reach(read.request, rasters), read)
