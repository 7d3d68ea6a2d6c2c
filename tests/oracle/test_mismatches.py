"""Requests on which an oracle once disagreed with the service, and now does not."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from changes import NOT_BY_VALUE, fixed, pair_faults, put
from runner import spare_faults
from truth import job
from truth.hand_rule import Rule
from yards import even

Body = dict[str, Any]

# A yes comes from each fix once its change is made, to six decimals on the safe side.
ROUNDED: Body = {
    "units": "us",
    "route": {"length": 150},
    "ground": {
        "kind": "elevations",
        "points": [
            {"at": 0.0, "elevation": 100.0029},
            {"at": 15.0, "elevation": 99.346},
            {"at": 45.0, "elevation": 98.3001},
            {"at": 52.5, "elevation": 97.6458},
            {"at": 97.5, "elevation": 96.0523},
            {"at": 105.0, "elevation": 95.663},
            {"at": 150.0, "elevation": 93.8422},
        ],
    },
    "pipe": {"code": "corrugated-single-6"},
    "start": {"cover": 4},
    "outlet": {"kind": "dry_well", "depth": {"min": 0, "max": 18}},
    "limits": {"min_cover": 4, "max_depth": 36, "bedding": 2, "outlet_taper": 20},
    "grade": {"shape": "straight", "min_percent": 0},
}

# No line of any shape fits, and two limits are short at once.
TWO_SHORT: Body = {
    "units": "us",
    "route": {"length": 30},
    "ground": {
        "kind": "elevations",
        "points": [
            {"at": 0, "elevation": 99.15},
            {"at": 11, "elevation": 98.537},
            {"at": 29, "elevation": 99.216},
            {"at": 30, "elevation": 98.817},
        ],
    },
    "pipe": {"code": "pvc-sdr35-4"},
    "limits": {"min_cover": 8, "outlet_taper": 15, "max_depth": 14},
    "start": {"cover": 10},
    "grade": {"min_percent": 0.25, "shape": "straight"},
    "outlet": {"kind": "tie_in", "depth": {"min": 7, "max": 10}},
}


def test_round_metric_cover_meets_the_usual_cover(service: Any, pipes: Body) -> None:
    """150 mm of cover were once 2 mm short of 6 in."""
    body = even("si", 18, 4, "corrugated-single-4", "pop_up", 150, False)
    answer = service(body)["answer"]
    assert (answer["verdict"], answer["conditions"]) == ("yes", [])
    assert Rule(job.read(body, pipes)).answer().verdict == "yes"


def test_a_fix_of_the_outlet_depth_is_a_yes(service: Any) -> None:
    fixes = [f for f in service(ROUNDED)["answer"]["fixes"] if f["change"] == "outlet_depth"]
    assert fixes
    for fix in fixes:
        said = fixed(ROUNDED, fix)
        assert said is not None
        assert service(said)["answer"]["verdict"] == "yes", (fix["to"], fix)


def test_a_fix_is_a_yes_when_sent_back(service: Any) -> None:
    """A value rounded to six decimals once lay on the wrong side by 4e-6 in."""
    downs = ((0, 10), (71, 24), (142, 27))
    body: Body = {
        "units": "us",
        "route": {"length": 142},
        "ground": {
            "kind": "level_line",
            "readings": [{"at": at, "down": down} for at, down in downs],
        },
        "pipe": {"code": "pvc-drain-6"},
        "start": {"cover": 4},
        "limits": {"min_cover": 4, "outlet_taper": 28.4},
        "grade": {"min_percent": 0, "shape": "straight"},
        "outlet": {"kind": "pop_up", "invert": {"min": -3.138, "max": -2.622}},
        "accuracy": {"sigma": 0, "common": 0},
    }
    answer = service(body)["answer"]
    assert answer["verdict"] == "no"
    sent = [said for said in (fixed(body, fix) for fix in answer["fixes"]) if said is not None]
    assert sent
    for said in sent:
        assert service(said)["answer"]["verdict"] == "yes", said


def test_every_fix_brings_its_whole_change(service: Any) -> None:
    """Pointer and value alone are no yes where more must change with them."""
    fixes = service(ROUNDED)["answer"]["fixes"]
    assert any(f["change"] in NOT_BY_VALUE for f in fixes)
    for fix in fixes:
        assert fix.get("patch"), fix
        said = fixed(ROUNDED, fix)
        assert said is not None
        assert service(said)["answer"]["verdict"] == "yes", fix


def test_the_shortage_of_a_straight_grade_is_all_of_it(service: Any, pipes: Body) -> None:
    """6.9 in are told; with both depths 6.9 in greater it is still a no: 15.1 in are missing."""
    rule = Rule(job.read(TWO_SHORT, pipes))
    told = service(TWO_SHORT)["answer"]["spare"]
    assert not spare_faults(told, rule, rule.first)
    body = copy.deepcopy(TWO_SHORT)
    body["limits"]["max_depth"] -= told - 1e-4
    body["outlet"]["depth"]["max"] -= told - 1e-4
    assert service(body)["answer"]["verdict"] == "yes"


def test_a_pair_of_fixes_digs_no_deeper_than_it_must(service: Any, pipes: Body) -> None:
    pair = service(TWO_SHORT)["answer"]["fix_pair"]
    both = copy.deepcopy(TWO_SHORT)
    for fix in pair:
        put(both, fix["pointer"], fix["to"], "add")
    for fix in pair:
        body = copy.deepcopy(both)
        put(body, fix["pointer"], fix["to"] - 0.5, "add")
        rule = Rule(job.read(body, pipes))
        assert not rule.feasible(rule.first), f"{fix['pointer']} {fix['to'] - 0.5} serves as well"


def test_a_pair_with_a_deeper_start_asks_the_least_of_the_other_too(
    service: Any, pipes: Body
) -> None:
    """1,500 mm were asked for, as the deepest start asks; with the start told 825 will do."""
    points = (0, 100), (2.25, 99.8222), (18, 98.9609), (42.75, 97.4652), (45, 97.3769)
    body = even("si", 45, 5, "corrugated-single-4", "daylight", 75, False)
    body["ground"]["points"] = [{"at": at, "elevation": level} for at, level in points]
    body["limits"] = {"max_depth": 450, "min_cover": 75, "outlet_taper": 6}
    body["outlet"]["depth"] = {"min": 125, "max": 250}
    body["grade"] = {"shape": "straight", "min_percent": 0.5}
    body["accuracy"] = {"sigma": 0, "common": 0}
    crossing = {"at": 13.39, "top_depth": 325, "size": 50, "clearance": 150, "pass": "under"}
    body["crossings"] = [crossing | {"what": "water line"}]
    answered = service(body)
    told = {fix["pointer"]: fix["to"] for fix in answered["answer"]["fix_pair"]}
    assert told["/limits/max_depth"] <= 830
    assert not pair_faults(body, answered, service, pipes)


def test_a_deeper_start_is_a_fix(service: Any) -> None:
    """0.2 in short at the start itself: 10 in of depth, 6 in of cover, 4.215 in of pipe."""
    body = even("us", 100, 3, "pvc-sdr35-4", "daylight", 0, False)
    body |= {
        "start": {"depth": 10},
        "limits": {"min_cover": 6, "outlet_taper": 10},
        "grade": {"min_percent": 1, "shape": "straight"},
        "outlet": {"kind": "daylight", "depth": {"min": 0, "max": 12}},
    }
    deeper = copy.deepcopy(body)
    deeper["start"]["depth"] = 10.3
    assert service(deeper)["answer"]["verdict"] == "yes"
    answer = service(body)["answer"]
    assert answer["verdict"] == "no"
    assert "/start/depth" in [f["pointer"] for f in answer["fixes"]]


def test_a_deeper_start_is_a_fix_where_the_ground_dips(service: Any, pipes: Body) -> None:
    """Forced down by the foot of a bank 5 ft on, the line ends 21.6 in deep; begun 4.8 in deeper it
    lies level and ends 7.2 in deep."""
    body: Body = {
        "units": "us",
        "route": {"length": 20},
        "ground": {
            "kind": "elevations",
            "points": [
                {"at": 0, "elevation": 100.0},
                {"at": 5, "elevation": 99.6},
                {"at": 20, "elevation": 99.6},
            ],
        },
        "pipe": {"code": "pvc-sdr35-4"},
        "start": {"cover": 3},
        "outlet": {"kind": "tie_in", "depth": {"min": 0, "max": 8}},
        "limits": {"min_cover": 3, "outlet_taper": 0},
        "grade": {"shape": "straight", "min_percent": 0},
    }
    deeper = copy.deepcopy(body)
    answer = service(body)["answer"]
    assert answer["verdict"] == "no"
    deeper["start"]["cover"] = 7.8
    rule = Rule(job.read(deeper, pipes))
    assert rule.feasible(rule.first)
    assert "/start/cover" in [f["pointer"] for f in answer["fixes"]]


def test_a_greater_greatest_grade_is_a_fix(service: Any) -> None:
    body: Body = {
        "units": "si",
        "route": {"length": 18},
        "ground": {
            "kind": "elevations",
            "points": [{"at": 0, "elevation": 100.0}, {"at": 18, "elevation": 99.2}],
        },
        "pipe": {"code": "corrugated-single-6"},
        "start": {"cover": 150},
        "outlet": {"kind": "daylight", "depth": {"min": 0, "max": 400}},
        "limits": {"min_cover": 100, "outlet_taper": 3},
        "grade": {"shape": "straight", "min_percent": 2, "max_percent": 3},
    }
    steeper = copy.deepcopy(body)
    steeper["grade"]["max_percent"] = 6
    assert service(steeper)["answer"]["verdict"] == "yes"
    answer = service(body)["answer"]
    assert answer["verdict"] == "no"
    assert "/grade/max_percent" in [f["pointer"] for f in answer["fixes"]]


def test_a_longer_run_out_is_a_fix(service: Any) -> None:
    """Stated, the run-out never gives way; then a longer one is what would mend it."""
    body = even("us", 60, 4, "corrugated-single-4", "daylight", 6, False)
    body["limits"] = {"min_cover": 6, "outlet_taper": 5}
    body["outlet"]["depth"] = {"min": 0, "max": 8}
    body["grade"] = {"shape": "straight"}
    longer = copy.deepcopy(body)
    longer["limits"]["outlet_taper"] = 60
    assert service(longer)["answer"]["verdict"] == "yes"
    answer = service(body)["answer"]
    assert answer["verdict"] == "no"
    assert "/limits/outlet_taper" in [f["pointer"] for f in answer["fixes"]]


def test_clearance_over_a_crossing_is_kept_from_the_pipe(service: Any) -> None:
    """As the contract says: between the crossing and the outside of the pipe, not the bedding."""
    body = even("us", 50, 3, "corrugated-single-4", "daylight", 8, False)
    body["limits"] = {"min_cover": 6, "outlet_taper": 10}
    body["outlet"]["depth"] = {"min": 0, "max": 30}
    crossing = {"at": 10, "top_depth": 16, "size": 1, "clearance": 2, "pass": "over"}
    body["crossings"] = [crossing | {"what": "gas line"}]
    assert service(body)["answer"]["verdict"] == "yes"
    body["limits"]["bedding"] = 4
    assert service(body)["answer"]["verdict"] == "yes"


@pytest.mark.parametrize("shape", ["straight", "least_dig"])
def test_spare_does_not_hang_on_where_stations_are(service: Any, shape: str) -> None:
    """The same even ground with its first inner reading at 3, 1 and 0.1 m."""
    told = []
    for first in (3, 1, 0.1):
        body = even("si", 20, 3, "corrugated-single-4", "daylight", 200, False)
        body["ground"]["points"].insert(1, {"at": first, "elevation": 100 - 0.03 * first})
        body["limits"] = {"min_cover": 150, "outlet_taper": 3, "max_depth": 400}
        body["outlet"]["depth"] = {"min": 0, "max": 500}
        body["grade"] = {"shape": shape}
        told.append(service(body)["answer"]["spare"])
    assert max(told) - min(told) < 1e-3, told


def test_no_station_no_change_of_grade_in_the_spare(service: Any, pipes: Body) -> None:
    """An even yard without an inner station can only be straight: so is its fall to spare."""
    body = even("us", 60, 6, "corrugated-single-4", "pop_up", 12, False)
    rule = Rule(job.read(body, pipes))
    told = service(body)["answer"]["spare"]
    assert not spare_faults(told, rule, rule.last)


def test_spare_is_no_more_than_the_outlet_may_lie_deep(service: Any) -> None:
    """The pipe ends under the ground: its depth there is at most what is allowed, and no line has
    more than that to spare. Told are 23.1 in where 23 are allowed, by a pipe in the air."""
    body: Body = {
        "units": "us",
        "route": {"length": 20},
        "ground": {
            "kind": "elevations",
            "points": [{"at": 0, "elevation": 99.8224}, {"at": 20, "elevation": 98.8444}],
        },
        "pipe": {"code": "corrugated-single-4"},
        "start": {"cover": 4},
        "limits": {"min_cover": 2, "outlet_taper": 20},
        "outlet": {"kind": "daylight", "depth": {"min": 5, "max": 23}},
        "grade": {"shape": "straight"},
    }
    assert service(body)["answer"]["spare"] <= 23


def test_the_ditch_runs_out_on_the_ground_as_it_falls_there(service: Any) -> None:
    """The last 6 ft fall 2.4 %, so a ditch of 13.7 in would be 47 ft long, not 27.

    A question of definition: the slope is taken from the last reading at least 10 ft back, here
    the start, 30 ft back, over a bank that ends before the outlet.
    """
    points = [(0, 99.925), (24, 98.7597), (30, 98.6147)]
    body: Body = {
        "units": "us",
        "route": {"length": 30},
        "ground": {
            "kind": "elevations",
            "points": [{"at": a, "elevation": e} for a, e in points],
        },
        "pipe": {"code": "corrugated-single-6"},
        "start": {"cover": 5},
        "outlet": {"kind": "daylight"},
        "grade": {"shape": "straight"},
    }
    answer = service(body)["answer"]
    ditches = [c for c in answer["conditions"] if c["code"] == "ditch"]
    fall_per_ft = (98.7597 - 98.6147) / 6 * 12
    for ditch in ditches:
        length = ditch["to_at"] - ditch["from_at"]
        assert length * fall_per_ft >= ditch["taken"] - 1e-3
    assert ditches or answer["verdict"] == "no"


def test_a_crossing_is_named_in_plain_english(service: Any) -> None:
    body = copy.deepcopy(ROUNDED)
    body["outlet"]["depth"]["max"] = 12
    body["limits"] = {"min_cover": 4, "outlet_taper": 20}
    crossing = {"at": 50, "top_depth": 22, "size": 0, "clearance": 2, "pass": "under"}
    body["crossings"] = [crossing | {"what": "water line"}]
    sentence = service(body)["answer"]["sentence"]
    assert "The under the" not in sentence, sentence


def test_a_line_that_digs_least_is_no_steeper_beside_a_crossing_than_it_must(service: Any) -> None:
    """To pass under a gas line at 0+21 with least digging it once fell 182 % over the last foot."""
    body = even("us", 50, 3, "corrugated-single-4", "daylight", 8, False)
    at = (0, 10, 20, 21, 30, 40, 50)
    body["ground"]["points"] = [{"at": x, "elevation": 100 - 0.03 * x} for x in at]
    body["limits"] = {"min_cover": 6, "outlet_taper": 10}
    body["outlet"]["depth"] = {"min": 0, "max": 40}
    body["grade"] = {"shape": "least_dig", "max_breaks": 3}
    crossing = {"at": 21, "top_depth": 16, "size": 6, "clearance": 2, "pass": "under"}
    body["crossings"] = [crossing | {"what": "gas line"}]
    answered = service(body)
    assert answered["answer"]["verdict"] == "yes"
    assert max(run["percent"] for run in answered["grade_runs"]) <= 30 + 1e-6
