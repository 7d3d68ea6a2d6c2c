"""POST /pipe-check: an old pipe in the caller's units and words."""

from __future__ import annotations

import copy
from fractions import Fraction

import numpy as np
import pytest

from yardfall.web.openapi.examples import PIPE_CHECK


@pytest.fixture
def pipe_check(client, conforms):
    def ask(body: dict) -> dict:
        answer = client.post("/api/v1/pipe-check", json=body)
        assert answer.status_code == 200, answer.json
        conforms("POST /pipe-check", answer)
        return answer.json

    return ask


def test_the_belly_of_the_hand_worked_pipe(pipe_check) -> None:
    """The sums stand in tests/core/test_old_pipe.py."""
    found = pipe_check(PIPE_CHECK)
    assert found["verdict"] == "no"
    assert found["sentence"] == (
        "Water stands 1.5 in deep at 0+30, over 20.63 ft of pipe, held up at 0+45."
    )
    assert [point["invert"] for point in found["points"]][:2] == [98.333333, 98.125]
    assert [point["standing_water"] for point in found["points"]] == [0, 0, 1.5, 0, 0]
    assert [point["move"] for point in found["points"]] == [0, 0, 1.5, -2.25, 0]
    assert [s["falls_back"] for s in found["stretches"]] == [False, False, True, False]
    assert found["stretches"][2]["sentence"] == (
        "From 0+30 to 0+45 it falls back: it rises 1.5 in."
    )
    (belly,) = found["standing_water"]
    assert (belly["length"], belly["fills_pipe"], belly["within_error"]) == (20.625, False, False)
    assert (found["fall"], found["percent"]) == (9.5, pytest.approx(950 / 720))
    assert found["datum"] == "the elevations you gave"
    assert found["warnings"] == []
    assert {"call_before_you_dig", "between", "move", "local_rules"} <= {
        caution["code"] for caution in found["cautions"]
    }


def test_the_same_pipe_in_metres(pipe_check) -> None:
    """Each length by 0.3048, each measure by 25.4."""
    us = pipe_check(PIPE_CHECK)
    body = copy.deepcopy(PIPE_CHECK) | {"units": "si", "height": 30.48}
    for point in body["points"]:
        point["at"] *= 0.3048
        point["down"] *= 25.4
    si = pipe_check(body)
    assert si["standing_water"][0]["depth"] == pytest.approx(1.5 * 25.4, abs=1e-5)
    assert si["standing_water"][0]["length"] == pytest.approx(20.625 * 0.3048, abs=1e-5)
    assert si["percent"] == us["percent"]
    assert si["sentence"] == (
        "Water stands 38 mm deep at 0+009.14, over 6.29 m of pipe, held up at 0+013.72."
    )


def sent(*inverts: float, **more) -> dict:
    points = [{"at": 10 * k, "invert": z} for k, z in enumerate(inverts)]
    return {"units": "us", "points": points, "accuracy": {"sigma": 0.125}} | more


@pytest.mark.parametrize(
    ("body", "verdict", "sentence"),
    [
        (
            sent(10, 9.8, 9.6),
            "yes",
            "It drains by these readings: it falls all the way from 0+00 to 0+20, 2 % overall.",
        ),
        (
            sent(10, 9.95, 9.6),
            "yes",
            "It drains by these readings. From 0+00 to 0+10 it is flat: it falls 0.5 %, "
            "where 1 % is asked for. Look for silt there.",
        ),
        (
            sent(10, 9.95, 9.9),
            "yes",
            "It drains by these readings. 2 stretches are flat: they fall less than the 1 % asked "
            "for. Look for silt there.",
        ),
        (
            sent(10, 10, 9.6),
            "yes",
            "Nothing falls back by these readings, but from 0+00 to 0+10 the pipe lies level, and "
            "water stays there.",
        ),
        (
            sent(10, 9.8, 9.82, 9.6),
            "too_close",
            "Too close to call: a belly 0.2 in deep shows at 0+10, but these readings can tell "
            "none shallower than 0.3 in.",
        ),
        (
            sent(10, 9.8, 9.82, 9.6, 9.61),
            "too_close",
            "Too close to call: 2 bellies show, the deepest 0.2 in, but these readings can tell "
            "none shallower than 0.3 in.",
        ),
        (
            sent(10, 9.8, 9.9, 9.6, 9.8),
            "no",
            "Water stands in 2 places. It is deepest at 0+30: 2.4 in, over 16.67 ft of pipe.",
        ),
    ],
)
def test_what_is_said_first(body, verdict, sentence, pipe_check) -> None:
    found = pipe_check(body)
    assert (found["verdict"], found["sentence"]) == (verdict, sentence)


def test_a_belly_as_deep_as_the_pipe_fills_it(pipe_check) -> None:
    found = pipe_check(sent(10, 9, 9.5, 8, pipe={"code": "corrugated-single-4"}))
    (belly,) = found["standing_water"]
    assert belly["fills_pipe"] is True
    assert belly["sentence"].startswith("Water fills the pipe at 0+10: it stands 6 in deep,")
    assert pipe_check(sent(10, 9, 9.5, 8))["standing_water"][0]["fills_pipe"] is None


def test_what_is_left_open_is_told(pipe_check) -> None:
    points = [{"at": 0, "down": 20}, {"at": 25, "down": 24}]
    found = pipe_check({"units": "us", "points": points})
    assert found["datum"] == "the level line"
    assert [point["invert"] for point in found["points"]] == [-1.666667, -2]
    told = {one["pointer"]: (one["value"], one["source"]) for one in found["assumptions"]}
    assert told["/grade/min_percent"] == (1, "common practice, no source")
    assert told["/accuracy"][0] == 0.25
    assert found["reading_error"] == 0.25
    by_rod = {"units": "si", "points": [{"at": 0, "rod": 1.2}, {"at": 9, "rod": 1.3}]}
    assert pipe_check(by_rod)["datum"] == "the instrument"


def test_errors_that_are_not_known_are_said_to_be_so(pipe_check) -> None:
    body = sent(10, 9.8, 9.82, 9.6)
    del body["accuracy"]
    found = pipe_check(body)
    assert found["verdict"] == "no"
    assert found["least_told"] is None
    assert found["standing_water"][0]["within_error"] is None
    assert [warning["code"] for warning in found["warnings"]] == ["accuracy_not_stated"]


def test_what_cannot_move_may_leave_no_way(pipe_check) -> None:
    body = sent(10, 9.8, 9.95)
    for point in (body["points"][0], body["points"][2]):
        point["fixed"] = True
    least = pipe_check(body)["least_moves"]
    assert least["moves"] is None
    assert least["sentence"] == (
        "With what cannot be moved, no lifting or lowering gives every stretch 1 %."
    )
    flatter = pipe_check(body | {"grade": {"min_percent": 0.25}})["least_moves"]
    assert [move["sentence"] for move in flatter["moves"]] == ["Lift 0+10 by 2 1/8 in."]


@pytest.mark.parametrize(
    ("pointer", "body"),
    [
        ("/points", {"units": "us", "points": [{"at": 0, "invert": 1}]}),
        ("/points/0/ground", {"units": "us", "points": [{"at": 0, "depth": 1}] * 2}),
        ("/points/0/on", sent(10, 9) | {"points": [{"at": 0, "invert": 1, "on": "invert"}] * 2}),
        ("/points/1/at", sent(10, 9) | {"points": [{"at": 0, "invert": 1}] * 2}),
        ("/height", sent(10) | {"points": [{"at": 0, "invert": 1}, {"at": 5, "down": 1}]}),
        ("/pipe", sent(10) | {"points": [{"at": k, "down": k, "on": "pipe_top"} for k in (0, 5)]}),
        ("/fall", sent(10, 9, fall=1)),
    ],
)
def test_what_is_no_check_is_refused_where_it_stands(pointer, body, refused) -> None:
    assert refused("/pipe-check", json=body)["errors"][0]["pointer"] == pointer


@pytest.mark.parametrize("seed", range(40))
def test_what_is_lifted_and_lowered_as_told_leaves_the_grade_that_is_told(pipe_check, seed) -> None:
    """Readings moved by the marks told, as Python's fractions read them, fall as they should."""
    rng = np.random.default_rng(seed)
    points = [
        {"at": 10.0 * i, "invert": round(100 - 0.08 * i + rng.uniform(-0.3, 0.3), 3)}
        for i in range(rng.integers(3, 9))
    ]
    body = {"units": "us", "points": points, "grade": {"min_percent": 1}}
    moves = pipe_check(body)["least_moves"]["moves"]
    for move in moves:
        *whole, unit = move["mark"].split()
        inches = float(sum(Fraction(part) for part in whole))
        sign = 1 if move["sentence"].startswith("Lift") else -1
        assert (unit, inches * 8 % 1) == ("in", 0)
        assert move["move"] == sign * inches
        (point,) = [one for one in points if one["at"] == move["at"]]
        point["invert"] += sign * inches / 12
    falls = -np.diff([one["invert"] for one in points])
    assert (falls >= 0.01 * 10 - 1e-6).all()
