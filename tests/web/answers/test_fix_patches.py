"""Each fix is a whole patch: sent back, the request as patched is a yes, as rounded."""

from __future__ import annotations

import random
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

import pytest
from flask.testing import FlaskClient
from merge_patch import patched

from yardfall.core.fixes.loosening import QUANTITIES

PIPES = ("corrugated-single-4", "pvc-sdr35-4", "pvc-drain-6", "corrugated-dual-4", "pvc-sch40-3")


def plan(client: FlaskClient, body: dict) -> dict:
    answer = client.post("/api/v1/plan", json=body)
    assert answer.status_code == 200, (answer.json, body)
    return answer.json["answer"]


def mends(answer: dict) -> Iterator[dict]:
    yield from answer["fixes"]
    yield from (answer["fix_pair"] or ())[:1]


@pytest.mark.parametrize(
    ("target", "patch", "result"),
    [
        ({"a": "b"}, {"a": "c"}, {"a": "c"}),
        ({"a": "b", "b": "c"}, {"a": None}, {"b": "c"}),
        ({"a": [{"b": "c"}]}, {"a": [1]}, {"a": [1]}),
        ({"a": {"b": "c"}}, {"a": {"b": "d", "c": None}}, {"a": {"b": "d"}}),
        ({"e": None}, {"a": 1}, {"e": None, "a": 1}),
        ({}, {"a": {"bb": {"ccc": None}}}, {"a": {"bb": {}}}),
    ],
)
def test_the_patch_is_applied_as_its_standard_says(target: Any, patch: Any, result: Any) -> None:
    """Cases of RFC 7396, appendix A."""
    assert patched(target, patch) == result


def random_body(seed: int) -> dict:
    """A yard that hardly falls, with some limits stated and others left to the usual."""
    rng = random.Random(seed)
    us = rng.random() < 0.6
    depth, length = (1.0, 1.0) if us else (25.0, 0.3)  # from inches and feet to round metric ones
    readings = rng.randint(3, 9)
    step = rng.choice([5, 8, 10, 13]) * length
    slope, rough = rng.uniform(-0.5, 3.5), rng.choice([0.0, 0.5, 2.0, 6.0])

    def inches(least: float, most: float) -> float:
        return round(rng.uniform(least, most) * depth, 1 if us else 0)

    drops = [
        i * step / length * slope / 100 * 12 + rng.uniform(-rough, rough) for i in range(readings)
    ]
    at = [round(i * step, 3) for i in range(readings)]
    run = at[-1] if rng.random() < 0.7 else at[rng.randint(1, readings - 1)]
    body: dict[str, Any] = {
        "units": "us" if us else "si",
        "route": {"length": run},
        "accuracy": {"sigma": rng.choice([0, 0, 0.05 * depth])},
    }
    if rng.random() < 0.6:
        rows = [
            {"at": x, "down": round((8 + d) * depth, 2)} for x, d in zip(at, drops, strict=True)
        ]
        body["ground"] = {"kind": "level_line", "readings": rows}
    else:
        unit = 12 if us else 1000 / 25
        rows = [
            {"at": x, "elevation": round(100 - d / unit, 3)} for x, d in zip(at, drops, strict=True)
        ]
        body["ground"] = {"kind": "elevations", "points": rows}
    if rng.random() < 0.3:
        body["route"] = {
            "line": {
                "type": "LineString",
                "coordinates": [[0, 0], [0, run / 2], [run / 2, run / 2]],
            },
            "crs": "local",
        }
    body["pipe"] = {"code": rng.choice(PIPES)} | (
        {"min_percent": 1.5} if rng.random() < 0.2 else {}
    )
    cover = inches(2, 14)
    body["start"] = rng.choice([{"cover": cover}, {"cover": cover}, {"depth": cover + 8 * depth}])
    if "cover" in body["start"] and rng.random() < 0.2:
        body["start"]["shallowest_cover"] = round(cover * rng.uniform(0.6, 1), 1)
    limits: dict[str, Any] = {}
    if rng.random() < 0.5:
        limits["min_cover"] = inches(2, 10)
    if rng.random() < 0.4:
        limits["outlet_taper"] = round(rng.choice([0, 10, 0.2 * run / length]) * length, 2)
    if rng.random() < 0.4:
        limits["max_depth"] = inches(12, 40)
    elif rng.random() < 0.2:
        limits["dig_by"] = "trencher_18"
    if rng.random() < 0.2:
        limits["trench_width"] = 6 * depth if "6" not in body["pipe"]["code"] else 8 * depth
    if limits:
        body["limits"] = limits
    grade: dict[str, Any] = {}
    if rng.random() < 0.3:
        grade["min_percent"] = rng.choice([0.5, 1, 2])
    if rng.random() < 0.2:
        grade["max_percent"] = rng.choice([2.5, 3, 6])
    if rng.random() < 0.4:
        grade |= rng.choice([{"shape": "straight"}, {"shape": "least_dig", "max_breaks": 1}])
    if grade:
        body["grade"] = grade
    kind = rng.choice(["daylight", "pop_up", "pop_up", "curb", "tie_in", "dry_well"])
    body["outlet"] = {"kind": kind}
    if kind in ("curb", "tie_in") or rng.random() < 0.4:
        least = inches(0, 9)
        body["outlet"]["depth"] = {"min": least, "max": round(least + inches(0, 6), 1)}
    if rng.random() < 0.25:
        body["crossings"] = [
            {
                "at": at[1] if at[1] < run else run / 2,
                "what": "gas line",
                "top_depth": inches(10, 24),
                "size": 1 * depth,
                "clearance": 2 * depth,
                "pass": rng.choice(["over", "under"]),
            }
        ]
    if rng.random() < 0.2:
        body["stations"] = {"at": [round(run * 0.3, 2), round(run * 0.9, 2)]}
    return body


@pytest.mark.parametrize("seed", range(60))
def test_every_patch_sent_back_is_a_yes(client: FlaskClient, seed: int) -> None:
    body = random_body(seed)
    answer = client.post("/api/v1/plan", json=body)
    assert answer.status_code == 200, (answer.json, body)
    for fix in mends(answer.json["answer"]):
        again = plan(client, patched(body, fix["patch"]))
        assert again["verdict"] == "yes", (fix, body)
        assert "ground" not in fix["patch"]  # a reading is of the ground as it lies


def test_soil_to_lay_is_a_patch_that_changes_no_reading(client: FlaskClient) -> None:
    """40 ft level, 4 in of cover at the start: 4.8 in of fall at 1 % are 0.9 in more than the end
    of 12 in gives, and soil on the start gives them. No marks are measured from soil to come: the
    trench at the start is as much shallower as the soil is deep."""
    flat = [{"at": at, "elevation": 100} for at in (0, 20, 40)]
    body = even(
        route={"length": 40},
        ground={"kind": "elevations", "points": flat},
        start={"cover": 4},
        limits={"min_cover": 4, "outlet_taper": 10},
        outlet={"kind": "tie_in", "depth": {"min": 0, "max": 12}},
    )
    answer = plan(client, body)
    assert answer["verdict"] == "no"
    (soil,) = [fix for fix in answer["fixes"] if fix["change"] == "soil_start"]
    assert soil["text"].startswith("Lay soil on the start")
    assert list(soil["patch"]) == ["fills"]
    there = client.post("/api/v1/plan", json=patched(body, soil["patch"])).json
    assert there["answer"]["verdict"] == "yes"
    assert there["start"]["cover"] == pytest.approx(4)
    (laid,) = soil["patch"]["fills"]
    pipe_in = there["pipe"]["outside"]
    assert there["start"]["dig_depth"] == pytest.approx(4 + pipe_in - laid["depth"])
    assert there["stations"][0]["ground"] == 100


def even(units: str = "us", **parts: Any) -> dict:
    """100 ft that fall 3 %, everything else to be said."""
    ends = [{"at": 0, "elevation": 103}, {"at": 100, "elevation": 100}]
    ground = {"kind": "elevations", "points": ends}
    body = {"units": units, "route": {"length": 100}, "ground": ground, "accuracy": {"sigma": 0}}
    return body | {"pipe": {"code": "pvc-sdr35-4"}} | parts


def test_an_invert_is_rounded_to_the_side_that_works(client: FlaskClient) -> None:
    body = {
        "units": "us",
        "route": {"length": 142},
        "ground": {
            "kind": "level_line",
            "readings": [{"at": at, "down": down} for at, down in ((0, 10), (71, 24), (142, 27))],
        },
        "pipe": {"code": "pvc-drain-6"},
        "start": {"cover": 4},
        "limits": {"min_cover": 4, "outlet_taper": 28.4},
        "grade": {"min_percent": 0, "shape": "straight"},
        "outlet": {"kind": "pop_up", "invert": {"min": -3.138, "max": -2.622}},
        "accuracy": {"sigma": 0},
    }
    answer = plan(client, body)
    lower = next(fix for fix in answer["fixes"] if fix["change"] == "outlet_invert")
    assert lower["to"] == -4.02  # -4.014583 would just do
    for fix in answer["fixes"]:
        assert plan(client, patched(body, fix["patch"]))["verdict"] == "yes", fix


def test_a_deeper_start_is_listed_and_a_flatter_grade_names_no_pipe(client: FlaskClient) -> None:
    body = even(
        start={"depth": 10},
        limits={"min_cover": 6, "outlet_taper": 10},
        grade={"min_percent": 2, "shape": "straight"},
        outlet={"kind": "daylight", "depth": {"min": 0, "max": 12}},
    )
    answer = plan(client, body)
    changes = {fix["change"]: fix for fix in answer["fixes"]}
    assert changes["start_depth"]["to"] == 10.25  # 10.215 is the least
    assert changes["start_depth"]["text"].startswith("Start deeper")
    assert not any("SDR 35" in fix["text"] for fix in answer["fixes"])


def test_a_start_that_is_raised_past_its_shallowest_cover_takes_that_away(
    client: FlaskClient,
) -> None:
    flat = [{"at": 0, "elevation": 100}, {"at": 40, "elevation": 100}]
    body = even(
        route={"length": 40},
        ground={"kind": "elevations", "points": flat},
        start={"cover": 8, "shallowest_cover": 7},
        limits={"min_cover": 4, "max_depth": 30, "outlet_taper": 0},
        outlet={"kind": "tie_in", "depth": {"min": 0, "max": 14}},
    )
    (fix,) = [f for f in plan(client, body)["fixes"] if f["change"] == "start_cover"]
    # 4.215 in of pipe and 4.8 in of fall leave 4.985 in of cover.
    assert fix["patch"] == {"start": {"cover": 4.75, "shallowest_cover": None}}


def test_each_outlet_says_what_going_deeper_there_means(client: FlaskClient) -> None:
    told = {"curb": None, "tie_in": "tie in", "pop_up": "longer riser"}
    for kind, words in told.items():
        body = even(
            start={"cover": 12},
            limits={"min_cover": 12, "outlet_taper": 0},
            outlet={"kind": kind, "depth": {"min": 0, "max": 14}},
        )
        deeper = [f for f in plan(client, body)["fixes"] if f["change"] == "outlet_depth"]
        if words is None:  # the gutter is where it is
            assert not deeper
            continue
        assert words in deeper[0]["text"]


def test_a_dry_well_comes_late_and_never_reads_as_approval(client: FlaskClient) -> None:
    body = even(
        start={"cover": 12},
        limits={"min_cover": 12, "outlet_taper": 0},
        outlet={"kind": "pop_up", "depth": {"min": 7, "max": 10}},
    )
    answer = plan(client, body)
    well = answer["fixes"][-1]
    assert (well["change"], well["to"]) == ("outlet_kind", "dry_well")
    assert well["text"].startswith("Only if a test shows that the soil soaks the water away")
    again = plan(client, patched(body, well["patch"]))
    assert again["overall"] == "conditional"
    assert [advice["code"] for advice in answer["advice"]][-1] == "pump"


def test_a_branch_is_offered_no_end_of_its_own(client: FlaskClient) -> None:
    rising = [{"at": 0, "elevation": 100}, {"at": 60, "elevation": 102}]
    branch = {
        "name": "side",
        "joins_at": 10,
        "route": {"length": 60},
        "ground": {"kind": "elevations", "points": rising},
        "pipe": {"code": "pvc-sdr35-4"},
        "start": {"cover": 12},
        "limits": {"max_depth": 24},
    }
    body = even(start={"cover": 8}, outlet={"kind": "pop_up"}, branches=[branch])
    answer = client.post("/api/v1/plan", json=body).json["branches"][0]["answer"]
    assert answer["verdict"] == "no"
    ends = {"outlet_kind", "outlet_depth", "outlet_invert", "outlet_invert_max", "end_at"}
    assert not ends & {fix["change"] for fix in mends(answer)}


@pytest.mark.parametrize("of", ["ground", "pipe"])
def test_length_and_drop_alone_are_mended_by_what_their_request_can_say(
    client: FlaskClient, of: str
) -> None:
    """50 ft that drop 3 in are 0.5 %: a pipe laid at 1 % needs 6 in."""
    drop = {"kind": "length_and_drop", "of": of, "drop": 3}
    body = even(route={"length": 50}, ground=drop, start={"cover": 12}, outlet={"kind": "pop_up"})
    del body["accuracy"]
    body["limits"] = {"min_cover": 12, "outlet_taper": 0}
    if of == "pipe":
        body |= {"start": {"invert": 100}, "outlet": {"kind": "tie_in"}}
    answer = plan(client, body)
    assert answer["verdict"] == "no"
    assert answer["fixes"]
    for fix in mends(answer):
        assert plan(client, patched(body, fix["patch"]))["verdict"] == "yes", fix


@pytest.mark.parametrize("seed", range(60))
def test_every_depth_of_a_fix_is_a_mark_on_a_tape(client: FlaskClient, seed: int) -> None:
    """Quarter inches, or eighths where those go too far; 5 mm or 1 mm: and told as they are."""
    body = random_body(seed)
    mark = 8 if body["units"] == "us" else 1
    answer = plan(client, body)
    for fix in (*answer["fixes"], *(answer["fix_pair"] or ())):
        if QUANTITIES.get(fix["change"], "depth") != "depth":
            continue
        assert fix["to"] * mark == pytest.approx(round(fix["to"] * mark), abs=1e-6), fix
        assert tape_words(fix["to"], body["units"]) in fix["text"], fix


def tape_words(value: float, units: str) -> str:
    """4.75 as `4 3/4 in`: Python's own fractions write it."""
    if units == "si":
        return f"{value:.0f} mm"
    whole, part = divmod(Fraction(value), 1)
    words = [str(whole)] if whole or not part else []
    return " ".join([*words, *([str(part)] if part else [])]) + " in"


def test_less_cover_is_offered_by_the_mark_that_holds(client: FlaskClient) -> None:
    """Readings at every 12 ft, 5 in of cover asked for: 4.75 in are a no, 4.5 in are a yes.

    4.7 in would do, and no tape shows it.
    """
    downs = [100.07, 99.74, 99.69, 99.36, 99.23, 99.45]
    rows = [{"at": 12.0 * i, "elevation": z} for i, z in enumerate(downs)]
    body = {
        "units": "us",
        "route": {"length": 60},
        "ground": {"kind": "elevations", "points": rows},
        "pipe": {"code": "pvc-sdr35-4"},
        "start": {"cover": 9},
        "grade": {"min_percent": 1, "shape": "least_dig", "max_breaks": 5},
        "limits": {"min_cover": 5, "max_depth": 30, "outlet_taper": 6, "trench_width": 10},
        "outlet": {"kind": "pop_up", "depth": {"min": 5, "max": 13}},
    }
    (fix,) = [one for one in plan(client, body)["fixes"] if one["change"] == "min_cover"]
    assert fix["patch"] == {"limits": {"min_cover": 4.5}}
    assert "4 1/2 in" in fix["text"]
    for cover, verdict in ((4.75, "no"), (4.7, "yes"), (4.5, "yes")):
        told = patched(body, {"limits": {"min_cover": cover}})
        assert plan(client, told)["verdict"] == verdict


def test_an_end_before_a_gas_line_says_so_and_keeps_what_lies_before_it(
    client: FlaskClient,
) -> None:
    """The ground falls to 60 ft and rises again. A water line at 20 ft is passed, a gas line at
    60 ft would be the end: the line ends at 50 ft, clear of it, and the answer tells."""
    downs = [0, 8, 16, 24, 32, 42, 50, 30, 20]
    rows = [{"at": 10.0 * i, "elevation": 100 - d / 12} for i, d in enumerate(downs)]
    gas = {"at": 60, "what": "gas line", "top_depth": 40, "size": 1, "clearance": 12}
    water = gas | {"at": 20, "what": "water line"}
    body = even(
        route={"length": 80},
        ground={"kind": "elevations", "points": rows},
        start={"cover": 6},
        limits={"max_depth": 30, "min_cover": 4, "outlet_taper": 10},
        outlet={"kind": "daylight"},
        crossings=[water | {"pass": "over"}, gas | {"pass": "over"}],
    )
    answer = plan(client, body)
    (fix,) = [one for one in answer["fixes"] if one["change"] == "end_at"]
    words = "before the gas line at 0+60, which it then does not cross."
    assert fix["text"] == f"End the line at 0+50 instead of 0+80, {words}"
    assert fix["at"] == 60
    assert [one["what"] for one in fix["patch"]["crossings"]] == ["water line"]
