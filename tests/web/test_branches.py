"""Branches: the whole tree against one linear program over every pipe at once."""

from __future__ import annotations

import numpy as np
import pytest
from flask.testing import FlaskClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
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


def a_line_exists(tree: dict) -> bool:
    """One linear program over the inverts (ft) of all pipes, joins included."""
    bounds, rows, most, start = [], [], [], []

    def add(one: dict) -> tuple[int, list[float]]:
        first = len(bounds)
        points = one["ground"]["points"]
        for i, p in enumerate(points):
            hi = p["elevation"] - (one["limits"]["min_cover"] + OUTSIDE - WALL) / 12
            lo = p["elevation"] - (one["limits"]["max_depth"] - WALL) / 12
            if i == 0:
                fixed = p["elevation"] - (one["start"]["cover"] + OUTSIDE - WALL) / 12
                lo, hi = max(lo, fixed), min(hi, fixed)
            if i == len(points) - 1 and "outlet" in one:
                depth = one["outlet"]["depth"]
                lo = max(lo, p["elevation"] - (depth["max"] - WALL) / 12)
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
    assert "forced down at 0+26 by branch patio drain" in answer["answer"]["sentence"]
    join = next(s for s in answer["stations"] if s["at"] == 26)
    assert "join" in join["why"]


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
