"""The contract's names of limits are sent as they are, and read as the trade says them."""

from __future__ import annotations

import re
from pathlib import Path

from yardfall.sentences.answer.limits import LIMIT_WORDS, limit_words

PAGE = Path(__file__).resolve().parents[3] / "frontend" / "model" / "wording" / "limits.js"


def test_page_and_planner_have_one_table() -> None:
    found = dict(re.findall(r'^  "([^"]+)": "([^"]+)",$', PAGE.read_text("utf-8"), re.MULTILINE))
    assert found == LIMIT_WORDS


def test_every_limit_of_a_plan_but_named_things_has_words() -> None:
    by = ("cover", "depth", "invert")
    ends = {f"start {one}" for one in by} | {f"outlet {one}" for one in by[1:]}
    assert set(LIMIT_WORDS) == {"least cover", "greatest depth", "ground surface"} | ends
    assert limit_words("least cover") == "minimum cover"
    assert limit_words("over the gas line") == "over the gas line"
