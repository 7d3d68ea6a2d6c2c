"""What a reach says to loosen, sent back; what is missing, against the plans of its own routes."""

from __future__ import annotations

import numpy as np
import pytest
from merge_patch import patched

SHAPES = (
    {"shape": "straight"},
    {"shape": "least_dig", "max_breaks": 2},
    {},
)


def yard(seed: int) -> dict:
    """Rough ground of 18 m by spots that hardly falls, with limits stated or left to the usual."""
    rng = np.random.default_rng(seed)
    us = seed % 2 == 0
    depth, length = (1.0, 1 / 0.3048) if us else (25.0, 1.0)
    fall, side = rng.uniform(0.003, 0.012), range(0, 19, 6)
    points = [
        [
            round(x * length, 3),
            round(y * length, 3),
            round((100 - fall * x - 0.006 * y + rng.normal(0, 0.05)) * length, 3),
        ]
        for x in side
        for y in side
    ]
    ring = [[round(x * length, 3), round(y * length, 3)] for x, y in ((1, 1), (17, 1), (17, 17))]
    ring += [[ring[0][0], ring[2][1]], ring[0]]
    body = {
        "units": "us" if us else "si",
        "crs": "local",
        "ground": {"kind": "spots", "points": points},
        "start": {"point": [round(4 * length, 3)] * 2, "cover": 8 * depth},
        "pipe": {"code": "pvc-drain-4"},
        "grade": {"min_percent": 1} | SHAPES[seed % 3],
        "limits": {"min_cover": 4 * depth, "max_depth": 28 * depth, "outlet_taper": 2 * length},
        "outlet": {"kind": "pop_up", "depth": {"min": depth, "max": 8 * depth}},
        "within": {"type": "Polygon", "coordinates": [ring]},
        "draws": 0,
        "routes": 1,
    }
    if seed % 4 == 3:
        del body["limits"]["min_cover"], body["limits"]["outlet_taper"]
    if seed % 5 == 4:
        line = [[round(x * length, 3), round(y * length, 3)] for x, y in ((16, 3), (16, 15))]
        body["targets"] = {
            "type": "Feature",
            "geometry": {"type": "LineString", "coordinates": line},
            "properties": {"name": "ditch"},
        }
    return body


def reach(client, body: dict) -> dict:
    answer = client.post("/api/v1/reach", json=body)
    assert answer.status_code == 200, answer.json
    return answer.json


@pytest.mark.parametrize("seed", range(120))
def test_each_change_sent_back_makes_an_outlet(client, seed: int) -> None:
    """By the search anew and by the plan of its route: a search that counts any number of changes
    of grade told changes that were too small."""
    body = yard(seed)
    answer = reach(client, body)
    if answer["summary"]["verdict"] == "yes":
        assert answer["loosen"] == []
        return
    assert answer["summary"]["spare"] == answer["routes"][0]["answer"]["spare"]
    assert all(route["answer"]["verdict"] == "no" for route in answer["routes"])
    mark = 8 if body["units"] == "us" else 1
    for one in answer["loosen"]:
        again = reach(client, patched(body, one["patch"]))
        assert again["summary"]["verdict"] == "yes", one
        assert again["routes"][0]["answer"]["verdict"] == "yes", one
        assert again["summary"]["spare"] == pytest.approx(one["spare_after"], abs=1e-3), one
        if one["change"] in ("start_cover", "min_cover", "max_depth", "outlet_depth"):
            assert one["to"] * mark == pytest.approx(round(one["to"] * mark), abs=1e-6)


def test_the_yards_have_much_to_loosen(client) -> None:
    """So that the test above is one of many changes, limits among them."""
    told = [one for seed in range(0, 120, 7) for one in reach(client, yard(seed))["loosen"]]
    assert len(told) >= 30
    assert {"min_grade", "outlet_depth", "start_cover"} <= {one["change"] for one in told}


@pytest.mark.parametrize("seed", range(0, 60, 3))
def test_no_less_is_told_of_a_place_than_a_straight_line_to_it_has(client, seed: int) -> None:
    """The ways of a grid turn by its steps; the plan of the straight line needs none of them."""
    body, rng = yard(seed), np.random.default_rng(seed)
    body["grade"] = {"min_percent": 1, "shape": "straight"}
    body.pop("targets", None)
    scale = body["start"]["point"][0] / 4
    body["ask"] = [[round(v * scale, 3) for v in rng.uniform(9, 16.5, 2)] for _ in range(4)]
    kept = ("units", "ground", "pipe", "grade", "limits", "outlet")
    for asked in reach(client, body)["asked"]:
        line = {"type": "LineString", "coordinates": [body["start"]["point"], asked["point"]]}
        direct = {key: body[key] for key in kept} | {
            "start": {"cover": body["start"]["cover"]},
            "route": {"line": line, "crs": "local"},
            "explain": False,
        }
        answer = client.post("/api/v1/plan", json=direct).json["answer"]
        assert asked["spare"] >= answer["spare"] - 0.04 * body["start"]["cover"] / 8
