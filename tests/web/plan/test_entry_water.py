"""The water where it enters the pipe: one figure in every part of the answer, and one verdict."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from flask.testing import FlaskClient
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st


def yard(grate: float, rate: float = 85, **parts: Any) -> dict[str, Any]:
    """Our own 70 ft at 2 to 4 %, 4 in pipe (3.975 in inside) from an invert of 19.3 ft."""
    ground = [(0, 20.0), (35, 19.5), (70, 18.0)]
    return {
        "units": "us",
        "route": {"length": 70},
        "ground": {"kind": "elevations", "points": [{"at": a, "elevation": e} for a, e in ground]},
        "pipe": {"code": "pvc-sdr35-4"},
        "start": {"invert": 19.3},
        "grade": {"min_percent": 1, "shape": "straight"},
        "limits": {"min_cover": 0, "max_depth": 36, "outlet_taper": 10},
        "outlet": {"kind": "daylight"},
        "inflows": [{"kind": "pump", "rate": rate, "name": "pump"}],
        "head": {"openings": [{"what": "grate", "elevation": grate, "at": 0}], "margin": 0},
    } | parts


def test_85_gpm_stands_5_in_over_the_invert(plan: Callable[[dict], dict]) -> None:
    """y_c + 1.5·V²/2g = 2.95 + 2.13 in by hand, in 4.00 in; so too at 3.975 in, to 0.05 in."""
    answer = plan(yard(19.675))
    (inlet,) = answer["inlets"]
    assert (inlet["water_level"] - 19.3) * 12 == pytest.approx(5.08, abs=0.05)
    assert inlet["drowned"]
    assert answer["answer"]["overall"] == "conditional"
    assert plan(yard(19.3 + 5.2 / 12))["answer"]["overall"] == "yes"


@pytest.mark.parametrize("grate", [19.4, 19.516666, 19.675, 19.72, 19.74, 20.0])
@pytest.mark.parametrize("margin", [0, 3])
def test_head_and_inlet_tell_one_figure(
    plan: Callable[[dict], dict], grate: float, margin: float
) -> None:
    request = yard(grate)
    request["head"]["margin"] = margin
    answer = plan(request)
    head, (inlet,) = answer["head"], answer["inlets"]
    assert head["water_level"] == pytest.approx(inlet["water_level"], abs=1e-6)
    assert head["spare"] == pytest.approx(inlet["spare"] - margin, abs=1e-5)
    assert (answer["answer"]["overall"] == "yes") is (head["spare"] >= 0)
    told = [c for c in answer["answer"]["conditions"] if c["pointer"] == "/head/openings"]
    assert len(told) == (head["spare"] < 0), "one condition on one opening"
    assert ("to spare" in head["sentence"]) is (head["spare"] >= 0)


def lines(answer: dict[str, Any]) -> list[dict[str, Any]]:
    return [answer, *(line for b in answer["branches"] for line in lines(b))]


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    grate=st.floats(19, 20),
    rate=st.floats(1, 200),
    margin=st.floats(0, 4),
    soak=st.floats(0, 2),
    kind=st.sampled_from(["daylight", "pop_up", "dry_well"]),
    branch=st.booleans(),
)
def test_what_is_conditional_has_a_condition(
    client: FlaskClient,
    grate: float,
    rate: float,
    margin: float,
    soak: float,
    kind: str,
    branch: bool,
) -> None:
    request = yard(grate, rate, outlet={"kind": kind})
    request["head"]["margin"] = margin
    if kind == "dry_well":
        storm = {"area": 1000, "rain_depth": 2, "duration": 60, "stone_depth": 36}
        request["dry_well"] = storm | {"soak_rate": soak}
    if branch:
        side = {k: request[k] for k in ("pipe", "grade", "head")}
        side["ground"] = {"kind": "slopes", "runs": [{"from": 0, "to": 20, "percent": -2}]}
        side |= {"name": "side", "joins_at": 35, "route": {"length": 20}, "start": {"cover": 4}}
        side["head"] = {"openings": [{"what": "grate", "elevation": grate - 19.5, "at": 0}]}
        request["branches"] = [side | {"limits": {"min_cover": 0}}]
    answer = client.post("/api/v1/plan", json=request)
    assert answer.status_code == 200, answer.json
    found = lines(answer.json)
    for line in found:
        told = line["answer"]
        if told["verdict"] == "yes" and told["overall"] != "no":  # a dry well that never empties
            assert (told["overall"] == "conditional") is bool(told["conditions"])
        for one in told["conditions"]:
            assert one["text"]
            assert one["pointer"]
    if answer.json["whole"]["overall"] == "conditional":
        assert any(line["answer"]["conditions"] for line in found)
