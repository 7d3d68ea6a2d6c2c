"""The bill of quantities in a plan's answer."""

from __future__ import annotations

import itertools

import pytest
from flask.testing import FlaskClient

PRICES = {
    "currency": "USD",
    "pipe_piece": 65,
    "haul": 30,
    "hour_by_machine": 90,
    "parts": {"pop_up": 14},
}


def test_the_yards_quantities_agree_with_its_stations(plan, yard_request) -> None:
    answer = plan(yard_request)
    found, stations = answer["quantities"], answer["stations"]
    width = answer["trench"]["width"] / 12
    by_hand = sum(
        13 * width * (a["dig_depth"] + b["dig_depth"]) / 24 for a, b in itertools.pairwise(stations)
    )
    assert found["trench"]["bank"] == pytest.approx(by_hand / 27, abs=1e-4)
    assert found["trench"]["bank"] == pytest.approx(answer["trench"]["volume"], abs=1e-6)
    assert answer["trench"]["dug_volume"] == found["trench"]["bank"]
    assert answer["trench"]["dug_width"] == answer["trench"]["width"]
    assert found["trench"]["loose"] == pytest.approx(1.25 * found["trench"]["bank"], abs=1e-5)
    assert sum(c["volume"] for c in found["trench"]["by_depth"]) == pytest.approx(
        found["trench"]["bank"], abs=1e-5
    )
    assert found["sod"]["area"] == pytest.approx(52 * width, abs=1e-4)
    assert found["pipe"] | {"basis": ""} == {
        "form": "coil",
        "laid": pytest.approx(52.004, abs=0.001),
        "pieces": 1,
        "piece_length": 100,
        "to_buy": 100,
        "waste_percent": 0,
        "basis": "",
    }
    assert found["hours"]["by_hand"] == pytest.approx(13)
    assert found["hours"]["machine"] == "trencher_18"
    assert [part["part"] for part in found["outlet_parts"]] == ["pop_up", "elbow_90", "stone_pit"]
    assert found["cost"] is None
    for name in ("trench", "sod", "bedding", "spoil", "pipe", "hours"):
        assert found[name]["basis"].endswith(".")


def test_cost_by_the_prices_given_and_no_other(plan, yard_request) -> None:
    found = plan(yard_request | {"prices": PRICES})["quantities"]
    cost = found["cost"]
    haul = round(found["spoil"]["haul"] * 30, 2)
    hours = round(found["hours"]["by_machine"] * 90, 2)
    assert [(line["what"], line["unit"], line["amount"]) for line in cost["lines"]] == [
        ("pipe", "coils", 65),
        ("haul", "cu yd", haul),
        ("hour_by_machine", "hours", hours),
        ("pop_up", "pieces", 14),
    ]
    assert cost["total"] == pytest.approx(65 + haul + hours + 14)
    assert cost["left_out"] == ["sod", "cleanout", "elbow_90", "stone_pit"]


def test_your_own_supply_rules(plan, yard_request) -> None:
    supply = {
        "piece_length": 20,
        "waste_percent": 10,
        "swell_percent": 43,
        "by_hand": 8,
        "depth_classes": [14, 48],
    }
    found = plan(yard_request | {"supply": supply})["quantities"]
    assert found["pipe"]["pieces"] == 3
    assert found["trench"]["loose"] == pytest.approx(1.43 * found["trench"]["bank"], abs=1e-5)
    assert found["hours"]["by_hand"] == pytest.approx(6.5)
    assert [(c["from"], c["to"]) for c in found["trench"]["by_depth"]] == [(0, 14), (14, 48)]


def test_bends_of_a_drawn_line_bring_elbows(plan, examples) -> None:
    body = examples["spots"]
    bends = len(body["route"]["line"]["coordinates"]) - 2
    answer = plan(body)
    assert len([s for s in answer["stations"] if "bend" in s["why"]]) == bends
    elbows = [p for p in answer["quantities"]["fittings"] if "bend" in p["why"]]
    assert elbows, "the example's line turns by more than 10 degrees"


def test_a_branch_has_a_bill_of_its_own_by_the_same_prices(plan, yard_request) -> None:
    side = {k: v for k, v in yard_request.items() if k not in ("units", "outlet")}
    side |= {"name": "side yard", "joins_at": 52, "start": {"cover": 4}}
    answer = plan(yard_request | {"branches": [side], "prices": PRICES})
    found = answer["branches"][0]["quantities"]
    assert [part["part"] for part in found["outlet_parts"]] == ["wye", "elbow_45"]
    assert found["cost"]["currency"] == "USD"


@pytest.mark.parametrize(
    ("pointer", "value", "fault"),
    [
        ("/supply/depth_classes", [24, 18], "/supply/depth_classes"),
        ("/prices/hour_by_hand", 40, "/prices/hour_by_machine"),
        ("/prices/parts/lid", 4, "/prices/parts/lid"),
        ("/prices/pipe_piece", -1, "/prices/pipe_piece"),
    ],
)
def test_what_cannot_be_reckoned_is_refused(
    pointer, value, fault, changed, refused, yard_request
) -> None:
    body = changed(pointer, value, yard_request | {"prices": PRICES, "supply": {}})
    assert [error["pointer"] for error in refused("/plan", json=body)["errors"]] == [fault]


def test_the_slot_and_what_is_dug_are_told_apart(client: FlaskClient) -> None:
    """A trench 44 in deep and more is dug 0.8 m wide (EN 1610, table 2, from memory: from 1 m on),
    0.9 m from 1.75 m on; the slot is the pipe and 2 in. Average end area by hand."""
    request = {
        "units": "us",
        "route": {"length": 70},
        "ground": {
            "kind": "elevations",
            "points": [{"at": 0, "elevation": 20.0}, {"at": 70, "elevation": 20.0}],
        },
        "pipe": {"code": "pvc-sdr35-4"},
        "start": {"depth": 44},
        "grade": {"min_percent": 1, "shape": "straight"},
        "limits": {"min_cover": 6, "max_depth": 80},
        "outlet": {"kind": "tie_in", "depth": {"min": 10, "max": 60}},
    }
    answer = client.post("/api/v1/plan", json=request).json
    trench, bank = answer["trench"], answer["quantities"]["trench"]["bank"]
    side = 70 * (44 + answer["outlet"]["dig_depth"]) / 2 / 12
    assert answer["outlet"]["dig_depth"] < 1750 / 25.4, "all of it in the class of 0.8 m"
    assert trench["width"] == pytest.approx(4.215 + 2)
    assert trench["volume"] == pytest.approx(side * trench["width"] / 12 / 27, abs=1e-4)
    assert trench["dug_width"] == pytest.approx(800 / 25.4, abs=1e-5)
    assert trench["dug_volume"] == bank == pytest.approx(side * 0.8 / 0.3048 / 27, abs=1e-3)
    assert "EN 1610" in trench["basis"]
    told = [a for a in answer["assumptions"] if a["pointer"] == "/limits/trench_width"]
    assert [a["value"] for a in told] == [trench["width"], trench["dug_width"]]
    assert all(a["source"] for a in told)
    request["limits"]["trench_width"] = 20
    stated = client.post("/api/v1/plan", json=request).json
    assert stated["trench"]["dug_width"] == 20
    assert stated["trench"]["dug_volume"] == pytest.approx(stated["trench"]["volume"], abs=1e-5)
