"""The grade may change where what bears on the ground begins and ends: against a linear program."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import linprog

OUTSIDE_IN, WALL_IN = 4.215, 0.12
"""4 in PVC SDR 35, ASTM D3034, table 1: outside diameter and least wall."""


def fits(body: dict, changes_ft: list[float]) -> bool:
    """Whether any line has its changes of grade there and keeps every limit, in inches.

    Unknowns are the inverts of the start, the changes and the end; between them it is straight, and
    the limits are held at both sides of where one begins.
    """
    rows = body["ground"]["points"]
    at, z = [r["at"] for r in rows], [12 * r["elevation"] for r in rows]
    length, limits = body["route"]["length"], body["limits"]
    ends_ft = np.array([0.0, *changes_ft, length])
    bounds = []  # (station, highest invert, lowest invert)
    above, below = OUTSIDE_IN - WALL_IN, WALL_IN
    run_out_ft = length - limits["outlet_taper"]
    edges = [x for cover in body["covers"] for x in (cover["from"], cover["to"])]
    for x in sorted({*at, *edges, run_out_ft}):
        ground = float(np.interp(x, at, z))
        cover = limits["min_cover"] if x <= run_out_ft else 0.0
        for one in body["covers"]:
            if one["from"] <= x <= one["to"]:
                cover = max(cover, one["cover"])
        if x < length:
            bounds.append((x, ground - cover - above, ground - limits["max_depth"] + below))
    end, depth = z[-1], body["outlet"]["depth"]
    bounds.append((length, end - depth["min"] + below, end - depth["max"] + below))
    a, b = [], []
    for x, high, low in bounds:
        share = np.array([np.interp(x, ends_ft, unit) for unit in np.eye(len(ends_ft))])
        a += [share, -share]
        b += [high, -low]
    for i, run_ft in enumerate(np.diff(ends_ft)):
        row = np.zeros(len(ends_ft))
        row[i], row[i + 1] = -1, 1
        a.append(row)
        b.append(-body["grade"]["min_percent"] / 100 * 12 * run_ft)
    start = z[0] - body["start"]["cover"] - above
    free = [(start, start)] + [(None, None)] * (len(ends_ft) - 1)
    return linprog(np.zeros(len(ends_ft)), a, b, bounds=free).status == 0


def drive(from_ft: float, to_ft: float, cover_in: float, outlet_in: float) -> dict:
    ground = [(0.0, 100.0), (30.0, 99.3), (60.0, 98.9)]
    return {
        "units": "us",
        "route": {"length": 60.0},
        "ground": {
            "kind": "elevations",
            "points": [{"at": x, "elevation": z} for x, z in ground],
        },
        "pipe": {"code": "pvc-sdr35-4"},
        "start": {"cover": 8},
        "grade": {"min_percent": 0.5, "shape": "least_dig", "max_breaks": 5},
        "limits": {"min_cover": 4, "max_depth": 24, "outlet_taper": 5},
        "outlet": {"kind": "pop_up", "depth": {"min": 6, "max": outlet_in}},
        "covers": [
            {"from": from_ft, "to": to_ft, "cover": cover_in, "what": "drive", "wheels": True}
        ],
        "accuracy": {"sigma": 0},
    }


@pytest.mark.parametrize("edges", [(8.0, 12.0), (20.0, 34.0), (40.0, 45.0)])
@pytest.mark.parametrize("cover_in", [9, 12, 15])
@pytest.mark.parametrize("outlet_in", [8, 10, 11, 13])
def test_the_grade_changes_at_the_edges_of_a_drive(plan, edges, cover_in, outlet_in) -> None:
    body = drive(*edges, cover_in, outlet_in)
    answer = plan(body)
    assert (answer["answer"]["verdict"] == "yes") == fits(body, sorted([30.0, *edges]))
    assert set(edges) <= {station["at"] for station in answer["stations"]}


def test_a_drive_near_the_start_needs_a_change_at_its_edge(plan) -> None:
    """Changes at the readings alone leave no line."""
    body = drive(8.0, 12.0, 12, 11)
    assert not fits(body, [30.0])
    assert fits(body, [8.0, 12.0, 30.0])
    assert plan(body)["answer"]["verdict"] == "yes"


def test_a_line_that_needs_a_change_between_stations_is_not_told_to_change_more_often(plan) -> None:
    """12 in of cover until 0+40 and at most 17 in of trench leave 5.9 in to fall from 0+30 to 0+40;
    as steep as that it ends too deep, and no station lies where it could lie flatter again."""
    body = drive(8.0, 12.0, 4, 13) | {"covers": []}
    ground = [(0.0, 100 + 4 / 12), (30.0, 100.0), (60.0, 100 - 20 / 12)]
    body["ground"]["points"] = [{"at": x, "elevation": z} for x, z in ground]
    body["limits"] = {"min_cover": 12, "max_depth": 17, "outlet_taper": 20}
    body["start"]["cover"] = 12
    assert not fits(body, [30.0])
    assert fits(body, [30.0, 40.0])
    found = plan(body)["answer"]
    assert found["verdict"] == "no"
    assert found["sentence"].endswith(
        "A line that also changes grade between these stations would fit: ask for stations closer "
        "together."
    )
    assert plan(body | {"stations": {"at": [40]}})["answer"]["verdict"] == "yes"
