"""A line that is too close to call: where to read the ground as well, and what comes of it."""

from __future__ import annotations

import copy

import numpy as np
import pytest
from sixty_feet import sixty_feet


def line(elevations: list[float]) -> dict:
    return sixty_feet(elevations, {"instrument": "rotary_laser"})


def advised(answer: dict) -> dict | None:
    found = [one for one in answer["answer"]["advice"] if one["code"] == "one_more_reading"]
    return found[0] if found else None


def read_there(body: dict, at: float) -> dict:
    """The same with the ground read midway, where it lies between its neighbours."""
    more = copy.deepcopy(body)
    points = more["ground"]["points"]
    x, z = ([one[name] for one in points] for name in ("at", "elevation"))
    points.append({"at": at, "elevation": round(float(np.interp(at, x, z)), 4)})
    points.sort(key=lambda one: one["at"])
    return more


def test_where_no_reading_again_settles_it_a_further_one_is_named(plan) -> None:
    """The error of no reading matters: what lies between them does."""
    body = line([99.97, 99.62, 99.47, 99.22])
    answer = plan(body)
    assert (answer["answer"]["overall"], answer["answer"]["retake"]) == ("too_close", [])
    told = advised(answer)
    assert told["at"] == 30
    assert told["text"].startswith("Read the ground at 0+30 as well: if it lies there as")
    assert "rises from about 90 % to about 96 %" in told["text"]
    again = plan(read_there(body, 30))["answer"]
    assert again["overall"] == "yes"
    assert told["chance"] == pytest.approx(again["chance"], abs=0.015)
    for other in (10, 50):  # no other gap settles more
        assert plan(read_there(body, other))["answer"]["chance"] < again["chance"]


def test_the_chance_told_is_that_of_the_plan_with_the_reading(plan) -> None:
    """Drawn anew with the reading among the others, lawns weighed anew: to 2 points."""
    rng, met = np.random.default_rng(0), 0
    for _ in range(30):
        count = int(rng.integers(3, 7))
        fall = np.linspace(0, 0.75, count) + rng.normal(0, 0.06, count)
        body = line([round(float(100 - one), 3) for one in fall])
        told = advised(plan(body))
        if told is not None:
            met += 1
            again = plan(read_there(body, told["at"]))["answer"]
            assert told["chance"] == pytest.approx(again["chance"], abs=0.02)
    assert met >= 5


def test_straight_ground_asks_for_no_more_readings(plan) -> None:
    body = line([99.97, 99.62, 99.47, 99.22]) | {"accuracy": {"sigma": 0.5, "lawn": "straight"}}
    answer = plan(body)
    assert answer["answer"]["overall"] == "too_close"
    assert advised(answer) is None
