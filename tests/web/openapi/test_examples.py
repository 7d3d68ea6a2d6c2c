"""Every committed example is answered, and its answer keeps to the committed contract."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from schemathesis.core.failures import Failure, FailureGroup

EXAMPLES = Path(__file__).resolve().parents[3] / "openapi" / "examples"
KINDS = ["elevations", "length_and_drop", "level_line", "raster", "rod", "slopes", "spots", "steps"]
NAMES = sorted([*KINDS, "raster_and_readings"])
WARNED = {"length_and_drop": ["even_slopes_taken"], "level_line": ["string_sags"]}
"""What an example is warned of, by its kind."""


def test_one_example_for_each_kind_of_ground(examples) -> None:
    assert sorted(examples) == NAMES
    assert {name: body["ground"]["kind"] for name, body in examples.items()} == {
        name: name.partition("_and_r")[0] for name in NAMES
    }


@pytest.fixture
def example(examples, tiff, upload):
    """A request by its kind; the raster's placeholder is replaced by one that is kept."""

    def pick(kind: str) -> dict:
        body = examples[kind]
        if body["ground"]["kind"] == "raster":
            body["ground"]["raster"] = upload(tiff()).json["id"]
        return body

    return pick


@pytest.mark.parametrize("kind", NAMES)
def test_each_example_is_planned(kind: str, example, plan) -> None:
    answer = plan(example(kind))
    assert answer["units"] == example(kind)["units"]
    assert [one["code"] for one in answer["warnings"]] == WARNED.get(kind, [])
    first, last = answer["stations"][0], answer["stations"][-1]
    assert (first["at"], last["at"]) == (0, answer["length"])
    assert "start" in first["why"]
    assert "outlet" in last["why"]
    inverts = [station["invert"] for station in answer["stations"]]
    assert inverts == sorted(inverts, reverse=True), "no station lies below a later one"


@pytest.mark.parametrize("kind", NAMES)
def test_each_example_has_a_profile(kind: str, example, client, conforms) -> None:
    wanted = {"units", "route", "ground", "stations"}
    body = {key: value for key, value in example(kind).items() if key in wanted}
    answer = client.post("/api/v1/profile", json=body)
    assert answer.status_code == 200
    conforms("POST /profile", answer)
    profile = answer.json
    grounds = profile["profile"]["ground"]
    assert profile["low_point"]["ground"] == min(grounds)
    assert profile["high_point"]["ground"] == max(grounds)
    depth_per_length = 12 if body["units"] == "us" else 1000
    assert profile["overall_fall"] == pytest.approx(
        (grounds[0] - grounds[-1]) * depth_per_length, abs=2e-3
    )


@pytest.mark.parametrize("call", ["flow", "grade_check", "compare", "pipe_check"])
def test_each_other_call_has_an_example(call: str, client, conforms) -> None:
    path = EXAMPLES / "calls" / f"{call}.json"
    answer = client.post(f"/api/v1/{call.replace('_', '-')}", json=json.loads(path.read_text()))
    assert answer.status_code == 200
    conforms(f"POST /{call.replace('_', '-')}", answer)


def test_a_no_is_an_answer(changed, plan) -> None:
    answer = plan(changed("/outlet/depth", {"max": 4}))
    assert answer["answer"]["verdict"] == "no"
    assert answer["answer"]["spare"] < 0
    assert answer["answer"]["sentence"].startswith("No:")


def test_an_answer_off_the_contract_is_caught(client, conforms, yard_request) -> None:
    """The check above can fail: a missing field, a wrong type and a surplus field are seen."""
    sound = client.post("/api/v1/plan", json=yard_request)
    for change in ({"datum": 5}, {"surplus": 1}, {"datum": ...}):
        body = sound.json | change
        sound.set_data(json.dumps({key: value for key, value in body.items() if value is not ...}))
        with pytest.raises((Failure, FailureGroup)):
            conforms("POST /plan", sound)
