"""Hand readings over a raster: what the answer tells of them, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest

AT = (2, 30, 60, 90)


@pytest.fixture
def yard(examples, tiff, upload) -> dict:
    """The raster example on ground that falls 2 %, with noise of 1 in and a wave of 1 in."""
    rng = np.random.default_rng(5)
    down, across = np.mgrid[0:80, 0:100]
    z = 300 - 0.01 * (down + across) + 0.025 * np.sin((down + across) / 9)
    z = z + 0.02 * rng.standard_normal(z.shape)
    body = examples["raster"]
    body["ground"]["raster"] = upload(tiff(z.astype(np.float32))).json["id"]
    return body


def read_over(body: dict, downs: list[float], **more) -> dict:
    readings = [{"at": at, "down": down} for at, down in zip(AT, downs, strict=True)]
    return body | {"ground": body["ground"] | {"readings": readings} | more}


def downs_of(body: dict, plan) -> list[float]:
    """Readings (in) from a line 1 ft above station 0 that bear the raster out."""
    answer = plan(body | {"stations": {"at": list(AT)}})
    ground = {s["at"]: s["ground"] for s in answer["stations"]}
    return [round(12 + 12 * (answer["stations"][0]["ground"] - ground[at]), 2) for at in AT]


def test_the_answer_tells_what_was_read_by_hand(yard, plan) -> None:
    body = read_over(yard, downs_of(yard, plan))
    answer = plan(body)
    source = {s["at"]: s["source"] for s in answer["stations"]}
    assert [at for at, its in source.items() if its == "reading"] == list(AT)
    assert source[0] == source[10] == "raster"
    assert [s["why"] for s in answer["stations"] if s["at"] == 2] == [["reading"]]
    taken = [a for a in answer["assumptions"] if a["pointer"] == "/ground/read_with"]
    assert "string and line level" in taken[0]["text"]
    named = plan(read_over(yard, downs_of(yard, plan), read_with="rotary_laser"))
    assert "/ground/read_with" not in [a["pointer"] for a in named["assumptions"]]
    assert "readings over it" in named["answer"]["chance_sentence"]
    assert answer["warnings"] == []


def test_readings_that_bear_the_raster_out_make_it_surer(yard, plan, tiff, upload) -> None:
    """Even ground that falls 2.8 %: the raster alone leaves open whether 2.7 or 2.9 % fit in."""
    yard["ground"]["raster"] = upload(tiff()).json["id"]
    yard |= {"limits": {"min_cover": 6, "outlet_taper": 10}}
    yard["outlet"] = {"kind": "pop_up", "depth": {"max": 12.5}}
    read = read_over(yard, downs_of(yard, plan), read_with="builders_level")
    for percent, least, most in ((2.7, 0.95, 1.0), (2.9, 0.0, 0.05)):
        grade = {"grade": {"min_percent": percent}}
        alone, both = (plan(body | grade)["answer"]["chance"] for body in (yard, read))
        assert 0.1 < alone < 0.9
        assert least <= both <= most


def test_a_profile_has_the_same_ground(client, conforms, yard, plan) -> None:
    downs = downs_of(yard, plan)
    downs[2] += 1.0
    body = read_over(yard, downs)
    planned = {s["at"]: s["ground"] for s in plan(body)["stations"]}
    asked = {k: v for k, v in body.items() if k in ("units", "route", "ground", "stations")}
    answer = client.post("/api/v1/profile", json=asked)
    assert answer.status_code == 200
    conforms("POST /profile", answer)
    stations = {s["at"]: s for s in answer.json["stations"]}
    assert {at: s["ground"] for at, s in stations.items()} == planned
    assert stations[60]["source"] == "reading"
    raster = {s["at"]: s["ground"] for s in plan(yard | {"stations": {"at": [60]}})["stations"]}
    assert raster[60] - planned[60] > 0.3 / 12, "the reading draws the ground down"


def test_a_slip_is_warned_of(yard, plan) -> None:
    downs = downs_of(yard, plan)
    downs[2] += 12
    (warning,) = plan(read_over(yard, downs))["warnings"]
    assert warning["code"] == "reading_below_raster"
    assert warning["pointer"] == "/ground/readings/2/down"
    assert warning["text"].startswith("The reading at 0+60 puts the ground 1")


@pytest.mark.parametrize(
    ("change", "pointer", "part"),
    [
        ({"readings": [{"at": 2, "down": 9}]}, "/ground/readings", "2"),
        (
            {"readings": [{"at": 2, "down": 9}, {"at": 30, "down": 9, "line": "B"}]},
            "/ground/readings/0",
            "at another station",
        ),
        ({"read_with": "rotary_laser"}, "/ground/read_with", "there are none"),
        (
            {"readings": [{"at": 2, "down": 9}, {"at": 30, "down": 9}], "read_with": "lidar_ql2"},
            "/ground/read_with",
            "line_level",
        ),
    ],
)
def test_readings_that_cannot_be_used_are_refused(change, pointer, part, yard, refused) -> None:
    problem = refused("/plan", json=yard | {"ground": yard["ground"] | change})
    assert pointer in [error["pointer"] for error in problem["errors"]]
    assert any(part in error["detail"] for error in problem["errors"])


def test_a_raster_without_error_takes_no_readings(yard, plan, refused) -> None:
    body = read_over(yard, [12, 13, 14, 15]) | {"accuracy": {"sigma": 0}}
    (error,) = refused("/plan", json=body)["errors"]
    assert error["pointer"] == "/ground/readings"


def test_depths_from_ground_read_by_hand_show_the_grade(client, yard, plan) -> None:
    """Where the raster alone tells the ground, a depth below it cannot."""
    body = read_over(yard, downs_of(yard, plan))
    for at, warned in ((60, False), (45, True)):
        check = {"plan": body, "as_dug": [{"at": 2, "depth": 12}, {"at": at, "depth": 12}]}
        answer = client.post("/api/v1/grade-check", json=check)
        assert answer.status_code == 200, answer.get_data(as_text=True)
        codes = [warning["code"] for warning in answer.json["warnings"]]
        assert ("depth_from_unread_ground" in codes) is warned


def test_a_reading_beyond_the_end_is_left_out_and_warned_of(yard, plan) -> None:
    """A line that was cut short keeps the readings on what is left of it."""
    downs = downs_of(yard, plan)
    body = read_over(yard, downs)
    alone = plan(body)
    body["ground"]["readings"].insert(0, {"at": 400, "down": 90})
    answer = plan(body)
    assert answer["stations"] == alone["stations"]
    assert [warning["code"] for warning in answer["warnings"]] == ["beyond_the_route"]


def test_a_branch_over_the_raster_stands_on_the_ground_that_the_readings_pin(
    yard, plan, tiff, upload
) -> None:
    """Where it joins, both lines tell one elevation, moved by the readings; and it is surer there
    than by the raster alone."""
    downs = downs_of(yard, plan)
    downs[2] += 1.5  # the ground about station 60 lies lower than the raster has it
    plain = plan(yard | {"stations": {"at": [60]}})
    join = next([s["x"], s["y"]] for s in plain["stations"] if s["at"] == 60)
    start = [join[0] + 6.0, join[1] + 3.0]
    branch = {
        "name": "sump", "joins_at": 60, "ground": yard["ground"], "pipe": yard["pipe"],
        "start": {"cover": 8},
        "route": yard["route"] | {"line": {"type": "LineString", "coordinates": [start, join]}},
    }  # fmt: skip
    stations = {"stations": {"at": [60]}}
    alone, both = (
        plan(body | stations | {"branches": [branch]}) for body in (yard, read_over(yard, downs))
    )

    def at_the_join(answer: dict) -> tuple[float, float]:
        main = next(s["ground"] for s in answer["stations"] if s["at"] == 60)
        return main, answer["branches"][0]["stations"][-1]["ground"]

    assert at_the_join(alone)[0] == pytest.approx(at_the_join(alone)[1], abs=1e-3)
    assert at_the_join(both)[0] == pytest.approx(at_the_join(both)[1], abs=1e-3)
    assert at_the_join(alone)[0] - at_the_join(both)[0] > 0.3 / 12
    read_there = both["branches"][0]["answer"]["chance_sentence"]
    assert "readings over it" in read_there
    other = upload(tiff(np.full((80, 100), 299.5, dtype=np.float32))).json["id"]
    on_another = branch | {"ground": branch["ground"] | {"raster": other}}
    apart = plan(read_over(yard, downs) | stations | {"branches": [on_another]})
    assert {s["ground"] for s in apart["branches"][0]["stations"]} == {round(299.5 / 0.3048, 6)}
