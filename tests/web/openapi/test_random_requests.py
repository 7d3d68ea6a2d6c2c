"""Random requests that can be computed: all are answered by the contract, alike in both units."""

from __future__ import annotations

import itertools
import json
from typing import Any

import pytest
from hypothesis import given, note, settings
from hypothesis import strategies as st

from yardfall.app import Settings, create_app
from yardfall.core.pipes import CATALOGUE

LENGTHS_M = st.integers(3, 150)
SMOOTH = {"allow_nan": False, "allow_infinity": False, "allow_subnormal": False}


def numbers(least: float, most: float) -> st.SearchStrategy[float]:
    """Numbers to a hundredth of the span's millionth: no denormal oddities, ends included."""
    return st.floats(least, most, **SMOOTH).map(lambda x: round(x, 4))


@st.composite
def stations_along(draw, length: float, least: int = 2, most: int = 7) -> list[float]:
    """Stations from 0 to the end, at least 1/40 of the length apart."""
    inner = draw(st.sets(st.integers(1, 39), min_size=least - 2, max_size=most - 2))
    return [0.0, *(length * k / 40 for k in sorted(inner)), float(length)]


@st.composite
def string_ground(draw, length: float, size: float) -> dict[str, Any]:
    """Readings from one string, or from two that tie at a station read from both."""
    at = draw(stations_along(length, least=3))
    down = [draw(numbers(0, 60)) * size for _ in at]
    readings = [{"at": x, "down": d} for x, d in zip(at, down, strict=True)]
    if draw(st.booleans()):
        tie = draw(st.integers(1, len(at) - 2))
        shift = draw(numbers(-40, 40)) * size
        readings = [r | {"line": "one"} for r in readings[: tie + 1]] + [
            {"at": r["at"], "down": r["down"] + shift, "line": "two"} for r in readings[tie:]
        ]
    return {"kind": "level_line", "readings": draw(st.permutations(readings))}


@st.composite
def rod_ground(draw, length: float, rod: float) -> dict[str, Any]:
    """Notes over one or two set-ups; the run may close on its benchmark."""
    at = draw(stations_along(length))
    turn = draw(st.integers(1, len(at)))
    shots = [{"sight": "BS", "rod": draw(numbers(1, 10)) * rod, "on": "step"}]
    for k, x in enumerate(at):
        if k == turn:
            shots.append({"sight": "FS", "rod": draw(numbers(1, 10)) * rod, "on": "peg"})
            shots.append({"sight": "BS", "rod": draw(numbers(1, 10)) * rod, "on": "peg"})
        shots.append({"sight": "IS", "rod": draw(numbers(1, 10)) * rod, "at": x})
    if draw(st.booleans()):
        shots.append({"sight": "FS", "rod": draw(numbers(1, 10)) * rod, "on": "step"})
    return {"kind": "rod", "benchmark": {"name": "step", "elevation": 100 * rod}, "shots": shots}


@st.composite
def elevation_ground(draw, length: float, far: float) -> dict[str, Any]:
    points = [
        {"at": x, "elevation": draw(numbers(90, 100)) * far} for x in draw(stations_along(length))
    ]
    return {"kind": "elevations", "points": draw(st.permutations(points))}


@st.composite
def slope_ground(draw, length: float) -> dict[str, Any]:
    at = draw(stations_along(length))
    pairs = itertools.pairwise(at)
    runs = [{"from": a, "to": b, "percent": draw(numbers(-12, 6))} for a, b in pairs]
    return {"kind": "slopes", "runs": runs}


@st.composite
def step_ground(draw, length: float, size: float) -> dict[str, Any]:
    pairs = itertools.pairwise(draw(stations_along(length)))
    steps = [{"length": b - a, "drop": draw(numbers(-3, 12)) * size} for a, b in pairs]
    return {"kind": "steps", "steps": steps, "reversed": draw(st.booleans())}


@st.composite
def drop_ground(draw, length: float, size: float) -> dict[str, Any]:
    ground = {"kind": "length_and_drop", "of": "ground", "drop": draw(numbers(-6, 60)) * size}
    if draw(st.booleans()):
        hump = {"at": length / draw(st.integers(2, 9)), "height": draw(numbers(-6, 6)) * size}
        return ground | {"hump": hump}
    return ground


@st.composite
def drawn_on_spots(draw, length: float, far: float) -> tuple[dict, dict]:
    """A line inside a square of spot heights, in a local plan."""
    side = length
    corners = [(0, 0), (side, 0), (0, side), (side, side)]
    inside = draw(st.sets(st.tuples(st.integers(1, 19), st.integers(1, 19)), max_size=8))
    places = corners + [(side * x / 20, side * y / 20) for x, y in sorted(inside)]
    bends = draw(st.lists(st.integers(1, 18), min_size=2, max_size=4))
    steps = len(bends) - 1
    line = [[side * (1 + 18 * k / steps) / 20, side * y / 20] for k, y in enumerate(bends)]
    return (
        {"line": {"type": "LineString", "coordinates": line}, "crs": "local"},
        {"kind": "spots", "points": [[x, y, draw(numbers(95, 100)) * far] for x, y in places]},
    )


@st.composite
def designs(draw, far: float, size: float, level: float) -> dict[str, Any]:
    """Pipe, start, grade, limits and outlet that do not contradict each other."""
    body: dict[str, Any] = {
        "pipe": draw(
            st.fixed_dictionaries(
                {"code": st.sampled_from(sorted(CATALOGUE))},
                optional={"min_percent": numbers(0, 3), "n": numbers(0.008, 0.03)},
            )
            | st.just({"outside": 4.5 * size, "inside": 4 * size, "n": 0.012})
        ),
        "start": draw(
            st.builds(lambda v: {"cover": v * size}, numbers(2, 30))
            | st.builds(lambda v: {"depth": v * size}, numbers(8, 40))
            | st.builds(lambda v: {"invert": (level - v) * far}, numbers(-1, 4))
        ),
        "outlet": draw(outlets(far, size, level)),
    }
    if "cover" in body["start"] and draw(st.booleans()):
        body["start"]["shallowest_cover"] = body["start"]["cover"] * draw(st.sampled_from([0.5, 1]))
    body["grade"] = draw(
        st.fixed_dictionaries(
            {"min_percent": numbers(0, 3)},
            optional={
                "max_percent": numbers(3, 30),
                "fall_step": numbers(0.25, 4).map(lambda v: v * size),
                "aim": st.sampled_from(["least_fall", "outlet_depth"]),
            },
        )
    )
    body["limits"] = draw(
        st.fixed_dictionaries(
            {},
            optional={
                "min_cover": numbers(0, 12).map(lambda v: v * size),
                "max_depth": numbers(12, 60).map(lambda v: v * size),
                "outlet_taper": numbers(0, 20).map(lambda v: v * far),
                "bedding": numbers(0, 4).map(lambda v: v * size),
            },
        )
    )
    return body


@st.composite
def outlets(draw, far: float, size: float, level: float) -> dict[str, Any]:
    kind = draw(st.sampled_from(["daylight", "pop_up", "curb", "dry_well", "tie_in"]))
    by = draw(st.sampled_from(["depth", "invert"] + [None] * (kind not in ("curb", "tie_in"))))
    if by is None:
        return {"kind": kind}
    low, high = sorted([draw(numbers(0, 30)), draw(numbers(0, 30))])
    span = {"min": low * size, "max": high * size}
    if by == "invert":
        span = {"min": (level - high / 4) * far, "max": (level - low / 4) * far}
    keep = draw(st.sampled_from([("min",), ("max",), ("min", "max")]))
    return {"kind": kind, by: {key: span[key] for key in keep}}


@st.composite
def requests(draw) -> dict[str, Any]:
    """A plan request over any ground but a raster, in either unit system."""
    units = draw(st.sampled_from(["us", "si"]))
    far, size, rod = (1.0, 1.0, 1.0) if units == "us" else (0.3, 25.0, 0.3)
    length = draw(LENGTHS_M) * 1.0
    measured = ["level_line", "rod", "elevations", "slopes", "steps", "length_and_drop", "spots"]
    kind = draw(st.sampled_from(measured))
    route: dict[str, Any] = {"length": length}
    level = 0.0
    if kind == "level_line":
        ground = draw(string_ground(length, size))
    elif kind == "rod":
        ground, level = draw(rod_ground(length, rod)), 98.0
    elif kind == "elevations":
        ground, level = draw(elevation_ground(length, far)), 95.0
    elif kind == "slopes":
        ground = draw(slope_ground(length))
    elif kind == "steps":
        ground = draw(step_ground(length, size))
    elif kind == "length_and_drop":
        ground = draw(drop_ground(length, size))
    else:
        (route, ground), level = draw(drawn_on_spots(length, far)), 97.0
    body = {"units": units, "route": route, "ground": ground}
    body |= draw(designs(far, size, level))
    if draw(st.booleans()):
        body["stations"] = {"every": length / draw(st.integers(2, 9))}
    if draw(st.booleans()):
        body["accuracy"] = {"sigma": draw(numbers(0, 1)) * size}
    return body


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory):
    """A client of one application for all requests."""
    return create_app(Settings(tmp_path_factory.mktemp("served"))).test_client()


@settings(max_examples=80, deadline=None, derandomize=True)
@given(body=requests())
def test_what_can_be_computed_is(body: dict, served, document) -> None:
    answer = served.post("/api/v1/plan", json=body)
    assert answer.status_code == 200, answer.get_data(as_text=True)
    operation = document.find_operation_by_label("POST /api/v1/plan")
    operation.validate_response(answer)
    plan = answer.json
    assert plan["answer"]["verdict"] in ("yes", "no", "too_close")
    grounds = [station["ground"] for station in plan["stations"]]
    assert plan["stations"][0]["at"] == 0
    assert plan["stations"][-1]["at"] == plan["length"]
    assert min(plan["profile"]["ground"]) <= min(grounds)
    for station in plan["stations"]:
        thick = plan["pipe"]["outside"] + body["limits"].get("bedding", 0)
        assert station["dig_depth"] - station["cover"] == pytest.approx(thick, abs=1e-5)


@settings(max_examples=30, deadline=None, derandomize=True)
@given(body=requests())
def test_a_trench_dug_by_its_plan_passes(body: dict, served) -> None:
    plan = served.post("/api/v1/plan", json=body).json
    dug = [{"at": s["at"], "depth": s["dig_depth"]} for s in plan["stations"]]
    answer = served.post("/api/v1/grade-check", json={"plan": body, "as_dug": dug})
    assert answer.status_code == 200, answer.get_data(as_text=True)
    found = answer.json
    for station in found["stations"]:
        assert station["off"] == pytest.approx(0, abs=0.001 if body["units"] == "us" else 0.01)
    assert found["to_read"] == []
    if found["plan_fits"]:
        assert found["verdict"] == "pass", found["sentence"]
        assert found["standing_water"] == []


# One unit of each quantity in metres: exact by definition (NIST Handbook 44, Appendix C).
FOOT, INCH_MM = 0.3048, 25.4
DISTANCES = {"length", "at", "elevation", "from", "to", "every", "outlet_taper", "tape_length"}
SIZES = {"down", "outside", "inside", "wall", "cover", "depth", "shallowest_cover", "fall_step"}
SIZES |= {"min_cover", "max_depth", "bedding", "sigma", "drop", "height"}


def to_si(part: Any, name: str = "", under: str = "") -> Any:
    """A us request as si, value by value."""
    if isinstance(part, dict):
        return {key: to_si(value, key, name) for key, value in part.items()}
    if isinstance(part, list):
        return [to_si(value, name, under) for value in part]
    if isinstance(part, str):
        return {"us": "si"}.get(part, part)
    if name in ("min", "max", "prefer"):
        return part * (INCH_MM if under == "depth" else FOOT)
    if name in DISTANCES or name in ("coordinates", "points", "rod", "invert"):
        return part * FOOT
    return part * INCH_MM if name in SIZES else part


def stated(body: dict) -> dict:
    """With a value of its own, in US units, wherever a usual one would be taken."""
    limits = {"min_cover": 6.0, "outlet_taper": 10.0} | body["limits"]
    outlet = dict(body["outlet"])
    if not outlet.keys() & {"depth", "invert"}:
        outlet["depth"] = {"min": 0.0, "max": 12.0}
    return body | {
        "limits": limits,
        "outlet": outlet,
        "grade": {"shape": "straight"} | body["grade"],
    }


@settings(max_examples=50, deadline=None, derandomize=True)
@given(body=requests().filter(lambda body: body["units"] == "us"))
def test_us_and_si_give_one_trench(body: dict, served) -> None:
    stations = body.get("stations", {})
    spaced = stations.get("every") or stations.get("at")
    if not spaced:  # each system would space its own by default, and profile points with them
        body = body | {"stations": {"every": 5.0}}
    body = stated(body)  # usual values are round figures of each system
    note(json.dumps(body))
    us = served.post("/api/v1/plan", json=body).json
    si = served.post("/api/v1/plan", json=to_si(body)).json
    assert si["units"] == "si"
    assert si["answer"]["verdict"] == us["answer"]["verdict"]
    assert si["length"] == pytest.approx(us["length"] * FOOT, abs=1e-6)
    one, other = (answer["quantities"]["trench"]["bank"] for answer in (us, si))
    assert other == pytest.approx(one * (3 * FOOT) ** 3, abs=1e-5)
    shared = {s["at"]: s for s in us["stations"]}
    met = 0
    for metric in si["stations"]:
        near = min(shared, key=lambda at: abs(at * FOOT - metric["at"]))
        if abs(near * FOOT - metric["at"]) > 2e-6:
            continue  # stations that each system spaces by its own default
        station, met = shared[near], met + 1
        assert metric["ground"] == pytest.approx(station["ground"] * FOOT, abs=1e-6)
        assert metric["invert"] == pytest.approx(station["invert"] * FOOT, abs=1e-6)
        for name in ("dig_depth", "cover"):
            assert metric[name] / 1000 == pytest.approx(station[name] * FOOT / 12, abs=1e-6)
    assert met >= 2
    # The spare alone: two pairs of points may tie for it, each with its own fall.
    one, other = us["answer"]["spare"], si["answer"]["spare"]
    assert (one is None) == (other is None)
    if one is not None:
        assert other / 1000 == pytest.approx(one * FOOT / 12, abs=1e-6)
