"""A no that neither one change nor two mend: what comes nearest, proven by asking it."""

from __future__ import annotations

import re

import pytest


@pytest.fixture
def to_a_curb(changed) -> dict:
    """A line that comes out far too deep at a curb, where no other outlet is offered alone."""
    body = changed("/outlet", {"kind": "curb", "depth": {"min": 2, "max": 4}})
    body = changed("/limits", {"min_cover": 6, "max_depth": 20}, body)
    body["ground"]["readings"][-1]["down"] = 1
    return body


def test_the_nearest_change_leaves_what_it_says(plan, to_a_curb) -> None:
    answer = plan(to_a_curb)["answer"]
    assert (answer["verdict"], answer["fixes"], answer["fix_pair"]) == ("no", [], None)
    first = answer["advice"][0]
    assert first["code"] == "nearest"
    grade, short = re.search(
        r"minimum grade of ([\d.]+) %.* the line is ([\d.]+) in short", first["text"]
    ).groups()
    again = plan(to_a_curb | {"grade": to_a_curb["grade"] | {"min_percent": float(grade)}})
    assert again["answer"]["verdict"] == "no"
    assert again["answer"]["spare"] == pytest.approx(-float(short), abs=0.051)
    assert again["answer"]["spare"] > answer["spare"]


def test_nothing_is_nearest_where_something_mends_it(plan, changed) -> None:
    answer = plan(changed("/outlet/depth", {"max": 4}))["answer"]
    assert answer["verdict"] == "no"
    assert answer["fixes"] or answer["fix_pair"]
    assert "nearest" not in [one["code"] for one in answer["advice"]]
