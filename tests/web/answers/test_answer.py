"""What the plan explains: fixes that hold when run again, chance, crossings, head."""

from __future__ import annotations

import json
import re
from fractions import Fraction
from pathlib import Path

import pytest
from flask.testing import FlaskClient
from merge_patch import patched

URL = "/api/v1/plan"
WHOLE_PLANS = Path(__file__).resolve().parents[3] / "fixtures" / "whole_plans"


def plan(client: FlaskClient, body: dict) -> dict:
    answer = client.post(URL, json=body)
    assert answer.status_code == 200, answer.json
    return answer.json


@pytest.mark.parametrize(
    "change",
    [
        {"outlet": {"kind": "pop_up", "depth": {"min": 3, "max": 6}}},
        {"outlet": {"kind": "pop_up", "depth": {"min": 3, "max": 8}}},
        {"limits": {"min_cover": 6, "max_depth": 15, "outlet_taper": 13}},
        {"start": {"cover": 11}},
        {"start": {"cover": 3}},
        {
            "crossings": [
                {
                    "at": 26,
                    "what": "gas",
                    "top_depth": 20,
                    "size": 1,
                    "clearance": 2,
                    "pass": "under",
                }
            ]
        },
    ],
    ids=["outlet", "close", "depth", "start", "shallow", "crossing"],
)
@pytest.mark.parametrize("accuracy", [None, {"sigma": 0}, {"instrument": "water_level"}])
def test_every_fix_holds_when_sent_back(
    client: FlaskClient, yard_request: dict, change: dict, accuracy: dict | None
) -> None:
    body = yard_request | change
    if accuracy:
        body["accuracy"] = accuracy
    answer = plan(client, body)["answer"]
    if answer["verdict"] == "yes":
        return
    assert answer["fixes"] or answer["fix_pair"] or change == {"start": {"cover": 3}}
    for fix in answer["fixes"]:
        again = plan(client, patched(body, fix["patch"]))["answer"]
        assert again["verdict"] == "yes", fix
        assert again["spare"] == pytest.approx(fix["spare_after"], abs=1e-3), fix
        if fix["change"] in ("start_cover", "min_cover", "max_depth", "outlet_depth"):
            told = re.search(r"([0-9]+(?: [0-9]+/[0-9]+)?) in", fix["text"])
            assert told, "the number in words is the one that works"
            inches = float(sum(Fraction(part) for part in told[1].split()))
            assert inches == pytest.approx(fix["to"], abs=1e-9)


def test_another_outlet_brings_its_own_run_out_of_cover(client: FlaskClient) -> None:
    """Over a bank on the last 10 ft the cover may run out before a pop-up, not before a dry well.

    From 21.6 in below the string the bottom must be at 50.6 in (40 + 6 + 4.6) to be covered at the
    end, so 35.8 in deep at 40 ft, where 30 in are allowed: a dry well does not mend it.
    """
    body = {
        "units": "us",
        "route": {"length": 50},
        "ground": {
            "kind": "level_line",
            "readings": [{"at": at, "down": down} for at, down in ((0, 9), (40, 9), (50, 40))],
        },
        "pipe": {"code": "corrugated-single-4"},
        "start": {"cover": 8},
        "limits": {"min_cover": 6, "max_depth": 30},
        "outlet": {"kind": "pop_up", "depth": {"min": 7, "max": 10}},
        "grade": {"shape": "straight"},
        "accuracy": {"sigma": 0},
    }
    answer = plan(client, body)["answer"]
    assert answer["verdict"] == "no"
    for fix in answer["fixes"]:
        assert plan(client, patched(body, fix["patch"]))["answer"]["verdict"] == "yes", fix
    assert "dry_well" not in {fix["to"] for fix in answer["fixes"]}


def test_shortage_is_exact_without_reading_errors(client: FlaskClient, yard_request: dict) -> None:
    """10.4 in are there with a 10 in outlet and 7.8 in are needed: at 6 in it is 1.4 in short."""
    body = yard_request | {
        "outlet": {"kind": "pop_up", "depth": {"min": 3, "max": 6}},
        "accuracy": {"sigma": 0},
    }
    answer = plan(client, body)["answer"]
    assert answer["verdict"] == "no"
    assert answer["spare"] == pytest.approx(-1.4)
    assert "the pipe would come out 1.4 in too deep at 0+52" in answer["sentence"]
    deeper = next(f for f in answer["fixes"] if f["change"] == "outlet_depth")
    assert deeper["to"] == pytest.approx(7.5, abs=2e-6)  # the mark on a tape beyond 7.4


def test_too_close_says_which_reading_to_take_again(
    client: FlaskClient, yard_request: dict
) -> None:
    body = yard_request | {"outlet": {"kind": "pop_up", "depth": {"min": 3, "max": 8}}}
    answer = plan(client, body)["answer"]
    assert answer["verdict"] == "too_close"
    assert 0.05 < answer["chance"] < 0.95
    assert {r["at"] for r in answer["retake"]} in ({0}, {52}, {0, 52})  # the ends set this fall


def test_a_change_of_grade_is_offered_as_a_count_that_can_be_sent_back(client: FlaskClient) -> None:
    body = json.loads((WHOLE_PLANS / "spots.json").read_text("utf-8"))
    body["grade"] = {"shape": "straight"}
    answer = plan(client, body)["answer"]
    assert answer["verdict"] == "no"
    (fix,) = [fix for fix in answer["fixes"] if fix["change"] == "grade_changes"]
    assert (fix["from"], fix["to"]) == (0, 1)
    assert plan(client, patched(body, fix["patch"]))["answer"]["verdict"] == "yes"


def test_grade_changes_side_by_side(client: FlaskClient, yard_request: dict) -> None:
    body = yard_request | {
        "grade": {"min_percent": 1.25, "shape": "least_dig", "max_breaks": 2},
        "limits": {"min_cover": 6, "max_depth": 40, "outlet_taper": 13},
    }
    answer = plan(client, body)
    volumes = [g["volume"] for g in answer["grade_changes"]]
    assert answer["least_dig"] == {"gap": 0}
    assert all((g["gap"] is None) == (g["volume"] is None) for g in answer["grade_changes"])
    assert [g["breaks"] for g in answer["grade_changes"]] == [0, 1, 2, 3]
    assert volumes == sorted(volumes, reverse=True)
    assert answer["trench"]["volume"] == pytest.approx(volumes[2])
    assert len(answer["grade_runs"]) <= 3


def test_a_raster_says_what_it_cannot_settle(client: FlaskClient) -> None:
    """See tests/web for uploads; here only that lidar is the default and its sentence is given."""
    instruments = client.get("/api/v1/openapi.json").json["components"]["schemas"]["Instrument"]
    assert "lidar_ql2" in instruments["enum"]


def test_a_crossing_is_passed_with_its_clearance(client: FlaskClient, yard_request: dict) -> None:
    line = {"at": 26, "what": "gas line", "top_depth": 20, "size": 1, "clearance": 2}
    answer = plan(client, yard_request | {"crossings": [line]})
    assert answer["crossings"][0]["pass"] == "over"
    station = next(s for s in answer["stations"] if s["at"] == 26)
    assert "crossing" in station["why"]
    assert station["dig_depth"] <= 20 - 2
    assert "crossing" in [c["code"] for c in answer["cautions"]]


def test_a_catalogue_pipe_takes_measures_of_its_own(
    client: FlaskClient, yard_request: dict
) -> None:
    by_the_list = plan(client, yard_request)
    code = yard_request["pipe"]["code"]
    measured = plan(client, yard_request | {"pipe": {"code": code, "outside": 5, "n": 0.02}})
    assert measured["pipe"]["code"] == code
    assert measured["pipe"]["outside"] == 5
    assert measured["pipe"]["inside"] == by_the_list["pipe"]["inside"]


def test_water_that_would_come_out_at_the_house(client: FlaskClient, yard_request: dict) -> None:
    """The lid is at -22 in; an opening 6 in above it with 3 in of margin leaves 3 in of head."""
    head = {"openings": [{"what": "basin grate", "elevation": -16 / 12}], "flow": 0}
    answer = plan(client, yard_request | {"head": head})
    assert answer["head"]["spare"] == pytest.approx(3)
    low = {"openings": [{"what": "basin grate", "elevation": -20 / 12}], "flow": 0}
    answer = plan(client, yard_request | {"head": low})
    assert answer["head"]["spare"] == pytest.approx(-1)
    assert "come out at the house" in answer["head"]["sentence"]
    assert "head_short" in [w["code"] for w in answer["warnings"]]


def test_a_way_of_digging_sets_the_greatest_depth(client: FlaskClient, yard_request: dict) -> None:
    body = yard_request | {"limits": {"min_cover": 6, "dig_by": "trencher_18", "outlet_taper": 13}}
    answer = plan(client, body)
    told = {a["pointer"]: a["value"] for a in answer["assumptions"]}
    assert told["/limits/max_depth"] == 18


def test_silt_caution_where_the_grade_flattens(client: FlaskClient, yard_request: dict) -> None:
    """Waring 1867, ch. III: silt drops where a steep reach meets a flat one."""
    body = yard_request | {
        "route": {"length": 52},
        "ground": {
            "kind": "level_line",
            "readings": [{"at": a, "down": d} for a, d in ((0, 9), (26, 24), (52, 29))],
        },
        "grade": {"min_percent": 1.25, "shape": "least_dig", "max_breaks": 1},
        "outlet": {"kind": "pop_up", "depth": {"min": 0, "max": 20}},
        "accuracy": {"sigma": 0},
    }
    answer = plan(client, body)
    assert answer["answer"]["verdict"] == "yes"
    assert [g["percent"] for g in answer["grade_runs"]] == sorted(
        (g["percent"] for g in answer["grade_runs"]), reverse=True
    )
    assert "grade_flattens" in [c["code"] for c in answer["cautions"]]


def test_a_close_call_with_an_open_end_is_worded(client: FlaskClient) -> None:
    """Nothing limits how deep it may end, so there is no fall to spare to tell; it is no fault."""
    readings = [{"at": 0, "down": 1}, *({"at": at, "down": 0} for at in (0.25, 0.5, 0.75, 10))]
    body = {
        "units": "us",
        "route": {"length": 10},
        "ground": {"kind": "level_line", "readings": readings},
        "pipe": {"code": "corrugated-dual-4"},
        "start": {"invert": 0},
        "grade": {"min_percent": 0},
        "outlet": {"kind": "daylight", "depth": {"min": 0}},
    }
    answer = client.post("/api/v1/plan", json=body)
    assert answer.status_code == 200, answer.json
    assert answer.json["answer"]["sentence"].endswith(".")
