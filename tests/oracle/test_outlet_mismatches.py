"""Requests about a line's end on which the oracle and the service once disagreed, and now agree."""

from __future__ import annotations

import copy
from typing import Any

import pytest
import trees
from changes import fixed, unlisted
from runner import differences, spare_faults
from truth import figures, job
from truth.hand_rule import Rule

Body = dict[str, Any]
NO_ERRORS = {"sigma": 0, "common": 0}


def elevations(*points: tuple[float, float]) -> Body:
    return {"kind": "elevations", "points": [{"at": a, "elevation": e} for a, e in points]}


def test_the_end_must_lie_deep_and_so_the_line_passes_low_over_a_pipe(
    service: Any, pipes: Body
) -> None:
    """11.4 in were told. By hand, levels of the trench bottom in inches: with 2 in of soil on
    4.6 in of pipe it is at -23.454 at 0+03, and 7 in down at the end at -32.469, so at
    0+12 at -23.454 - 9/17 × 9.015 = -28.227; over the gas line -39.415 will do: 11.188 left."""
    downs = ((0, 12), (3, 16.854), (20, 25.469))
    body: Body = {
        "units": "us",
        "route": {"length": 20},
        "ground": {"kind": "level_line", "readings": [{"at": a, "down": d} for a, d in downs]},
        "pipe": {"code": "corrugated-single-4"},
        "start": {"depth": 7},
        "outlet": {"kind": "pop_up"},
        "accuracy": NO_ERRORS,
    }
    crossing = {"at": 12, "top_depth": 20, "size": 1, "clearance": 2, "pass": "over"}
    body["crossings"] = [crossing | {"what": "gas line"}]
    assert service(body)["answer"]["spare"] == pytest.approx(11.188, abs=1e-3)
    assert not differences(body, service, pipes)
    body["crossings"][0]["top_depth"] -= 11.3  # as was told, and a little less
    rule = Rule(job.read(body, pipes))
    assert not rule.feasible(rule.last)
    assert service(body)["answer"]["verdict"] == "no"


def test_the_spare_is_that_of_the_way_the_line_is_drawn(service: Any, pipes: Body) -> None:
    """Drawn under the gas line, it was told what a line over it would leave: 2.37 in, not 3.38."""
    points = (0, 100.0144), (13.5, 99.6562), (16.5, 99.5753), (18, 99.5521), (21, 99.5989)
    body: Body = {
        "units": "us",
        "route": {"length": 30},
        "ground": elevations(*points, (25.5, 99.4533), (27, 99.5856), (30, 99.3857)),
        "pipe": {"code": "corrugated-single-6", "min_percent": 0.3},
        "start": {"cover": 4},
        "outlet": {"kind": "daylight"},
        "accuracy": NO_ERRORS,
    }
    crossing = {"at": 28.31, "top_depth": 11, "size": 4, "clearance": 0, "pass": "either"}
    body["crossings"] = [crossing | {"what": "gas line"}]
    answered = service(body)
    assert not differences(body, service, pipes)
    body["crossings"][0]["pass"] = answered["crossings"][0]["pass"]
    assert service(body)["answer"]["spare"] == answered["answer"]["spare"]


def test_no_change_of_grade_leaves_what_one_straight_grade_leaves(
    service: Any, pipes: Body
) -> None:
    """`least_dig` without a change told 263.9 mm and `straight` 261.1, of the same only line."""
    body: Body = {
        "units": "si",
        "route": {"length": 9},
        "ground": elevations((0, 99.963), (1.8, 99.925), (8.55, 99.5182), (9, 99.5035)),
        "pipe": {"code": "pvc-sdr35-4"},
        "start": {"depth": 325},
        "outlet": {"kind": "tie_in", "depth": {"min": 125, "max": 375}},
        "limits": {"max_depth": 600, "min_cover": 0, "outlet_taper": 3},
        "grade": {"shape": "least_dig", "min_percent": 1, "max_breaks": 0},
        "stations": {"every": 3},
        "accuracy": NO_ERRORS,
    }
    told = service(body)["answer"]["spare"]
    body["grade"] = {"shape": "straight", "min_percent": 1}
    assert service(body)["answer"]["spare"] == pytest.approx(told, abs=1e-3)
    rule = Rule(job.read(body, pipes))
    assert not spare_faults(told, rule, rule.first)


def test_where_no_ditch_leads_out_the_bank_is_as_deep_as_the_trench(
    service: Any, pipes: Body
) -> None:
    """The last ground falls 1.02 %: 9 m of ditch lead 91.5 mm out, and the line needs 148. It was
    held to a ditch of 14.75 m, longer than any, but a bank bares the whole pipe with its bedding,
    107.061 + 50 mm, as on level ground."""
    points = (0, 100.0515), (7.8, 99.7316), (9, 99.6753), (10.8, 99.6206), (11.4, 99.631)
    body: Body = {
        "units": "si",
        "route": {"length": 12},
        "ground": elevations(*points, (12, 99.6084)),
        "pipe": {"code": "pvc-sdr35-4", "min_percent": 0},
        "start": {"cover": 100},
        "outlet": {"kind": "daylight"},
        "limits": {"outlet_taper": 3.9, "bedding": 50},
        "stations": {"every": 3},
        "accuracy": NO_ERRORS,
    }
    (bank,) = [c for c in service(body)["answer"]["conditions"] if c["pointer"].endswith("/max")]
    assert (bank["code"], bank["taken"]) == ("bank", pytest.approx(157.061))
    assert not differences(body, service, pipes)


def test_no_daylight_end_is_offered_that_only_a_longer_ditch_could_lead_out(
    service: Any, pipes: Body
) -> None:
    """506 mm would do, on ground that falls 1.124 %: a ditch of 45 m. Nobody offers that."""
    runs = (0, 3.6, -1.2083), (3.6, 4.5, -10.9222), (4.5, 5.4, -0.6556), (5.4, 6.3, 3.5222)
    runs += ((6.3, 18, -1.1239),)
    body: Body = {
        "units": "si",
        "route": {"length": 18},
        "ground": {
            "kind": "slopes",
            "runs": [{"from": a, "to": b, "percent": p} for a, b, p in runs],
        },
        "pipe": {"code": "pvc-sdr35-4"},
        "start": {"cover": 75},
        "outlet": {"kind": "daylight", "depth": {"min": 125, "max": 375}},
        "limits": {"min_cover": 75, "outlet_taper": 0, "max_depth": 600},
        "grade": {"shape": "straight", "min_percent": 1},
        "accuracy": NO_ERRORS,
    }
    answered = service(body)
    assert answered["answer"]["verdict"] == "no"
    assert not unlisted(body, answered, pipes)
    body["outlet"]["depth"]["max"] = 507
    deeper = Rule(job.read(body, pipes))
    assert deeper.feasible(deeper.first)
    assert 0.507 / deeper.job.last_slope > 2 * figures.FIX_DITCH[figures.SI]


def test_a_run_out_as_long_as_the_run_holds_no_cover_at_the_start(
    service: Any, pipes: Body
) -> None:
    """A run-out of 60 ft on 60 ft of line kept the cover at its very start, one of 60.5 ft did not;
    so a shallower start was no fix. On the last 60 ft, which is all of it, no cover holds."""
    points = (0, 100.0814), (3, 100.1108), (6, 99.8324), (27, 99.5051), (30, 99.5426)
    body: Body = {
        "units": "us",
        "route": {"length": 60},
        "ground": elevations(*points, (42, 99.2694), (51, 99.1771), (60, 98.9981)),
        "pipe": {"code": "corrugated-single-4"},
        "start": {"cover": 3},
        "outlet": {"kind": "dry_well", "depth": {"min": 8, "max": 16}},
        "grade": {"shape": "straight", "min_percent": 1},
        "limits": {"min_cover": 3, "outlet_taper": 60, "max_depth": 36},
        "accuracy": NO_ERRORS,
    }
    crossing = {"at": 54.54, "top_depth": 14, "size": 4, "clearance": 6, "pass": "either"}
    body["crossings"] = [crossing | {"what": "gas line"}]
    answered = service(body)
    assert not unlisted(body, answered, pipes)
    (fix,) = [f for f in answered["answer"]["fixes"] if f["pointer"] == "/start/cover"]
    said = fixed(body, fix)
    assert said is not None
    for length in (60, 60.5):
        said["limits"]["outlet_taper"] = length
        assert service(said)["answer"]["verdict"] == "yes"


def test_a_branch_is_held_to_the_main_lines_limits(service: Any, pipes: Body) -> None:
    """Limits that a branch leaves out are the main line's: 450 mm of depth, and it starts at 300 mm
    of cover, 107 of pipe and 50 of bedding. The oracle took the bedding alone."""
    branch = {
        "name": "branch",
        "joins_at": 8.76,
        "route": {"length": 5.17},
        "ground": elevations((0, 99.9693), (2.58, 99.898), (5.17, 99.7659)),
        "pipe": {"code": "pvc-sdr35-4"},
        "start": {"cover": 300},
        "grade": {"shape": "straight"},
        "limits": {"min_cover": 0, "outlet_taper": 0},
    }
    body: Body = {
        "units": "si",
        "route": {"length": 25},
        "ground": elevations((0, 99.9768), (11.25, 99.7059), (15, 99.5459), (25, 99.2978)),
        "pipe": {"code": "corrugated-single-6"},
        "start": {"cover": 200},
        "outlet": {"kind": "daylight", "depth": {"min": 125, "max": 450}},
        "limits": {"max_depth": 450, "bedding": 50, "min_cover": 100, "outlet_taper": 6},
        "grade": {"shape": "straight"},
        "accuracy": NO_ERRORS,
        "branches": [branch],
    }
    assert service(body)["whole"]["verdict"] == "no"
    assert not trees.faults(body, service, pipes)
    stated = copy.deepcopy(body)
    stated["branches"][0]["limits"]["max_depth"] = 460
    assert service(stated)["whole"]["verdict"] == "yes"
    assert not trees.faults(stated, service, pipes)
