"""`explain: false` leaves out what would mend a plan, and nothing else changes."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

LEFT_OUT = ("fixes", "fix_pair", "advice", "retake", "explained")


def told(answer: dict[str, Any]) -> dict[str, Any]:
    """An answer without what `explain` is about."""
    verdict = {k: v for k, v in answer["answer"].items() if k not in LEFT_OUT}
    rest = {k: v for k, v in answer.items() if k not in ("grade_changes", "branches")}
    return rest | {"answer": verdict, "branches": [told(b) for b in answer["branches"]]}


@pytest.mark.parametrize("last_down", [22, 19, 18])
@pytest.mark.parametrize("shape", ["straight", "least_dig"])
def test_line_verdict_and_chance_are_the_same(
    plan: Callable, changed: Callable, last_down: float, shape: str
) -> None:
    request = changed("/ground/readings/4/down", last_down)
    request = changed("/grade", {"shape": shape}, request)
    full = plan(request)
    brief = plan(request | {"explain": False})
    assert told(brief) == told(full)
    assert full["answer"]["explained"] is True
    assert brief["answer"]["explained"] is False
    assert (brief["answer"]["fixes"], brief["answer"]["fix_pair"]) == ([], None)
    assert brief["answer"]["retake"] == []
    assert brief["grade_changes"] == []
    mends = full["answer"]["fixes"] or full["answer"]["fix_pair"]
    assert bool(mends) == (full["answer"]["verdict"] != "yes")


def test_branches_are_brief_with_their_line(plan: Callable, yard_request: dict) -> None:
    branch = {k: yard_request[k] for k in ("route", "ground", "pipe", "start", "limits")}
    request = yard_request | {"branches": [branch | {"name": "side", "joins_at": 39}]}
    brief = plan(request | {"explain": False})
    assert not any(branch["answer"]["explained"] for branch in brief["branches"])
    assert told(brief) == told(plan(request))


@pytest.mark.parametrize("value", [1, "false", None])
def test_it_is_true_or_false(refused: Callable, yard_request: dict, value: Any) -> None:
    problem = refused("/plan", json=yard_request | {"explain": value})
    assert problem["errors"][0]["pointer"] == "/explain"
