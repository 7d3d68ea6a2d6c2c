"""Yards of our own invention: an even grid, and random ones."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator
from typing import Any

Body = dict[str, Any]
PIPES = ("corrugated-single-4", "pvc-sdr35-4", "corrugated-single-6")
PERCENTS = (1.5, 2, 2.5, 3, 4, 5, 6, 8)
LENGTHS = {"us": (20, 30, 40, 60, 80, 100, 150), "si": (6, 9, 12, 18, 25, 30, 45)}
COVERS = {"us": (4, 5, 6, 8, 12, 3), "si": (100, 125, 150, 200, 300, 75)}


def even(
    units: str, length: float, percent: float, pipe: str, kind: str, cover: float, staked: bool
) -> Body:
    """An even yard: ground that falls `percent` from end to end, everything else left out."""
    top = 100.0
    body: Body = {
        "units": units,
        "route": {"length": length},
        "ground": {
            "kind": "elevations",
            "points": [
                {"at": 0, "elevation": top},
                {"at": length, "elevation": round(top - length * percent / 100, 9)},
            ],
        },
        "pipe": {"code": pipe},
        "start": {"cover": cover},
        "outlet": {"kind": kind},
    }
    if staked:
        body["stations"] = {"every": 10 if units == "us" else 3}
    return body


def even_grid(units: str) -> Iterator[tuple[str, Body]]:
    """Every even yard by name: 4,032 of each system of units."""
    for case in itertools.product(
        LENGTHS[units], PERCENTS, PIPES, ("daylight", "pop_up"), COVERS[units], (False, True)
    ):
        length, percent, pipe, kind, cover, staked = case
        name = f"{units} {length} long, {percent} %, {pipe}, {kind}, cover {cover}"
        yield name + (", staked" if staked else ""), even(units, *case)


def uneven(rng: random.Random, units: str) -> Body:
    """A yard with humps and dips; each limit stated or left out by chance."""
    us = units == "us"
    length = rng.choice(LENGTHS[units])
    count = rng.randint(3, 8)
    inner = sorted(rng.sample(range(1, 20), count - 2))
    at = [0.0, *(round(length * i / 20, 3) for i in inner), float(length)]
    percent = rng.uniform(1, 7)
    small = 12 if us else 1000
    bump = 3 if us else 75
    points = [
        {
            "at": x,
            "elevation": round(100 - x * percent / 100 + rng.gauss(0, bump * 0.4) / small, 4),
        }
        for x in at
    ]
    body: Body = {
        "units": units,
        "route": {"length": length},
        "ground": {"kind": "elevations", "points": points},
        "pipe": {"code": rng.choice(PIPES)},
        "start": {"cover": rng.choice(COVERS[units])},
        "outlet": {"kind": rng.choice(("daylight", "pop_up"))},
    }
    unit = 1 if us else 25
    if rng.random() < 0.3:
        body.setdefault("limits", {})["min_cover"] = min(
            body["start"]["cover"], rng.choice((3, 4, 6)) * unit
        )
    if rng.random() < 0.3:
        body.setdefault("limits", {})["outlet_taper"] = rng.choice((2, 5, 13)) * (1 if us else 0.3)
    if rng.random() < 0.2:
        body.setdefault("limits", {})["max_depth"] = rng.choice((18, 24, 36)) * unit
    if rng.random() < 0.2:
        body.setdefault("limits", {})["bedding"] = 2 * unit
    if rng.random() < 0.3:
        body["grade"] = {"shape": "straight"}
    if rng.random() < 0.3:
        body["outlet"]["depth"] = {
            "min": rng.choice((0, 5)) * unit,
            "max": rng.randint(8, 20) * unit,
        }
    if rng.random() < 0.3:
        body["stations"] = {"every": 10 if us else 3}
    return body


def various(rng: random.Random, units: str) -> Body:
    """An uneven yard read any way, with any start, outlet or crossing; limits stated by chance."""
    body = uneven(rng, units)
    unit, length = (1 if units == "us" else 25), body["route"]["length"]
    points = body["ground"]["points"]
    kind = rng.choice(KINDS[:4])
    body["ground"] = _other_kind(rng, kind, points, units == "us")
    body["accuracy"] = {"sigma": 0, "common": 0}
    cover = body["start"]["cover"]
    stated_cover = "min_cover" in body.get("limits", {})
    if rng.random() < 0.3 and not stated_cover:
        body["start"] = {"depth": cover + rng.choice((2, 4, 5)) * unit}
    elif rng.random() < 0.2 and not stated_cover and kind in ("elevations", "rod"):
        small = 12 if units == "us" else 1000
        down = (cover + 4 * unit) / small
        body["start"] = {"invert": round(points[0]["elevation"] - down, 3)}
    if rng.random() < 0.2:
        body["pipe"] = {"outside": 5.3 * unit, "inside": 4.6 * unit, "n": 0.012, "min_percent": 0.8}
    if rng.random() < 0.2:
        body["pipe"]["min_percent"] = rng.choice((0, 0.5, 2))
    if rng.random() < 0.25:
        depth = {"min": 0, "max": rng.randint(8, 24) * unit}
        body["outlet"] = rng.choice(
            (
                {"kind": "curb", "depth": depth},
                {"kind": "tie_in", "depth": depth},
                {"kind": "dry_well"},
                {"kind": "pop_up", "depth": {"max": depth["max"]}},
            )
        )
    if rng.random() < 0.15:
        body.get("limits", {}).pop("bedding", None)
        body["crossings"] = [
            {
                "at": round(rng.uniform(0.1, 0.9) * length, 2),
                "what": "gas line",
                "top_depth": rng.randint(8, 24) * unit,
                "size": unit,
                "clearance": 2 * unit,
                "pass": rng.choice(("over", "under", "either")),
            }
        ]
    return body


def stated(rng: random.Random, units: str) -> Body:
    """An uneven yard with every limit of the rule stated, so that nothing is usual."""
    body = uneven(rng, units)
    unit = 1 if units == "us" else 25
    limits = body.setdefault("limits", {})
    limits.setdefault("min_cover", min(body["start"]["cover"], rng.choice((2, 4, 6)) * unit))
    limits.setdefault("outlet_taper", rng.choice((0, 5, 10, 20)) * (1 if units == "us" else 0.3))
    body.setdefault("grade", {})["shape"] = "straight"
    body["outlet"].setdefault("depth", {"min": 5 * unit, "max": rng.randint(8, 30) * unit})
    return body


def filled(rng: random.Random, units: str) -> Body:
    """A plan with every limit stated, and soil to be laid on the start, before the end, or both."""
    body = stated(rng, units)
    length, unit = body["route"]["length"], 1 if units == "us" else 25
    fills = []
    if rng.random() < 0.7:
        full, end = sorted(round(rng.uniform(0.05, 0.6) * length, 2) for _ in range(2))
        fills.append({"from": 0, "full_from": 0, "full_to": full, "to": end + 0.01})
    if not fills or rng.random() < 0.7:
        corners = sorted(round(rng.uniform(0.05, 0.95) * length, 2) for _ in range(4))
        names = ("from", "full_from", "full_to", "to")
        fills.append(dict(zip(names, corners, strict=True)) | {"to": corners[-1] + 0.01})
    body["fills"] = [fill | {"depth": rng.randint(1, 10) * unit} for fill in fills]
    return body


KINDS = ("elevations", "level_line", "slopes", "rod", "spots")


def plan(rng: random.Random, units: str, bedded_crossings: bool = True) -> Body:
    """A plan of any kind of ground, start, outlet, shape and crossing, with every limit stated.

    Its readings are free of error (`accuracy` of 0), so that the verdict is the ground's.
    """
    us = units == "us"
    body = stated(rng, units)
    unit, foot = (1, 1) if us else (25, 0.3)
    points = body["ground"]["points"]
    length = body["route"]["length"]
    body["accuracy"] = {"sigma": 0, "common": 0}
    body["ground"] = _other_kind(rng, rng.choice(KINDS), points, us)
    if body["ground"]["kind"] == "spots":
        body["route"], body["ground"] = _spots(rng, points)
    limits, grade = body["limits"], body["grade"]
    body["grade"]["min_percent"] = rng.choice((0, 0.5, 1, 1.25, 2))
    if rng.random() < 0.4:
        grade.update(shape="least_dig", max_breaks=rng.randint(0, 2))
    if rng.random() < 0.15:
        grade["max_percent"] = grade["min_percent"] + rng.choice((1, 2, 4))
    if grade["shape"] == "straight" and rng.random() < 0.3:
        grade["fall_step"] = rng.choice((0.5, 1, 2)) * unit
    elif grade["shape"] == "straight" and rng.random() < 0.3:
        grade["aim"] = "outlet_depth"
        depth = body["outlet"]["depth"]
        depth["prefer"] = rng.randint(depth["min"], depth["max"])
    if rng.random() < 0.5:
        limits["max_depth"] = rng.choice((18, 24, 30, 36)) * unit
    kind = rng.choice(("daylight", "pop_up", "curb", "dry_well", "tie_in"))
    body["outlet"]["kind"] = kind
    cover = body["start"]["cover"]
    if rng.random() < 0.3:
        body["start"] = {"depth": cover + rng.randint(4, 9) * unit}
        limits["min_cover"] = min(limits["min_cover"], 0.0)
    if rng.random() < 0.3:
        crossing = {
            "at": round(rng.uniform(0.1, 0.9) * length, 2),
            "what": "water line",
            "top_depth": rng.randint(6, 24) * unit,
            "size": rng.choice((0, 1, 2)) * unit,
            "clearance": rng.choice((0, 2, 6)) * unit,
            "pass": rng.choice(("over", "under", "either")),
        }
        body["crossings"] = [crossing]
        if not bedded_crossings:
            limits["bedding"] = 0
    if rng.random() < 0.15 and "bedding" not in limits:
        limits["bedding"] = 3 * unit
    if rng.random() < 0.3 and body["ground"]["kind"] != "spots":
        body["stations"] = {"at": [round(length * rng.uniform(0.2, 0.8), 1)]}
    elif "stations" in body and length > 12 * foot * 5:
        del body["stations"]
    return body


def rising(rng: random.Random, units: str) -> Body:
    """A plan whose start may rise, from deep down."""
    body = plan(rng, units)
    unit, start = (1 if units == "us" else 25), body["start"]
    deeper = rng.randint(0, 10) * unit
    shallowest = start.get("cover", 4 * unit)
    by = "cover" if "cover" in start else "depth"
    body["start"] = {by: start[by] + deeper, "shallowest_cover": shallowest}
    return body


def _other_kind(
    rng: random.Random, kind: str, points: list[dict[str, float]], us: bool
) -> dict[str, Any]:
    """The same ground as read another way."""
    small = 12 if us else 1000
    top = points[0]["elevation"]
    if kind == "level_line":
        line = top + 1
        readings = [
            {"at": p["at"], "down": round((line - p["elevation"]) * small, 3)} for p in points
        ]
        if len(points) > 3 and rng.random() < 0.5:  # strung anew, lower, from an inner station
            tie = len(points) // 2
            for r in readings[tie:]:
                r["line"] = "second"
            again = {"at": readings[tie]["at"], "down": readings[tie]["down"]}
            for r in readings[tie:]:
                r["down"] = round(r["down"] - 3, 3)
            readings.insert(tie, again)
        return {"kind": "level_line", "readings": readings}
    if kind == "slopes":
        runs = [
            {
                "from": a["at"],
                "to": b["at"],
                "percent": round((b["elevation"] - a["elevation"]) / (b["at"] - a["at"]) * 100, 4),
            }
            for a, b in itertools.pairwise(points)
        ]
        return {"kind": "slopes", "runs": runs}
    if kind == "rod":
        shots: list[dict[str, Any]] = [{"sight": "BS", "on": "BM", "rod": 4.0}]
        instrument, turn = top + 4.0, len(points) // 2
        for i, p in enumerate(points):
            rod = round(instrument - p["elevation"], 4)
            if i == turn:
                shots.append({"sight": "FS", "on": "TP1", "at": p["at"], "rod": rod})
                shots.append({"sight": "BS", "on": "TP1", "rod": 3.5})
                instrument = instrument - rod + 3.5
            else:
                shots.append({"sight": "IS", "at": p["at"], "rod": rod})
        return {
            "kind": "rod",
            "benchmark": {"name": "BM", "elevation": top},
            "shots": shots,
        }
    return {"kind": "elevations", "points": points}


def _spots(rng: random.Random, points: list[dict[str, float]]) -> tuple[Body, Body]:
    """Spot heights about a bent line in a plane, with the ground of `points` and some roughness."""
    length = points[-1]["at"]
    a, b = (0.0, 0.0), (round(length * 0.55, 3), round(length * 0.1, 3))
    c = (round(length, 3), round(-length * 0.05, 3))
    spots = []
    for x in (-0.2, 0.2, 0.5, 0.8, 1.2):
        for y in (-0.5, 0.0, 0.5):
            px, py = length * (x + rng.uniform(-0.1, 0.1)), length * (y + rng.uniform(-0.1, 0.1))
            fall = points[0]["elevation"] - points[-1]["elevation"]
            z = points[0]["elevation"] - fall * px / length + rng.gauss(0, length * 0.002)
            spots.append([round(px, 3), round(py, 3), round(z, 4)])
    route = {"line": {"type": "LineString", "coordinates": [a, b, c]}, "crs": "local"}
    return route, {"kind": "spots", "points": spots}


def doubtful(rng: random.Random, units: str) -> Body:
    """A straight plan with every limit stated, whose readings carry errors."""
    body = stated(rng, units)
    body["outlet"]["depth"]["min"] = 0
    body["limits"]["outlet_taper"] = 0
    sigma = rng.choice((0.2, 0.4, 0.8)) * (1 if units == "us" else 25)
    body["accuracy"] = {"sigma": sigma, "lawn": "straight"}
    body["limits"].pop("max_depth", None)
    return body


def doubtful_ways(rng: random.Random, units: str) -> Body:
    """The same with something in the way, near the lowest that the pipe may lie; either way."""
    body, unit = doubtful(rng, units), 1 if units == "us" else 25
    body["crossings"] = [
        {
            "at": round(rng.uniform(0.2, 0.9) * body["route"]["length"], 2),
            "what": "gas line", "top_depth": rng.randint(12, 24) * unit,
            "size": rng.choice((0, 0.5)) * unit, "clearance": 0, "pass": "either",
        }
    ]  # fmt: skip
    body["limits"].pop("bedding", None)
    return body


def tree(rng: random.Random, units: str) -> Body:
    """A main line and one or two branches, every limit stated, without errors of readings."""
    body = stated(rng, units)
    us = units == "us"
    small, unit = (12, 1) if us else (1000, 25)
    body["accuracy"] = {"sigma": 0, "common": 0}
    body["outlet"]["depth"]["max"] = rng.randint(10, 40) * unit
    points, length = body["ground"]["points"], body["route"]["length"]
    body["branches"] = []
    for i in range(rng.randint(1, 2)):
        joins = round(rng.uniform(0.15, 0.85) * length, 2)
        a, b = next((a, b) for a, b in itertools.pairwise(points) if a["at"] <= joins <= b["at"])
        part = (joins - a["at"]) / (b["at"] - a["at"])
        there = a["elevation"] + part * (b["elevation"] - a["elevation"])
        long = round(length * rng.uniform(0.2, 0.6), 2)
        rise = rng.uniform(-0.5, 4) / 100 * long
        middle = there + rise / 2 + rng.gauss(0, 1.5 * unit) / small
        branch: Body = {
            "name": f"branch {i}",
            "joins_at": joins,
            "route": {"length": long},
            "ground": {
                "kind": "elevations",
                "points": [
                    {"at": 0, "elevation": round(there + rise, 4)},
                    {"at": round(long / 2, 2), "elevation": round(middle, 4)},
                    {"at": long, "elevation": round(there, 4)},
                ],
            },
            "pipe": {"code": rng.choice(PIPES)},
            "start": {"cover": rng.choice(COVERS[units])},
            "grade": {"shape": "straight"},
            "limits": {"min_cover": rng.choice((0, 2)) * unit, "outlet_taper": 0},
        }
        if rng.random() < 0.5:
            branch["drop"] = rng.choice((0, 1, 3)) * unit
        if rng.random() < 0.3:
            branch["limits"]["max_depth"] = rng.choice((14, 18, 24)) * unit
        body["branches"].append(branch)
    return body
