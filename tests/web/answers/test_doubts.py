"""What is hardly meant draws a question, in plain words at its place; nothing is refused for it."""

from __future__ import annotations

import copy

import pytest
from level import level


def told(answer: dict) -> dict[str, tuple[str, str]]:
    return {one["code"]: (one["pointer"], one["text"]) for one in answer["warnings"]}


def test_rods_in_inches_where_feet_are_taken(plan, examples) -> None:
    """The book's fall of 1.3 ft becomes 15.6 ft, and every reading between likewise."""
    body = copy.deepcopy(examples["rod"])
    assert told(plan(body)) == {}
    for shot in body["ground"]["shots"]:
        shot["rod"] = round(shot["rod"] * 12, 1)
    assert told(plan(body | {"ground": body["ground"] | {"rod_unit": "in"}})) == {}
    found = told(plan(body))
    pointer, text = found["ground_steep"]
    assert pointer == "/ground"
    assert "Are the units right" in text
    assert "grade_steep" not in found  # said once


def test_metres_and_millimetres_sent_as_feet_and_inches(plan, client) -> None:
    """An ordinary SI request: 900 mm of fall in 20 m. In us it is 900 in, 75 ft, in 20 ft."""
    body = {
        "units": "si",
        "route": {"length": 20},
        "ground": {
            "kind": "level_line",
            "readings": [{"at": 0, "down": 200}, {"at": 10, "down": 600}, {"at": 20, "down": 1100}],
        },
        "pipe": {"outside": 110, "inside": 104, "n": 0.01},
        "start": {"cover": 200},
        "outlet": {"kind": "daylight"},
    }
    assert set(told(plan(body))) == {"string_sags"}
    found = told(plan(body | {"units": "us"}))
    assert set(found) >= {"ground_steep", "pipe_size_unlikely"}
    assert found["pipe_size_unlikely"][0] == "/pipe/outside"
    assert "110 in across" in found["pipe_size_unlikely"][1]
    water = {
        "units": "us",
        "pipe": body["pipe"],
        "grade": {"percent": 1},
        "inflows": [{"kind": "pump", "rate": 10}],
    }
    assert "pipe_size_unlikely" in told(client.post("/api/v1/flow", json=water).json)


def test_a_pipe_that_lies_level_is_told(plan) -> None:
    found = plan(level())
    assert found["answer"]["verdict"] == "yes"
    pointer, text = told(found)["lies_level"]
    assert pointer == "/grade/min_percent"
    assert text.startswith("From 0+00 to 0+20 the pipe lies level.")
    assert text.endswith("give it 1 % at least.")
    assert "lies_level" not in told(plan(level(grade={"min_percent": 0.5})))


def test_a_grade_sent_as_another_way_says_it_is_told(plan, client, refused) -> None:
    """1/8 in per ft is 1/96, 1.0417 %; 1 in 40 is 2.5 %; 1 in 80 is 1.25 %."""
    pointer, text = told(plan(level(grade={"min_percent": 0.125})))["grade_in_inches"]
    assert pointer == "/grade/min_percent"
    assert text == (
        "A grade is taken in percent, and 0.125 % hardly falls at all. If 1/8 in per ft was "
        "meant, give 1.0417 %."
    )
    found = told(plan(level(grade={"min_percent": 0.0125, "max_percent": 40})))
    assert "fall of 0.0125 per unit of length was meant, give 1.25 %" in found["grade_as_share"][1]
    assert found["grade_in_ratio"][0] == "/grade/max_percent"
    assert "If 1 : 40 was meant, give 2.5 %" in found["grade_in_ratio"][1]
    own = {"outside": 4.2, "inside": 4, "n": 0.01, "min_percent": 0.25}
    assert told(plan(level(pipe=own, grade={})))["grade_in_inches"][0] == "/pipe/min_percent"
    ordinary = told(plan(level(grade={"min_percent": 0.3, "max_percent": 30})))
    assert not [code for code in ordinary if code.startswith("grade_")]
    (error,) = refused("/plan", json=level(grade={"min_percent": 80}))["errors"]
    assert "1 : 80 is 1.25" in error["detail"]
    water = {
        "units": "us",
        "pipe": {"code": "pvc-sdr35-4"},
        "grade": {"percent": 0.25},
        "inflows": [{"kind": "pump", "rate": 10}],
    }
    assert told(client.post("/api/v1/flow", json=water).json)["grade_in_inches"][0] == (
        "/grade/percent"
    )


@pytest.mark.parametrize("where", ["", "/branches/0"])
def test_a_trench_is_no_narrower_than_its_pipe(plan, refused, where: str) -> None:
    """The pipe is 4.215 in across outside (ASTM D3034, SDR 35, 4 in)."""
    body = level(limits={"trench_width": 4})
    if where:
        branch = {key: value for key, value in level().items() if key not in ("units", "outlet")}
        branch |= {"name": "side", "joins_at": 10, "limits": {"trench_width": 4}}
        body = level(grade={"min_percent": 1}, branches=[branch])
    (error,) = refused("/plan", json=body)["errors"]
    assert error["pointer"] == f"{where}/limits/trench_width"
    assert "at least 4.215 in wide" in error["detail"]
    assert plan(level(limits={"trench_width": 4.215}))["trench"]["width"] == 4.215


def book(*last: dict) -> dict:
    shots = [
        {"sight": "BS", "rod": 4.32, "on": "sill"},
        {"sight": "IS", "rod": 5.1, "at": 0},
        {"sight": "IS", "rod": 6.4, "at": 40},
        *last,
    ]
    ground = {"kind": "rod", "benchmark": {"name": "sill", "elevation": 100}, "shots": shots}
    return level(route={"length": 40}, ground=ground)


def test_a_closing_on_a_mistyped_name_is_asked_about(plan) -> None:
    found = plan(book({"sight": "FS", "rod": 4.32, "on": "tree"}))
    assert found["closure"] is None
    assert told(found)["ends_on_unknown"] == (
        "/ground/shots/3/on",
        "The notes end on 'tree', which is no known point here, so nothing shows whether they "
        "close; did you mean 'sill'?",
    )
    assert told(plan(book()))["not_closed"][0] == "/ground/shots"


def test_any_number_of_decimals_is_taken(plan) -> None:
    found = plan(book({"sight": "FS", "rod": 4.33, "on": "sill"}, {"sight": "BS", "rod": 1e-308}))
    assert "not_closed" in told(found)


def test_a_misclosure_is_held_to_what_the_rod_was_read_to(plan) -> None:
    """0.01 ft is the rounding of two readings to 0.01 ft; 0.02 ft is 0.24 in, over 0.12 in.

    The instrument's own error, 1/16 in taken as 1.6 mm on each of two sights, is 0.09 in.
    """
    found = plan(book({"sight": "FS", "rod": 4.33, "on": "sill"}))
    assert not {"does_not_close", "not_closed"} & set(told(found))
    assert found["closure"]["within"] is True
    found = plan(book({"sight": "FS", "rod": 4.34, "on": "sill"}))
    assert found["closure"]["within"] is False
    assert (
        "by 0.2 in; a sound run of this length misses by 0.1 in" in told(found)["does_not_close"][1]
    )
    finely = plan(book({"sight": "FS", "rod": 4.3293, "on": "sill"}))  # read to 0.0001 ft
    text = told(finely)["does_not_close"][1]
    assert "by 0.11 in; a sound run of this length misses by 0.09 in" in text
