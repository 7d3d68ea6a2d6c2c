"""What an answer takes for granted of ground that nobody measured, over which stretch."""

from __future__ import annotations

from typing import Any

import pytest

from yardfall.core.units import US
from yardfall.use_cases import workflow
from yardfall.web.answers.even_slope_answer import even_slope_condition
from yardfall.web.parse.parse_plan import read_plan
from yardfall.web.schemas.plan_schemas import PlanBody


@pytest.mark.parametrize(
    ("ground", "words"),
    [
        ({"of": "ground", "drop": 26}, "one even slope, with 26 in of drop"),
        ({"of": "ground", "drop": 26, "hump": {"at": 30, "height": 2}}, "measured at 0+30 alone"),
        ({"of": "pipe", "drop": 26}, "not the ground above it"),
    ],
)
def test_the_stretch_and_the_words(ground: dict[str, Any], words: str, app) -> None:
    pipe = ground["of"] == "pipe"
    body = {
        "units": "us",
        "route": {"length": 80},
        "ground": {"kind": "length_and_drop"} | ground,
        "pipe": {"code": "pvc-sdr35-4"},
        "start": {"invert": 0} if pipe else {"cover": 6},
        "outlet": {"kind": "tie_in"} if pipe else {"kind": "pop_up"},
    }
    read = read_plan(PlanBody().load(body))
    tree = workflow.plan(read.request, app.extensions["rasters"])
    told = even_slope_condition(tree.plan, US)
    assert told is not None
    assert (told["pointer"], told["from_at"], told["to_at"]) == ("/ground", 0, 80)
    assert words in told["text"]


def test_none_where_the_ground_was_measured(app, yard_request) -> None:
    read = read_plan(PlanBody().load(yard_request))
    assert (
        even_slope_condition(workflow.plan(read.request, app.extensions["rasters"]).plan, US)
        is None
    )
