"""Branches: the whole tree against one linear program over every pipe at once."""

from __future__ import annotations

import copy
from collections.abc import Callable

import numpy as np
import pytest
from flask.testing import FlaskClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from patio import patio
from scipy.optimize import linprog

URL = "/api/v1/plan"
GRADE = 0.0125
OUTSIDE, INSIDE = 4.6, 4.0
WALL = (OUTSIDE - INSIDE) / 2


def line(rng: np.random.Generator, n: int, high: float) -> dict:
    """A line of our own invention on true elevations, ft."""
    at = np.concatenate([[0.0], np.cumsum(rng.uniform(5, 15, n - 1))])
    z = high - 0.02 * at + rng.normal(0, 0.15, n)
    return {
        "route": {"length": float(at[-1])},
        "ground": {
            "kind": "elevations",
            "points": [{"at": float(a), "elevation": float(e)} for a, e in zip(at, z, strict=True)],
        },
        "pipe": {"code": "corrugated-single-4"},
        "start": {"cover": float(rng.uniform(5, 12))},
        "limits": {"min_cover": 5, "max_depth": float(rng.uniform(20, 34)), "outlet_taper": 0},
        "grade": {"min_percent": 100 * GRADE, "shape": "least_dig", "max_breaks": 5},
    }


def a_tree(seed: int) -> dict:
    """Three levels: a main, a branch on it, and a branch on that."""
    rng = np.random.default_rng(seed)
    main, branch, twig = line(rng, 5, 100.0), line(rng, 4, 100.0), line(rng, 4, 100.3)

    def joined(child: dict, parent: dict, name: str) -> dict:
        points = parent["ground"]["points"]
        at = points[int(rng.integers(1, len(points) - 1))]
        own = child["ground"]["points"]
        shift = at["elevation"] - own[-1]["elevation"]
        for p in own:
            p["elevation"] += shift
        return child | {"name": name, "joins_at": at["at"]}

    branch = joined(branch, main, "branch") | {"branches": [joined(twig, branch, "twig")]}
    main |= {
        "units": "us",
        "outlet": {"kind": "tie_in", "depth": {"min": 0, "max": float(rng.uniform(8, 34))}},
        "branches": [branch],
    }
    return main


def a_line_exists(tree: dict, spare: float = 0.0) -> bool:
    """One linear program over the inverts (ft) of all pipes, joins included.

    With a spare, every lower limit is as much higher, but for a start's own, which is held.
    """
    bounds, rows, most, start = [], [], [], []

    def add(one: dict) -> tuple[int, list[float]]:
        first = len(bounds)
        points = one["ground"]["points"]
        for i, p in enumerate(points):
            hi = p["elevation"] - (one["limits"]["min_cover"] + OUTSIDE - WALL) / 12
            lo = p["elevation"] - (one["limits"]["max_depth"] - WALL) / 12 + spare
            if i == 0:
                fixed = p["elevation"] - (one["start"]["cover"] + OUTSIDE - WALL) / 12
                lo, hi = max(lo, fixed), min(hi, fixed)
            if i == len(points) - 1 and "outlet" in one:
                depth = one["outlet"]["depth"]
                lo = max(lo, p["elevation"] - (depth["max"] - WALL) / 12 + spare)
                hi = min(hi, p["elevation"] - (depth["min"] - WALL) / 12)
            bounds.append((lo, hi))
            if i:
                rows.append({first + i: 1, first + i - 1: -1})
                most.append(-GRADE * (p["at"] - points[i - 1]["at"]))
        at = [p["at"] for p in points]
        for child in one.get("branches", []):
            end, _ = add(child)
            rows.append({first + at.index(child["joins_at"]): 1, end: -1})
            most.append(0.0)
        start.append(first)
        return first + len(points) - 1, at

    add(tree)
    if any(lo > hi for lo, hi in bounds):
        return False
    matrix = np.zeros((len(rows), len(bounds)))
    for r, row in enumerate(rows):
        for c, value in row.items():
            matrix[r, c] = value
    return linprog(np.zeros(len(bounds)), matrix, most, bounds=bounds).status == 0


def verdicts(answer: dict) -> list[dict]:
    return [answer["answer"], *(v for b in answer["branches"] for v in verdicts(b))]


@settings(
    max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(seed=st.integers(0, 10**6))
def test_three_levels_against_a_linear_program(client: FlaskClient, seed: int) -> None:
    tree = a_tree(seed)
    answer = client.post(URL, json=tree)
    assert answer.status_code == 200, answer.json
    if any(abs(v["spare"]) < 1e-4 for v in verdicts(answer.json)):
        return  # the linear program's own tolerance
    assert (answer.json["whole"]["verdict"] == "yes") == a_line_exists(tree)


def test_a_branch_that_cannot_join_is_explained(client: FlaskClient, yard_request: dict) -> None:
    """The branch starts so deep that at the join it lies below the main's depth limit."""
    yard_request["limits"] = {"min_cover": 6, "max_depth": 20, "outlet_taper": 13}
    yard_request["branches"] = [
        {
            "name": "patio drain",
            "joins_at": 26,
            "route": {"length": 40},
            "ground": {"kind": "slopes", "runs": [{"from": 0, "to": 40, "percent": 0}]},
            "pipe": {"code": "corrugated-single-4"},
            "start": {"depth": 19},
        }
    ]
    answer = client.post(URL, json=yard_request).json
    assert answer["whole"]["verdict"] == "no"
    assert answer["answer"]["pinch"]["turns_on"] == {"at": 26, "limit": "branch patio drain"}
    assert "The branch patio drain at 0+26 forces" in answer["answer"]["sentence"]
    join = next(s for s in answer["stations"] if s["at"] == 26)
    assert "join" in join["why"]
    whole = answer["whole"]
    assert whole["pinch"]["across_a_join"]
    assert whole["pinch"]["turns_on"]["line"] == ["patio drain"]
    assert whole["pinch"]["turns_on"]["limit"] == "start depth"
    assert whole["spare"] == pytest.approx(answer["answer"]["spare"])
    assert whole["chance"] < 0.05
    assert "Branch patio drain would have to come in" in whole["sentence"]
    # Coming in that much higher is just enough, and by a tenth of an inch less is not.
    for less, fits in ((0.0, True), (0.1, False)):
        raised = copy.deepcopy(yard_request)
        raised["branches"][0]["start"]["depth"] -= whole["pinch"]["raise_branch"] - less + 1e-4
        again = client.post(URL, json=raised).json
        assert (again["whole"]["spare"] >= 0) is fits


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(seed=st.integers(0, 10**6))
def test_the_spare_of_the_whole_is_that_of_the_linear_program(
    client: FlaskClient, seed: int
) -> None:
    """Every lower limit raised by the spare still leaves a line, by a little more none does."""
    tree = a_tree(seed)
    answer = client.post(URL, json=tree).json
    spare = answer["whole"]["spare"]
    pinch = answer["whole"]["pinch"]
    names = [[], ["branch"], ["branch", "twig"]]
    assert pinch["upstream"]["line"] in names
    assert len(pinch["upstream"]["line"]) >= len(pinch["downstream"]["line"])
    for more, fits in ((-0.01, True), (0.01, False)):
        assert a_line_exists(tree, (spare + more) / 12) is fits


def test_a_pinch_across_a_join_lies_where_it_says(client: FlaskClient, yard_request: dict) -> None:
    """spare = cover at the branch's start − fall over both lines − the outlet's limit, by hand."""
    level = {"kind": "elevations", "points": [{"at": 0, "elevation": 100}]}
    main, side = copy.deepcopy(level), copy.deepcopy(level)
    main["points"].append({"at": 80, "elevation": 99.5})
    side["points"] = [{"at": 0, "elevation": 99.2}, {"at": 60, "elevation": 99.75}]
    yard_request |= {
        "route": {"length": 80},
        "ground": main,
        "start": {"cover": 6},
        "limits": {"min_cover": 4, "outlet_taper": 0},
        "grade": {"min_percent": 1, "shape": "least_dig", "max_breaks": 4},
        "outlet": {"kind": "tie_in", "invert": {"min": 97.5}},
        "branches": [
            {
                "name": "side",
                "joins_at": 40,
                "route": {"length": 60},
                "ground": side,
                "pipe": {"code": "corrugated-single-4"},
                "start": {"cover": 6},
                "grade": {"min_percent": 1, "shape": "least_dig", "max_breaks": 4},
            }
        ],
    }
    whole = client.post(URL, json=yard_request).json["whole"]
    start = 99.2 - (6 + OUTSIDE - WALL) / 12
    spare = (start - 0.01 * (60 + 40) - 97.5) * 12
    assert whole["spare"] == pytest.approx(spare, abs=1e-6)
    assert spare < 0
    assert (whole["pinch"]["upstream"]["line"], whole["pinch"]["upstream"]["at"]) == (["side"], 0)
    assert (whole["pinch"]["downstream"]["line"], whole["pinch"]["downstream"]["at"]) == ([], 80)
    assert whole["pinch"]["raise_branch"] == pytest.approx(-spare, abs=1e-5)
    assert (
        "between 0+00 of branch side (cover at the start) and 0+80 of the main line (invert at the "
        "outlet)" in whole["sentence"]
    )


def test_one_chance_for_the_whole(client: FlaskClient) -> None:
    """The whole's verdict follows its chance, which no line's own can be below."""
    seen = set()
    for seed in range(20):
        tree = a_tree(seed)
        tree["accuracy"] = {"sigma": (0.2, 1)[seed % 2]}
        answer = client.post(URL, json=tree).json
        whole = answer["whole"]
        chance = whole["chance"]
        seen.add(whole["verdict"])
        assert (whole["verdict"] == "too_close") is (0.05 < chance < 0.95)
        if chance >= 0.95:
            assert whole["verdict"] == "yes"
        below = answer["branches"][0]["whole"]["chance"]
        assert chance <= below + 1e-9
        assert "chance that all pipes work together" in whole["sentence"]
    assert seen == {"yes", "no", "too_close"}


def test_a_low_inlet_drowned_by_a_high_one(client: FlaskClient, yard_request: dict) -> None:
    """A patio grate on a branch, lower than the pop-up's lid by an inch, and a roof above it."""
    yard_request["inflows"] = [
        {"kind": "roof", "name": "roof", "area": 2000, "rain_rate": 7, "duration": 5}
    ]
    lid = -22 / 12
    rain = {"kind": "yard", "area": 300, "rain_rate": 7, "coefficient": 0.9, "duration": 60}
    openings = [{"what": "patio grate", "elevation": -16 / 12, "at": 2}]
    yard_request["branches"] = [patio(10, head={"openings": openings}, inflows=[rain])]
    answer = client.post(URL, json=yard_request).json
    (roof,) = answer["inlets"]
    grate = next(i for i in answer["branches"][0]["inlets"] if i["what"] == "patio grate")
    assert roof["what"] == "roof"
    assert roof["still_level"] == pytest.approx(max(lid, roof["still_level"]))
    assert grate["drowned"] == (grate["spare"] < 0)
    assert grate["drowned"]
    assert grate["opening"] - grate["water_level"] == pytest.approx(grate["spare"] / 12, abs=1e-5)
    assert "0+02 (patio grate)" in grate["sentence"]
    codes = [w["code"] for w in answer["branches"][0]["warnings"]]
    assert "inlet_drowned" in codes
    assert "rain_hides_bursts" in codes, "an hour's rain is told on a branch as on the main"
    (stretch,) = answer["branches"][0]["water"]["stretches"]
    assert len(stretch["bases"]) == 2
    # Without the roof's water the grate keeps its head.
    del yard_request["inflows"]
    alone = client.post(URL, json=yard_request).json["branches"][0]["inlets"]
    spare = next(i["spare"] for i in alone if i["what"] == "patio grate")
    assert spare > grate["spare"]


def test_a_branch_may_join_at_the_very_end(client: FlaskClient, yard_request: dict) -> None:
    """Its water meets the line's below the line, and no end that cuts a branch off is a fix."""
    yard_request["branches"] = [
        {
            "name": "last",
            "joins_at": 52,
            "route": {"length": 10},
            "ground": {"kind": "slopes", "runs": [{"from": 0, "to": 10, "percent": -4}]},
            "pipe": {"code": "corrugated-single-4"},
            "start": {"cover": 3},
            "limits": {"min_cover": 2},
            "inflows": [{"kind": "other", "rate": 10}],
        }
    ]
    answer = client.post(URL, json=yard_request)
    assert answer.status_code == 200, answer.json
    assert answer.json["branches"][0]["water"]["stretches"][0]["flow"] == pytest.approx(10)
    assert all(fix["change"] != "end_at" for fix in answer.json["answer"]["fixes"])


def test_an_opening_beyond_its_line_is_named(client: FlaskClient, yard_request: dict) -> None:
    yard_request["head"] = {"openings": [{"what": "grate", "elevation": 0, "at": 60}]}
    answer = client.post(URL, json=yard_request)
    assert answer.status_code == 422
    assert answer.json["errors"][0]["pointer"] == "/head/openings/0/at"


def test_a_branch_comes_in_crown_to_crown(client: FlaskClient, yard_request: dict) -> None:
    yard_request["pipe"] = {"code": "pvc-sdr35-6"}
    yard_request["grade"] = {"min_percent": 1}
    yard_request["outlet"] = {"kind": "dry_well"}
    yard_request["inflows"] = [{"kind": "pump", "rate": 20}]
    yard_request["branches"] = [
        {
            "name": "side",
            "joins_at": 39,
            "route": {"length": 30},
            "ground": {"kind": "slopes", "runs": [{"from": 0, "to": 30, "percent": -1}]},
            "pipe": {"code": "pvc-sdr35-4"},
            "start": {"cover": 8},
            "inflows": [{"kind": "other", "rate": 15}],
        }
    ]
    answer = client.post(URL, json=yard_request).json
    (branch,) = answer["branches"]
    assert branch["drop"] == pytest.approx(5.915 - 3.975)
    main_join = next(s for s in answer["stations"] if s["at"] == 39)
    # Each line counts from its own level; the ground at the join is the same ground.
    down_main = main_join["ground"] - main_join["invert"]
    end = branch["stations"][-1]
    assert down_main - (end["ground"] - end["invert"]) >= branch["drop"] / 12 - 1e-6
    flows = [(s["from"], s["flow"]) for s in answer["water"]["stretches"]]
    assert flows == [(0, pytest.approx(20)), (39, pytest.approx(35))]


def test_a_join_beyond_the_line_is_named(client: FlaskClient, yard_request: dict) -> None:
    yard_request["branches"] = [
        {
            "name": "far",
            "joins_at": 60,
            "route": {"length": 10},
            "ground": {"kind": "slopes", "runs": [{"from": 0, "to": 10, "percent": -1}]},
            "pipe": {"code": "pvc-sdr35-4"},
            "start": {"cover": 8},
        }
    ]
    answer = client.post(URL, json=yard_request)
    assert answer.status_code == 422
    assert answer.json["errors"][0]["pointer"] == "/branches/0/joins_at"


def test_a_tree_is_told_in_one_short_sentence(client: FlaskClient) -> None:
    """The strip over the yard holds two lines; the whole sentence stands in a sheet."""
    seen = set()
    for seed in range(60):
        found = client.post(URL, json=a_tree(seed)).json
        whole = found["whole"]
        seen.add(whole["overall"])
        assert len(whole["brief"]) <= 200, whole["brief"]
        if whole["overall"] == "yes":
            assert whole["brief"].startswith("Yes: the main line and its 2 branches run, with ")
            assert f"{round(whole['spare'] + 1e-9, 1):g} in of fall to spare" in whole["brief"]
        elif found["answer"]["overall"] == "no":
            assert whole["brief"].startswith(f"Main line: {found['answer']['sentence']}")
    assert {"yes", "no"} <= seen


def even_slope_line(length: float, from_: float, to: float, pipe: str, cover: float) -> dict:
    points = [{"at": 0, "elevation": from_}, {"at": length, "elevation": to}]
    return {
        "route": {"length": length},
        "ground": {"kind": "elevations", "points": points},
        "pipe": {"code": pipe},
        "start": {"cover": cover},
        "grade": {"min_percent": 1, "shape": "straight"},
        "limits": {"min_cover": 6, "max_depth": 36},
    }


def a_high_branch(drop: float | None = None, **grade: float) -> dict:
    """A 6 in main that falls ahead of its branch: at 1 % that would end 7 to 8 in above it."""
    main = even_slope_line(80, 50, 47.6, "pvc-sdr35-6", 10)
    side = even_slope_line(30, 49.9, 49.2, "pvc-sdr35-4", 8) | {"name": "side", "joins_at": 40}
    main["outlet"] = {"kind": "tie_in", "depth": {"min": 0, "max": 30}}
    side["grade"] |= grade
    if drop is not None:
        side["drop"] = drop
    return main | {"units": "us", "branches": [side]}


def join_of(answer: dict) -> tuple[float, float]:
    """Inverts at the join, ft: the branch's and the main's."""
    there = next(s for s in answer["stations"] if s["at"] == 40)
    return answer["branches"][0]["stations"][-1]["invert"], there["invert"]


@pytest.mark.parametrize("drop", [None, 0, 3])
@pytest.mark.parametrize("shape", ["straight", "least_dig"])
def test_a_branch_falls_right_to_its_join(
    plan: Callable[[dict], dict], drop: float | None, shape: str
) -> None:
    """The drop told is the difference of the two inverts, and the one that was asked for: crown to
    crown 5.915 - 3.975 in (inside diameters), else as stated."""
    request = a_high_branch(drop)
    request["branches"][0]["grade"]["shape"] = shape
    answer = plan(request)
    (branch,) = answer["branches"]
    its, main = join_of(answer)
    assert (its - main) * 12 == pytest.approx(1.94 if drop is None else drop, abs=2e-4)
    assert branch["drop"] == pytest.approx((its - main) * 12, abs=2e-4)
    assert branch["steps_down"] is None
    # The pipe starts at 49.9 - (8 + 4.215 - 0.12)/12 and falls along all 30 ft.
    start = 49.9 - (8 + 4.215 - 0.12) / 12
    assert branch["stations"][0]["invert"] == pytest.approx(start, abs=1e-5)
    assert sum(run["fall"] for run in branch["grade_runs"]) == pytest.approx(
        (start - its) * 12, abs=1e-4
    )


def test_a_branch_that_may_not_fall_so_far_steps_down(plan: Callable[[dict], dict]) -> None:
    """At most 2 % takes it down 7.2 in over 30 ft; the rest is a piece at 45 degrees, root 2 of
    its height, and one more elbow. Both stand in the bill."""
    high, low = plan(a_high_branch(max_percent=2)), plan(a_high_branch())
    (branch,), (laid,) = high["branches"], low["branches"]
    its, main = join_of(high)
    down = (its - main) * 12 - 1.94
    assert down > 1
    assert branch["drop"] == pytest.approx((its - main) * 12, abs=2e-4)
    step = branch["steps_down"]
    assert step["height"] == pytest.approx(down, abs=2e-4)
    assert step["piece"] == pytest.approx(down * 2**0.5, abs=3e-4)
    assert "one more 45 degree elbow" in step["sentence"]

    def elbows(line: dict) -> int:
        parts = line["quantities"]["fittings"] + line["quantities"]["outlet_parts"]
        return sum(part["count"] for part in parts if part["part"] == "elbow_45")

    assert elbows(branch) == elbows(laid) + 1
    along = branch["grade_runs"][0]["percent"] / 100
    sloped = 30 * (1 + along**2) ** 0.5
    assert branch["quantities"]["pipe"]["laid"] == pytest.approx(
        sloped + step["piece"] / 12, abs=1e-4
    )
