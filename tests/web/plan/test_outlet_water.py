"""`outlet.water_level` by the call: what backs up, where water comes out, what is refused."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from patio import patio

from yardfall.core.units import INCH_M, US

Planner = Callable[[dict], dict[str, Any]]
EXAMPLES = Path(__file__).resolve().parents[3] / "openapi" / "examples"
WATER_CODES = {"outlet_under_water", "water_at_house", "water_over_all_ground"}


@pytest.fixture
def to_a_ditch() -> dict[str, Any]:
    """60 ft of 4 in pipe to the bank of a ditch; its end's inside bottom at 97.00 ft.

    "at least 1 ft above the ditch bottom": Michigan State University Extension, Subsurface drainage
    outlet considerations, fig. 8. So the ditch's bottom lies at 96.00 ft here.
    """
    return {
        "units": "us",
        "route": {"length": 60},
        "ground": {
            "kind": "elevations",
            "points": [
                {"at": 0, "elevation": 99.5},
                {"at": 30, "elevation": 99.0},
                {"at": 60, "elevation": 98.0},
            ],
        },
        "pipe": {"code": "pvc-sdr35-4"},
        "start": {"invert": 98.2},
        "grade": {"min_percent": 2},
        "limits": {"min_cover": 4},
        "outlet": {"kind": "daylight", "invert": {"min": 97.0, "max": 97.0}},
        "stations": {"every": 10},
    }


def with_water(request: dict, **level: float) -> dict[str, Any]:
    found = copy.deepcopy(request)
    found["outlet"]["water_level"] = level
    return found


def codes(answer: dict[str, Any]) -> set[str]:
    return {warning["code"] for warning in answer["warnings"]} & WATER_CODES


def test_the_usual_water_of_the_ditch_does_not_reach_the_pipe(
    plan: Planner, to_a_ditch: dict
) -> None:
    """6 in of water in a ditch whose bottom lies 1 ft below the outlet."""
    answer = plan(with_water(to_a_ditch, elevation=96.5))
    water = answer["outlet"]["water"]
    assert water["backs_up_to"] is None
    assert water["sentence"].endswith("6 in below the inside bottom of the pipe's end: it does not "
                                      "reach the pipe.")  # fmt: skip
    assert water["over_outlet"] == pytest.approx((96.5 - 97) * 12 - answer["pipe"]["inside"])
    assert codes(answer) == set()


def test_a_storm_in_the_ditch_by_hand(plan: Planner, to_a_ditch: dict) -> None:
    """1 ft 9 in of water in the ditch, 97.75 ft: level in a pipe of 2 %, so 37.5 ft up its bottom.

    The crown lies 3.975 in higher: full over (0.75 - 3.975/12) / 0.02 = 20.94 ft.
    """
    answer = plan(with_water(to_a_ditch, elevation=97.75))
    water = answer["outlet"]["water"]
    assert water["backs_up_to"] == pytest.approx(60 - 0.75 / 0.02, abs=1e-5)
    assert water["full_length"] == pytest.approx((0.75 - 3.975 / 12) / 0.02, abs=1e-5)
    assert set(water["line"]["level"]) == {97.75}
    assert water["sentence"] == (
        "At its highest, the water stands 5 in above the inside top of the pipe's end. It backs up "
        "to 0+22.5, and the last 21 ft of pipe stand full. It stays below the ground at "
        "the start of every line, and below every opening and inlet given."
    )
    assert (water["places"], water["floods_house"]) == ([], False)
    assert codes(answer) == {"outlet_under_water"}
    by_depth = plan(with_water(to_a_ditch, depth=3))
    assert by_depth["outlet"]["water"] == water
    without = plan(to_a_ditch)
    assert without["outlet"]["water"] is None
    for part in ("stations", "answer", "grade_runs"):
        assert answer[part] == without[part]


def test_an_opening_below_the_water_lets_it_out(plan: Planner, to_a_ditch: dict) -> None:
    """A cellar drain 2 in below the ditch's water, no water said to run."""
    drain = {"what": "cellar drain", "elevation": 98.5 - 2 / 12, "at": 0}
    to_a_ditch["head"] = {"openings": [drain, {"what": "sink", "elevation": 99.9}]}
    answer = plan(with_water(to_a_ditch, elevation=98.5))
    water = answer["outlet"]["water"]
    (place,) = water["places"]
    assert (place["what"], place["kind"], place["at_house"]) == ("cellar drain", "opening", True)
    assert place["over"] == pytest.approx(2)
    assert water["floods_house"]
    assert codes(answer) == {"outlet_under_water", "water_at_house"}
    said = (
        "Water could come out at the house: the water at the outlet backs up to 2 in above the "
        "stated opening at 0+00 (cellar drain)."
    )
    assert water["sentence"].endswith(said)
    assert said in [warning["text"] for warning in answer["warnings"]]
    inlets = {one["what"]: one for one in answer["inlets"]}
    assert inlets["cellar drain"]["drowned"]
    assert inlets["cellar drain"]["spare"] == pytest.approx(-2)
    assert inlets["sink"]["sentence"] == (
        "With the water at the outlet at its highest, it stands 16.8 in below the stated opening "
        "at 0+00 (sink)."
    )
    assert answer["head"]["outlet_level"] == 98.5
    assert answer["head"]["spare"] == pytest.approx(-2 - 3)  # and the usual margin of 3 in
    assert "water standing at the outlet" in answer["head"]["sentence"]
    just = plan(with_water(to_a_ditch, elevation=98.5 - 2 / 12))
    assert just["outlet"]["water"]["places"] == []


def test_the_ground_at_the_start_below_the_water(plan: Planner, to_a_ditch: dict) -> None:
    answer = plan(with_water(to_a_ditch, elevation=99.75))
    water = answer["outlet"]["water"]
    (place,) = water["places"]
    assert (place["kind"], place["over"]) == ("start", pytest.approx(3))
    assert water["floods_house"]
    assert water["stations_under"] == [s["at"] for s in answer["stations"]]
    assert "It fills the pipe from end to end." in water["sentence"]
    assert codes(answer) == WATER_CODES


def test_with_water_running_friction_is_added(plan: Planner, to_a_ditch: dict) -> None:
    """40 gpm from the start through the full pipe: higher at the roof than in the ditch."""
    to_a_ditch["inflows"] = [{"kind": "roof", "area": 400, "rain_rate": 6, "duration": 5}]
    free = plan(to_a_ditch)["inlets"][0]
    assert free["sentence"].startswith("When everything runs at once, the water stands ")
    assert free["sentence"].endswith(" below the ground at 0+00 (downspout).")
    answer = plan(with_water(to_a_ditch, elevation=99.49))
    (roof,) = answer["inlets"]
    assert roof["still_level"] == pytest.approx(99.49)
    assert roof["water_level"] > 99.5
    assert "end the pipe where the water stands lower" not in roof["sentence"]
    assert answer["outlet"]["water"]["running"]
    (place,) = answer["outlet"]["water"]["places"]
    assert (place["what"], place["kind"]) == ("roof", "start")
    assert "inlet_drowned" in {warning["code"] for warning in answer["warnings"]}
    assert "water_at_house" in codes(answer)
    deeper = plan(with_water(to_a_ditch, elevation=99.6))["inlets"][0]
    assert "end the pipe where the water stands lower" in deeper["sentence"]


def test_from_a_level_line_and_up_a_branch(plan: Planner, yard_request: dict) -> None:
    """Elevations count from the string: the ground at the end lies 22 in below it.

    Water 2 in over that, 20 in below the string, stands over the lid; the patio's ground is
    measured from a string of its own, tied by the ground at the join.
    """
    yard_request["branches"] = [patio(8)]
    answer = plan(with_water(yard_request, elevation=-20 / 12))
    water = answer["outlet"]["water"]
    assert water["over_outlet"] == pytest.approx(2, abs=1e-4)
    assert plan(with_water(yard_request, depth=-2))["outlet"]["water"] == water
    # The string's join lies 14 in down on the main line, 8 in on the branch: 6 in apart. So the
    # patio's start lies 15 in below the main line's string, and water 14 in below it is over it.
    high = plan(with_water(yard_request, elevation=-14 / 12))
    (place,) = high["outlet"]["water"]["places"]
    assert (place["line"], place["kind"]) == (["patio"], "start")
    assert place["over"] == pytest.approx(1, abs=1e-4)
    assert "at the start of branch patio" in high["outlet"]["water"]["sentence"]
    assert high["branches"][0]["outlet"]["water"] is None


def test_in_metres_the_same(plan: Planner, to_a_ditch: dict) -> None:
    us = plan(with_water(to_a_ditch, elevation=97.75))["outlet"]["water"]
    foot = US.length_m
    si = copy.deepcopy(to_a_ditch)
    si["units"] = "si"
    si["route"]["length"] *= foot
    for point in si["ground"]["points"]:
        point["at"] *= foot
        point["elevation"] *= foot
    si["start"]["invert"] *= foot
    si["limits"]["min_cover"] *= INCH_M * 1000
    si["outlet"]["invert"] = {"min": 97.0 * foot, "max": 97.0 * foot}
    si["stations"]["every"] *= foot
    water = plan(with_water(si, elevation=97.75 * foot))["outlet"]["water"]
    assert water["backs_up_to"] == pytest.approx(us["backs_up_to"] * foot, abs=1e-5)
    assert water["over_outlet"] == pytest.approx(us["over_outlet"] * 25.4, abs=1e-3)
    assert plan(with_water(si, depth=3 * 25.4))["outlet"]["water"]["level"] == pytest.approx(
        water["level"], abs=1e-6
    )


def test_what_is_refused(refused: Callable[..., dict[str, Any]], to_a_ditch: dict) -> None:
    both = refused("/plan", json=with_water(to_a_ditch, elevation=97, depth=3))
    (fault,) = both["errors"]
    assert fault["pointer"] == "/outlet/water_level"
    assert fault["detail"] == "Give exactly one of elevation or depth."
    (none,) = refused("/plan", json=with_water(to_a_ditch))["errors"]
    assert none["pointer"] == "/outlet/water_level"
    to_a_ditch["outlet"]["water_level"] = {"elevation": "97"}
    (text,) = refused("/plan", json=to_a_ditch)["errors"]
    assert text["pointer"] == "/outlet/water_level/elevation"


def test_a_search_asks_it_of_no_place(refused: Callable[..., dict[str, Any]]) -> None:
    """A reach looks for outlets in many places, and the level is of one."""
    body = json.loads((EXAMPLES / "reach" / "spots.json").read_text("utf-8"))
    (fault,) = refused("/reach", json=with_water(body, elevation=9))["errors"]
    assert fault["pointer"] == "/outlet/water_level"
