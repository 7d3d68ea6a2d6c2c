"""A number is a JSON number, and a name that is not known is refused, at every level."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from typing import Any

import pytest

from yardfall.web.schemas.plan_schemas import BranchBody, PlanBody

LINE: dict[str, Any] = {
    "route": {"length": 52},
    "ground": {"kind": "level_line", "readings": [{"at": 0, "down": 9}, {"at": 52, "down": 22}]},
    "pipe": {"code": "corrugated-single-4", "min_percent": 1, "wall": 0.3, "n": 0.02},
    "start": {"cover": 8, "shallowest_cover": 6},
    "grade": {"min_percent": 1.25, "max_percent": 9, "fall_step": 1, "max_breaks": 2},
    "limits": {"min_cover": 6, "max_depth": 36, "outlet_taper": 13, "bedding": 1},
    "stations": {"every": 13, "at": [5, 7.5]},
    "covers": [{"from": 30, "to": 34, "cover": 4, "what": "the walk"}],
    "fills": [{"from": 1, "full_from": 2, "full_to": 4, "to": 6, "depth": 1, "width": 5}],
    "crossings": [{"at": 20, "what": "gas", "top_depth": 24, "size": 1, "clearance": 12}],
    "inflows": [
        {"kind": "roof", "at": 0, "area": 900, "rain_rate": 4, "duration": 5, "wall_area": 50},
        {"kind": "yard", "area": 500, "rain_rate": 4, "coefficient": 0.3, "return_period": 10},
        {"kind": "pump", "rate": 20},
    ],
}
WHOLE: dict[str, Any] = LINE | {
    "units": "us",
    "outlet": {"kind": "pop_up", "depth": {"min": 7, "max": 10, "prefer": 8}},
    "accuracy": {"sigma": 0.2, "common": 0.1},
    "head": {"openings": [{"what": "sill", "elevation": 1, "at": 0}], "flow": 10, "margin": 2},
    "pump_leg": {"rate": 20, "pump_head": 15, "lift": 8, "length": 12, "inside": 1.5, "c": 150},
    "dry_well": {
        "area": 900,
        "rain_depth": 1,
        "duration": 60,
        "soak_rate": 2,
        "stone_depth": 36,
        "voids": 0.4,
    },
    "explain": True,
    "supply": {"piece_length": 20, "waste_percent": 5, "swell_percent": 25, "by_hand": 4}
    | {"by_machine": 60, "depth_classes": [18, 36]},
    "prices": {"currency": "USD", "pipe_piece": 60, "bedding": 50, "haul": 30, "fill": 30}
    | {"sod": 1, "hour_by_hand": 40, "parts": {"wye": 9}},
    "branches": [
        copy.deepcopy(LINE)
        | {"name": "side yard", "joins_at": 26, "drop": 1}
        | {"head": {"openings": [{"what": "grate", "elevation": 1, "at": 2}]}}
    ],
    "paper": {
        "title": "Elm Street",
        "page": "a4",
        "clearance": 2,
        "beneath": {
            "site_plan": "0" * 32,
            "scale": {"points": [[0, 0], [300, 400]], "distance": 100},
            "turn": 17,
            "origin": [0, 400],
        },
    },
}
"""A request with every part that a plan takes."""


def places(part: Any, pointer: str = "") -> Iterator[tuple[str, Any]]:
    """Every value of a request with its pointer."""
    yield pointer, part
    if isinstance(part, dict | list):
        for key, value in part.items() if isinstance(part, dict) else enumerate(part):
            yield from places(value, f"{pointer}/{key}")


NUMBERS = [p for p, value in places(WHOLE) if type(value) in (int, float)]
# As they stand in the body, since not all of them are JSON that Python would write.
NO_NUMBERS = ['"5"', "true", "null", "NaN", "-NaN", "Infinity", "-Infinity", "1e999", "-1e999"]
NO_NUMBERS += ["1" + "0" * 400, "-1" + "0" * 400, "[5]", '{"value": 5}', '""']


def test_the_whole_request_is_taken(plan) -> None:
    assert plan(WHOLE)["units"] == "us"
    assert set(WHOLE) == set(PlanBody().fields), "WHOLE shows every part, so that all are tried"
    assert set(WHOLE["branches"][0]) | {"branches"} == set(BranchBody().fields)


@pytest.mark.parametrize("value", ["true", 1, 0, "yes", None])
def test_yes_or_no_is_a_json_boolean(value: object, changed, refused) -> None:
    found = refused("/plan", json=changed("/explain", value))["errors"]
    assert [error["pointer"] for error in found] == ["/explain"]


@pytest.mark.parametrize("pointer", NUMBERS)
def test_numbers_are_json_numbers(pointer: str, changed, refused) -> None:
    body = json.dumps(changed(pointer, "@", WHOLE))
    for text in NO_NUMBERS:
        if text == "-NaN":  # no JSON, not even Python's
            refused("/plan", 400, data=body.replace('"@"', text), content_type="application/json")
            continue
        found = refused("/plan", data=body.replace('"@"', text), content_type="application/json")[
            "errors"
        ]
        assert [error["pointer"] for error in found] == [pointer], text


def test_a_whole_number_may_be_written_as_one(changed, plan) -> None:
    """52 and 52.0 are one JSON number; 5.2e1 is another way to write it."""
    answers = [plan(changed("/route/length", length)) for length in (52, 52.0, 5.2e1)]
    assert answers[0] == answers[1] == answers[2]


@pytest.mark.parametrize("path", ["/plan", "/profile"])
@pytest.mark.parametrize(
    "name",
    [
        *("level_line", "rod", "elevations", "slopes", "steps", "length_and_drop"),
        *("spots", "raster", "WHOLE"),
    ],
)
def test_unknown_fields_are_refused_by_name(name: str, path: str, examples, refused) -> None:
    body = WHOLE if name == "WHOLE" else examples[name]
    if path == "/profile":
        body = {key: body[key] for key in ("units", "route", "ground")}
    objects = [pointer for pointer, part in places(body) if isinstance(part, dict)]
    assert len(objects) >= 3
    for pointer in objects:
        surplus = copy.deepcopy(body)
        part: Any = surplus
        for step in pointer.split("/")[1:]:
            part = part[int(step)] if isinstance(part, list) else part[step]
        part["colour"] = "blue"
        (error,) = refused(path, json=surplus)["errors"]
        assert error["pointer"] == f"{pointer}/colour"
        assert "'colour'" in error["detail"]


def test_a_name_with_slash_and_tilde_is_escaped(yard_request, refused) -> None:
    """RFC 6901, section 3: ~ is ~0 and / is ~1."""
    (error,) = refused("/plan", json=yard_request | {"a/b~c": 1})["errors"]
    assert error["pointer"] == "/a~1b~0c"


@pytest.mark.parametrize("path", ["/plan", "/profile"])
def test_units_have_no_default(path: str, yard_request, refused) -> None:
    keys = ("route", "ground") if path == "/profile" else set(yard_request) - {"units"}
    found = refused(path, json={key: yard_request[key] for key in keys})["errors"]
    assert [error["pointer"] for error in found] == ["/units"]
