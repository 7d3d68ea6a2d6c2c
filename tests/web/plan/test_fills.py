"""Soil to be laid over a stretch: what counts it, what does not, and what is refused.

Worked by hand on even ground; no source is needed beyond the definitions of cover and of dig depth.
"""

from __future__ import annotations

from typing import Any

import pytest
from flask.testing import FlaskClient

FILL = {"from": 0, "full_from": 0, "full_to": 10, "to": 20, "depth": 4}


def body(*fills: dict[str, Any], **parts: Any) -> dict[str, Any]:
    """100 ft of level ground, a start of 6 in of cover, into a drain as deep as may be."""
    flat = [{"at": at, "elevation": 100} for at in (0, 50, 100)]
    found = {
        "units": "us",
        "route": {"length": 100},
        "ground": {"kind": "elevations", "points": flat},
        "pipe": {"code": "pvc-sdr35-4"},
        "start": {"cover": 6},
        "grade": {"min_percent": 1, "shape": "straight"},
        "limits": {"min_cover": 4, "outlet_taper": 0},
        "outlet": {"kind": "tie_in", "depth": {"min": 0, "max": 30}},
        "accuracy": {"sigma": 0},
        "fills": list(fills),
    }
    return found | parts


def plan(client: FlaskClient, asked: dict[str, Any]) -> dict[str, Any]:
    response = client.post("/api/v1/plan", json=asked)
    assert response.status_code == 200, response.json
    return response.json


def test_cover_counts_soil_and_the_trench_does_not(client: FlaskClient) -> None:
    """A start of 6 in of cover under 4 in of soil is dug 4 in less."""
    before, after = plan(client, body()), plan(client, body(FILL))
    assert after["start"]["cover"] == pytest.approx(6)
    assert after["start"]["dig_depth"] == pytest.approx(before["start"]["dig_depth"] - 4)
    assert [s["ground"] for s in after["stations"]] == [100] * len(after["stations"])
    told = {s["at"]: s["fill"] for s in after["stations"]}
    assert told | {0: 4, 10: 4, 20: 0, 50: 0, 100: 0} == told
    finished = dict(zip(after["profile"]["at"], after["profile"]["finished"], strict=True))
    assert finished[0] == finished[10] == pytest.approx(100 + 4 / 12)
    assert finished[20] == finished[100] == 100
    assert before["profile"]["finished"] == []
    cover_at_20 = next(s["cover"] for s in after["stations"] if s["at"] == 20)
    assert cover_at_20 == pytest.approx(6 - 4 + 20 * 12 / 100)  # 1 % of 20 ft deeper, no soil there


def test_a_greatest_depth_counts_from_the_ground_as_it_lies(client: FlaskClient) -> None:
    """6 in of cover and 4.215 in of pipe are 10.2 in under the finished ground, 6.2 in dug."""
    limits = {"min_cover": 0, "outlet_taper": 0, "max_depth": 19}
    assert plan(client, body(limits=limits))["answer"]["verdict"] == "no"  # 22.2 in at the end
    assert plan(client, body(FILL, limits=limits))["answer"]["verdict"] == "yes"  # 18.2 in


def test_its_volume_and_where_it_comes_from(client: FlaskClient) -> None:
    """10 ft full and 10 ft thinning out, 4 in deep and 6 ft wide: 15 × 1/3 × 6 = 30 cu ft in place,
    37.5 loose. What the pipe displaces, swollen by 25 %, goes there first."""
    answer = plan(client, body(FILL, prices={"currency": "$", "fill": 40}))
    bill = answer["quantities"]
    spoil = plan(client, body())["quantities"]["spoil"]["haul"]
    fill = bill["fill"]
    assert fill["volume"] == pytest.approx(30 / 27, abs=1e-5)
    assert fill["loose"] == pytest.approx(37.5 / 27, abs=1e-5)
    assert fill["from_spoil"] == pytest.approx(spoil, abs=1e-5)
    assert fill["bring"] == pytest.approx(37.5 / 27 - spoil, abs=1e-5)
    assert bill["spoil"]["haul"] == 0
    (line,) = [one for one in bill["cost"]["lines"] if one["what"] == "fill"]
    assert line["amount"] == round(40 * fill["bring"], 2)
    small = plan(client, body(FILL | {"width": 0.5}))["quantities"]  # all of it is spoil
    assert small["fill"]["bring"] == 0
    assert small["spoil"]["haul"] == pytest.approx(spoil - small["fill"]["loose"], abs=1e-5)


def test_a_yes_says_that_soil_must_be_laid(client: FlaskClient) -> None:
    answer = plan(client, body(FILL))["answer"]
    assert answer["overall"] == "conditional"
    (condition,) = [one for one in answer["conditions"] if one["code"] == "fill"]
    assert condition["text"].startswith("Lay 4 in of soil from 0+00 to 0+10, thinning out to 0+20")
    assert (condition["from_at"], condition["to_at"]) == (0, 20)


def test_what_is_left_open_is_told(client: FlaskClient) -> None:
    """From the start it is full at once and thins out over 3 ft at its end; elsewhere at both."""
    answer = plan(
        client, body({"from": 0, "to": 20, "depth": 4}, {"from": 40, "to": 44, "depth": 2})
    )
    start, dip = answer["fills"]
    assert (start["full_from"], start["full_to"]) == (0, 17)
    assert (dip["full_from"], dip["full_to"]) == (42, 42)
    told = {a["text"]: a["value"] for a in answer["assumptions"] if a["pointer"] == "/fills"}
    assert sorted(told.values()) == [3, 6]
    assert not any(
        a["pointer"] == "/fills" for a in plan(client, body(FILL | {"width": 5}))["assumptions"]
    )


@pytest.mark.parametrize(
    ("fill", "parts", "pointer"),
    [
        ({"from": 20, "to": 10, "depth": 4}, {}, "/fills/0/to"),
        ({"from": 10, "to": 20, "depth": 4, "full_from": 5}, {}, "/fills/0/full_from"),
        (
            {"from": 10, "to": 20, "depth": 4, "full_from": 18, "full_to": 12},
            {},
            "/fills/0/full_to",
        ),
        ({"from": 10, "to": 20, "depth": 0}, {}, "/fills/0/depth"),
        ({"from": 100, "to": 120, "depth": 4}, {}, "/fills/0/from"),
        ({"from": 80, "to": 120, "depth": 4}, {"outlet": {"kind": "pop_up"}}, "/fills/0/to"),
    ],
)
def test_what_no_soil_can_be(
    client: FlaskClient, fill: dict[str, Any], parts: dict[str, Any], pointer: str
) -> None:
    response = client.post("/api/v1/plan", json=body(fill, **parts))
    assert response.status_code in (400, 422)
    assert [one["pointer"] for one in response.json["errors"]] == [pointer]


def test_the_trench_check_counts_it(client: FlaskClient) -> None:
    """Dug as planned at the start: 6 in of cover once 4 in of soil lie there."""
    asked = body(FILL)
    depth = plan(client, asked)["start"]["dig_depth"]
    check = {"plan": asked, "as_dug": [{"at": 0, "depth": depth}]}
    found = client.post("/api/v1/grade-check", json=check).json
    assert {one["at"]: one["fill"] for one in found["to_read"]} | {10: 4, 20: 0} == {
        10: 4, 20: 0, 50: 0, 100: 0,
    }  # fmt: skip
    (station,) = found["stations"]
    assert station["state"] == "within"
    assert station["cover"] == pytest.approx(6)
    assert station["fill"] == 4


def test_the_papers_tell_it(client: FlaskClient) -> None:
    asked = body(FILL)
    sheet = client.post("/api/v1/papers/dig-sheet.html", json=asked).text
    assert "Soil to lay once the trench is closed" in sheet
    assert "Lay 4 in of soil from 0+00 to 0+10, thinning out to 0+20" in sheet
    assert client.post("/api/v1/papers/dig-sheet.pdf", json=asked).data[:4] == b"%PDF"
    head, first, *_ = client.post("/api/v1/papers/stations.csv", json=asked).text.splitlines()
    assert head.endswith('"soil_to_lay_in"')
    assert first.split(",")[-1] == "4.0"
    assert "soil to lay" in client.post("/api/v1/papers/profile.svg", json=asked).text
    assert "soil to lay" not in client.post("/api/v1/papers/profile.svg", json=body()).text
