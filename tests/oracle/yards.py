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
