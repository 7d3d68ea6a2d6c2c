"""POST /flow and the water part of a plan, against printed tables.

Hydraulics themselves are held to their sources in tests/core; here the same figures come through
the API.
"""

from __future__ import annotations

import pytest
from flask.testing import FlaskClient
from level import level

URL = "/api/v1/flow"


def flow(client: FlaskClient, code: str, percent: float, inflows: list[dict]) -> dict:
    body = {
        "units": "us",
        "pipe": {"code": code},
        "grade": {"percent": percent},
        "inflows": inflows,
    }
    answer = client.post(URL, json=body)
    assert answer.status_code == 200, answer.json
    return answer.json


# International Plumbing Code 2021, Table 1106.2, gpm at 1/16, 1/8, 1/4, 1/2 in per ft. Manning with
# n = 0.010 and the Schedule 40 bore reproduces the rows within 1.6 %.
ROWS = {"pvc-sch40-3": (39, 55, 79, 111), "pvc-sch40-4": (81, 115, 163, 231)}


@pytest.mark.parametrize("code", list(ROWS))
@pytest.mark.parametrize("k", range(4))
def test_code_table_rows(client: FlaskClient, code: str, k: int) -> None:
    percent = 100 * 0.0625 * 2**k / 12
    answer = flow(client, code, percent, [{"kind": "pump", "rate": 10}])
    assert answer["capacity_full"] == pytest.approx(ROWS[code][k], rel=0.016)


def test_the_older_table_is_shown_beside_and_rules(client: FlaskClient) -> None:
    """IPC 2012 Table 1106.3: 4 in at 1/8 in per ft carries 2,506 sq ft at 3 in/h = 78.2 gpm."""
    roof = {"kind": "roof", "area": 2506, "rain_rate": 3}
    answer = flow(client, "pvc-sch40-4", 100 * 0.125 / 12, [roof])
    newer, older = answer["bases"]
    assert older["n"] == 0.015
    assert older["capacity_full"] == pytest.approx(78.2, rel=0.02)
    assert newer["capacity_full"] == pytest.approx(115, rel=0.016)
    assert answer["cautious_capacity"] == older["capacity_full"]


def test_two_downspouts_and_a_pump_are_too_much_for_4_in(client: FlaskClient) -> None:
    """Two downspouts of 800 sq ft at 5 in/h and a 45 gpm pump: 128 gpm, too much by either table.

    1 in/h on 1 sq ft = 0.01039 gpm (National Standard Plumbing Code 2015, App. A).
    """
    roof = {"kind": "roof", "area": 800, "rain_rate": 5}
    answer = flow(
        client, "pvc-sch40-4", 100 * 0.125 / 12, [roof, roof, {"kind": "pump", "rate": 45}]
    )
    assert answer["flow"] == pytest.approx(128, abs=0.5)
    assert not answer["carries"]
    assert answer["depth"] is None
    assert answer["share_of_capacity"] > 1
    assert answer["smallest_pipe"] in ("pvc-sdr35-6", "pvc-sch40-6", "pvc-drain-6")
    assert (answer["rain_alone"], answer["pumped_alone"]) == pytest.approx((83.1, 45), abs=0.1)


def test_the_largest_roof_scales_with_the_rain(client: FlaskClient) -> None:
    """UPC Appendix D scaling: 21,400 sq ft at 1 in/h is 6,688 sq ft at 3.2 in/h."""
    roofs = [
        flow(client, "pvc-sch40-6", 1, [{"kind": "roof", "area": 10, "rain_rate": rate}])
        for rate in (1, 3.2)
    ]
    ratio = roofs[0]["largest_roof"] / roofs[1]["largest_roof"]
    assert ratio == pytest.approx(21_400 / 6_688, rel=1e-4)


def test_an_hours_rate_draws_a_warning(client: FlaskClient) -> None:
    """NOAA Atlas 14 Vol. 2: 7.14 in/h over 5 minutes against 2.27 over an hour."""
    roof = {"kind": "roof", "area": 800, "rain_rate": 2.27, "duration": 60}
    answer = flow(client, "pvc-sch40-4", 1, [roof])
    assert "rain_hides_bursts" in [w["code"] for w in answer["warnings"]]
    burst = flow(client, "pvc-sch40-4", 1, [roof | {"rain_rate": 7.14, "duration": 5}])
    assert "rain_hides_bursts" not in [w["code"] for w in burst["warnings"]]


def test_a_wall_counts_by_half(client: FlaskClient) -> None:
    roof = {"kind": "roof", "area": 800, "rain_rate": 5}
    one = flow(client, "pvc-sch40-4", 1, [roof | {"wall_area": 200}])
    two = flow(client, "pvc-sch40-4", 1, [roof | {"area": 900}])
    assert one["flow"] == pytest.approx(two["flow"])


def test_both_units_tell_the_same(client: FlaskClient) -> None:
    us = flow(client, "pvc-sch40-4", 1, [{"kind": "pump", "rate": 45}])
    body = {
        "units": "si",
        "pipe": {"code": "pvc-sch40-4"},
        "grade": {"percent": 1},
        "inflows": [{"kind": "pump", "rate": 45 * 3.785411784 / 60}],
    }
    si = client.post(URL, json=body).json
    assert si["share_of_capacity"] == pytest.approx(us["share_of_capacity"], rel=1e-6)
    assert si["velocity"] == pytest.approx(us["velocity"] * 0.3048, rel=1e-6)


def test_flow_grows_downstream_in_a_plan(client: FlaskClient, yard_request: dict) -> None:
    yard_request["inflows"] = [
        {"kind": "pump", "rate": 30, "at": 0},
        {"kind": "roof", "area": 400, "rain_rate": 5, "at": 20},
    ]
    water = client.post("/api/v1/plan", json=yard_request).json["water"]
    assert [(s["from"], s["to"]) for s in water["stretches"]] == [(0, 20), (20, 52)]
    assert [s["flow"] for s in water["stretches"]] == pytest.approx([30, 50.78], abs=0.01)
    assert water["carries"]


def test_an_inflow_off_the_pipe_is_named(client: FlaskClient, yard_request: dict) -> None:
    yard_request["inflows"] = [{"kind": "pump", "rate": 30, "at": 60}]
    answer = client.post("/api/v1/plan", json=yard_request)
    assert answer.status_code == 422
    assert answer.json["errors"][0]["pointer"] == "/inflows/0/at"


def test_a_pump_on_its_leg(client: FlaskClient, yard_request: dict) -> None:
    """A 1-1/2 in line at 45 gpm loses about 11 ft per 100 ft (common practice, no source)."""
    yard_request["pump_leg"] = {
        "rate": 45,
        "pump_head": 20,
        "lift": 8,
        "length": 100,
        "inside": 1.61,
    }
    pump = client.post("/api/v1/plan", json=yard_request).json["pump_leg"]
    assert pump["friction"] == pytest.approx(11, abs=0.3)
    assert pump["head_left"] == pytest.approx(20 - 8 - pump["friction"])


def test_a_dry_well_for_an_inch_on_a_thousand_square_feet(
    client: FlaskClient, yard_request: dict
) -> None:
    """1,000 sq ft x 1 in = 623 gal = 7.7 cu yd of stone at 40 % voids (arithmetic)."""
    yard_request["outlet"] = {"kind": "dry_well"}
    yard_request["dry_well"] = {
        "area": 1000,
        "rain_depth": 1,
        "duration": 0,
        "soak_rate": 0.5,
        "stone_depth": 48,
        "safety_factor": 1,
    }
    well = client.post("/api/v1/plan", json=yard_request).json["dry_well"]
    assert well["storage"] * 27 * 7.48052 == pytest.approx(623, abs=1)
    assert well["stone_volume"] == pytest.approx(7.7, abs=0.05)
    # Full, 48 in of stone at 40 % voids is 19.2 in of water, at 0.5 in/h.
    assert well["hours_to_empty"] == pytest.approx(38.4)
    assert well["hours_to_half"] == pytest.approx(19.2)


# INTEGRATING.md's own request: SDR 35 4 in at 1 % with a 30 gpm pump beside 800 sq ft at 5 in/h.
BESIDE_A_PUMP = [
    {"kind": "roof", "area": 800, "rain_rate": 5, "duration": 5},
    {"kind": "pump", "rate": 30},
]


def test_the_largest_roof_is_what_fits_beside_the_pump(client: FlaskClient) -> None:
    """A = (capacity - 30 gpm)/(5 in/h x 0.0103896 gpm): the rational method turned round."""
    answer = flow(client, "pvc-sdr35-4", 1, BESIDE_A_PUMP)
    largest = answer["largest_roof"]
    gpm_per_sq_ft = 5 * 144 / 231 / 60  # 1 in on 1 sq ft is 144/231 gal
    by_hand = (answer["cautious_capacity"] - 30) / gpm_per_sq_ft
    assert largest == pytest.approx(by_hand, rel=1e-6)
    for area, carries in ((largest - 1e-4, True), (largest + 1e-4, False)):
        again = flow(
            client, "pvc-sdr35-4", 1, [BESIDE_A_PUMP[0] | {"area": area}, BESIDE_A_PUMP[1]]
        )
        assert again["carries"] is carries
        assert again["largest_roof"] == pytest.approx(largest)


def test_the_largest_roof_does_not_depend_on_the_order(client: FlaskClient) -> None:
    """A roof of 120 m2 and a yard of 420 m2 at C 0.35, both at 60 mm/h: 1 L/s is 60 m2 of roof."""
    roof = {"kind": "roof", "area": 120, "rain_rate": 60}
    yard = {"kind": "yard", "area": 420, "rain_rate": 60, "coefficient": 0.35}
    body = {
        "units": "si",
        "pipe": {"outside": 160, "inside": 150, "n": 0.012},
        "grade": {"percent": 0.7},
    }

    def sent(*inflows: dict) -> dict:
        return client.post(URL, json=body | {"inflows": list(inflows)}).json

    answers = [sent(roof, yard), sent(yard, roof)]
    assert answers[0]["largest_roof"] == answers[1]["largest_roof"]
    largest = answers[0]["largest_roof"]
    left = answers[0]["cautious_capacity"] - 420 * 0.35 / 60  # 60 mm/h on 60 m2 is 1 L/s
    assert largest == pytest.approx(left * 60, rel=1e-6)
    for area, carries in ((largest - 1e-4, True), (largest + 1e-4, False)):
        assert sent(yard, roof | {"area": area})["carries"] is carries


def test_different_roofs_grow_together(client: FlaskClient) -> None:
    """Both roofs times (capacity left)/(what they bring now) fill the pipe to the brim."""
    roofs = [
        {"kind": "roof", "area": 300, "rain_rate": 4},
        {"kind": "roof", "area": 500, "rain_rate": 6, "coefficient": 0.9, "wall_area": 200},
    ]
    pump = {"kind": "pump", "rate": 10}
    answers = [
        flow(client, "pvc-sdr35-4", 1, its) for its in ([*roofs, pump], [pump, *roofs[::-1]])
    ]
    assert answers[0]["largest_roof"] == pytest.approx(answers[1]["largest_roof"])
    factor = answers[0]["largest_roof"] / (300 + 500 + 200 / 2)
    for nudge, carries in ((-1e-6, True), (1e-6, False)):
        grown = [
            roof
            | {key: roof[key] * (factor + nudge) for key in ("area", "wall_area") if key in roof}
            for roof in roofs
        ]
        assert flow(client, "pvc-sdr35-4", 1, [pump, *grown])["carries"] is carries


def test_no_largest_roof_without_a_roof_or_room(client: FlaskClient) -> None:
    yard = {"kind": "yard", "area": 800, "rain_rate": 5, "coefficient": 0.35}
    for inflows in ([yard], [BESIDE_A_PUMP[0], {"kind": "pump", "rate": 500}]):
        assert flow(client, "pvc-sdr35-4", 1, inflows)["largest_roof"] is None


def test_a_stretch_above_every_roof_has_no_largest(client: FlaskClient, yard_request: dict) -> None:
    yard_request["inflows"] = [
        {"kind": "pump", "rate": 30, "at": 0},
        {"kind": "roof", "area": 400, "rain_rate": 5, "at": 20},
    ]
    above, below = client.post("/api/v1/plan", json=yard_request).json["water"]["stretches"]
    assert above["largest_roof"] is None
    left = below["cautious_capacity"] - 30
    assert below["largest_roof"] == pytest.approx(left / (5 * 144 / 231 / 60), rel=1e-6)


def test_water_below_an_inlet_is_told_from_the_ground_or_from_its_opening(plan) -> None:
    """A pump of 5 gpm hardly fills a 4 in pipe: its water stays under the ground at the inlet."""
    inflow = {"kind": "pump", "rate": 5, "name": "sump", "at": 0}
    body = level(grade={"min_percent": 1}, inflows=[inflow])
    (at_ground,) = plan(body)["inlets"]
    assert at_ground["opening_is"] == "the ground"
    assert at_ground["sentence"].endswith("below the ground at 0+00 (sump).")
    opening = {"what": "sump", "elevation": 8.9}
    stated = plan(body | {"head": {"openings": [opening]}})["inlets"]
    assert any("below the stated opening at 0+00 (sump)." in one["sentence"] for one in stated)
