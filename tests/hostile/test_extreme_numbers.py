"""Numbers that no ruler shows, typed anywhere: an answer or a sentence, never a 500."""

from __future__ import annotations

import copy
import json
import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

EXAMPLES = Path(__file__).resolve().parents[2] / "openapi" / "examples"
EXTREMES = (5e-324, -5e-324, 1e-300, 1e300, -1e300, 2**64, 10**30, 1e6, -1e6, 0, -1)
BODIES = {
    f"plan {path.stem}": ("plan", path)
    for path in sorted(EXAMPLES.glob("*.json"))
    if path.stem != "raster"
}
BODIES |= {
    path.stem: (path.stem.replace("_", "-"), path)
    for path in sorted((EXAMPLES / "calls").glob("*.json"))
}
BODIES["reach"] = ("reach", EXAMPLES / "reach" / "spots.json")


def leaves(value: Any, path: tuple = ()) -> Iterator[tuple]:
    """The way to every number of a body."""
    if isinstance(value, dict | list):
        for step, part in value.items() if isinstance(value, dict) else enumerate(value):
            yield from leaves(part, (*path, step))
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield path


def put(body: dict, path: tuple, value: Any) -> dict:
    changed = copy.deepcopy(body)
    part: Any = changed
    for step in path[:-1]:
        part = part[step]
    part[path[-1]] = value
    return changed


def try_all(client, call: str, body: dict, most: int) -> None:
    places = list(leaves(body))
    random.Random(1).shuffle(places)
    for path in places[:most]:
        for value in EXTREMES:
            answer = client.post(f"/api/v1/{call}", json=put(body, path, value))
            assert answer.status_code < 500, (call, path, value)


@pytest.mark.parametrize("name", BODIES)
def test_extremes_in_some_places(client, name) -> None:
    call, path = BODIES[name]
    try_all(client, call, json.loads(path.read_text("utf-8")), 6)


@pytest.mark.long
@pytest.mark.parametrize("name", BODIES)
def test_extremes_in_every_place(client, name) -> None:
    call, path = BODIES[name]
    try_all(client, call, json.loads(path.read_text("utf-8")), 10_000)


WHOLE_PLANS = Path(__file__).resolve().parents[2] / "fixtures" / "whole_plans"


def fields_once() -> Iterator[tuple[dict, tuple]]:
    """Each number that a plan can hold, once, in a plan that holds it."""
    seen = set()
    for path in sorted(WHOLE_PLANS.glob("*.json")):
        if path.stem == "raster":  # there is none to plan on
            continue
        body = json.loads(path.read_text("utf-8"))
        for place in leaves(body):
            field = tuple(0 if isinstance(step, int) else step for step in place)
            if field not in seen:
                seen.add(field)
                yield body, place


@pytest.mark.parametrize("value", [5e-324, pytest.param(1e300, marks=pytest.mark.long)])
def test_an_extreme_in_every_field_of_a_plan(client, value) -> None:
    """So slow a dig that its pace was nothing in SI, and hours were divided by it: once a 500."""
    tried = 0
    for body, place in fields_once():
        answer = client.post("/api/v1/plan", json=put(body, place, value))
        assert answer.status_code < 500, (place, value)
        tried += 1
    assert tried > 150


def test_a_length_without_meaning_is_told_so(client, changed) -> None:
    answer = client.post("/api/v1/plan", json=changed("/route/length", 1e300))
    assert answer.status_code == 422
    assert "at most 100,000" in answer.json["detail"]


@pytest.mark.parametrize("point", [[0, 1e6], [1e6, 0], [-1e8, 1e8], [181, 0], [0, 90.5]])
def test_a_start_far_off_the_earth(client, yard, point) -> None:
    body = yard(crs="OGC:CRS84", start={"point": point, "cover": 200})
    answer = client.post("/api/v1/reach", json=body)
    assert answer.status_code == 422
    assert answer.json["errors"][0]["pointer"] == "/start/point"
    assert "Longitude runs from -180" in answer.json["detail"]


@pytest.mark.parametrize("lengths", [(0.5, 20), (20, 0.5), (0.5,), (0.5, 20, 3, 9)])
def test_steps_none_of_which_is_like_another(client, examples, lengths) -> None:
    """Found by schemathesis: uphill by two steps of unlike boards, once a 500."""
    body = examples["steps"]
    body["ground"]["steps"] = [{"length": length, "drop": -30} for length in lengths]
    body["route"] = {"length": sum(lengths)}
    answer = client.post("/api/v1/plan", json=body)
    assert answer.status_code == 200, answer.json
    assert "runs_uphill" in [one["code"] for one in answer.json["warnings"]]
