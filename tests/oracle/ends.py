"""Random yards of little fall, where the end decides: few depths, and a crossing just before it."""

from __future__ import annotations

import random
from typing import Any

from yards import stated, uneven

Body = dict[str, Any]


def flat(rng: random.Random, units: str) -> Body:
    """A flat yard, limits stated by chance."""
    body = _about_the_end(rng, units, uneven(rng, units))
    grade = body.setdefault("grade", {})
    grade.pop("shape", None)
    if rng.random() < 0.3:
        grade["shape"] = "straight"
    body["pipe"]["min_percent"] = rng.choice((0, 0.3, 0.5, 1))
    return body


def flat_stated(rng: random.Random, units: str) -> Body:
    """A flat yard with every limit stated, the run-out sometimes as long as the run."""
    body = _about_the_end(rng, units, stated(rng, units))
    unit, length = (1 if units == "us" else 25), body["route"]["length"]
    run_out = rng.choice((0, 2, 5, 13)) * (1 if units == "us" else 0.3)
    body["limits"]["outlet_taper"] = length if rng.random() < 0.2 else run_out
    shape = rng.choice(({"shape": "straight"}, {"shape": "least_dig"}))
    body["grade"] = {**shape, "min_percent": rng.choice((0, 0.5, 1, 1.25))}
    if shape["shape"] == "least_dig":
        body["grade"]["max_breaks"] = rng.randint(0, 2)
    least = rng.randint(0, 12)
    body["outlet"] = {
        "kind": rng.choice(("daylight", "pop_up", "tie_in", "dry_well", "curb")),
        "depth": {"min": least * unit, "max": (least + rng.randint(0, 12)) * unit},
    }
    return body


def levels(rng: random.Random, units: str) -> Body:
    """A flat yard with start, end or both told as levels, every limit stated."""
    body = flat_stated(rng, units)
    points, unit = body["ground"]["points"], (1 if units == "us" else 25)
    small = 12 if units == "us" else 1000
    both = rng.random() < 0.5
    if both or rng.random() < 0.5:
        down = (body["start"]["cover"] + rng.randint(3, 6) * unit) / small
        body["start"] = {"invert": round(points[0]["elevation"] - down, 3)}
    if both or "cover" in body["start"]:
        end, depth = points[-1]["elevation"], body["outlet"].pop("depth")
        most, least = (round(end - depth[side] / small, 3) for side in ("min", "max"))
        body["outlet"]["invert"] = rng.choice(
            ({"min": least, "max": most}, {"min": least}, {"min": least, "max": most})
        )
    return body


def _about_the_end(rng: random.Random, units: str, body: Body) -> Body:
    """The same with 0.2 to 2.5 % of fall, and often something buried on the last quarter."""
    unit, length = (1 if units == "us" else 25), body["route"]["length"]
    points, percent = body["ground"]["points"], rng.uniform(0.2, 2.5)
    fall = (points[0]["elevation"] - points[-1]["elevation"]) / length
    for point in points:
        point["elevation"] = round(point["elevation"] + (fall - percent / 100) * point["at"], 4)
    body["accuracy"] = {"sigma": 0, "common": 0}
    if rng.random() < 0.5:
        body["crossings"] = [
            {
                "at": round(rng.uniform(0.75, 0.99) * length, 2),
                "what": "gas line",
                "top_depth": rng.randint(6, 26) * unit,
                "size": rng.choice((0, 1, 4)) * unit,
                "clearance": rng.choice((0, 2, 6)) * unit,
                "pass": rng.choice(("over", "under", "either")),
            }
        ]
    return body
