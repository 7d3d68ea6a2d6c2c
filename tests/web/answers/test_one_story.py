"""A no tells one story: sentence, crossing, drawn line and amounts."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from yardfall.core.units import SI, US


def crossed_yard(seed: int) -> dict[str, Any]:
    """A yard of our own invention with a gas line near the depth of the pipe."""
    rng = random.Random(seed)
    length, level, points = rng.choice([40, 60, 80]), 100.0, [{"at": 0, "elevation": 100.0}]
    for at in range(10, length + 1, 10):
        level -= rng.uniform(-0.15, 0.35)
        points.append({"at": at, "elevation": round(level, 2)})
    crossing = {"at": rng.choice([15, 20, 25, 30]), "what": "gas", "pass": "either"}
    crossing |= {"top_depth": rng.choice([14, 18]), "size": rng.choice([1, 2, 4])}
    crossing |= {"clearance": rng.choice([2, 6])}
    request = {
        "units": "us",
        "route": {"length": length},
        "ground": {"kind": "elevations", "points": points},
        "pipe": {"code": "corrugated-single-4"},
        "start": {"cover": rng.choice([4, 6, 9, 14])},
        "outlet": {"kind": "tie_in", "depth": {"min": 0, "max": rng.choice([14, 20, 26])}},
        "crossings": [crossing],
    }
    return request | rng.choice([{}, {"grade": {"min_percent": 1, "shape": "least_dig"}}])


@pytest.mark.parametrize("seed", [8, 25, 47, 52, 62, 109])
def test_a_no_passes_a_crossing_as_its_sentence_says(
    plan: Callable[[dict], dict], seed: int
) -> None:
    """What must pass under is told so, and drawn with the whole clearance below the gas line."""
    answer = plan(crossed_yard(seed))
    assert answer["answer"]["verdict"] == "no"
    assert "must pass under the gas" in answer["answer"]["sentence"]
    (crossing,), line = answer["crossings"], answer["profile"]
    assert crossing["pass"] == "under"
    top, ground = (np.interp(crossing["at"], line["at"], line[name]) for name in ("top", "ground"))
    below = crossing["top_depth"] + crossing["size"] + crossing["clearance"]
    assert (ground - top) * 12 >= below - 1e-4


def short_by(inches: float) -> dict[str, Any]:
    """100 ft of level lawn, 12 in to fall at 1 %: the outlet's limit less `inches` too shallow.

    A 4.215 in pipe under 8 in of cover starts 12.215 in deep, and so ends 24.215 in deep.
    """
    return {
        "units": "us",
        "route": {"length": 100},
        "ground": {
            "kind": "elevations",
            "points": [{"at": 0, "elevation": 10}, {"at": 100, "elevation": 10}],
        },
        "pipe": {"code": "pvc-sdr35-4"},
        "start": {"cover": 8},
        "grade": {"min_percent": 1, "shape": "straight"},
        "limits": {"min_cover": 6, "max_depth": 60},
        "outlet": {"kind": "tie_in", "depth": {"min": 0, "max": 24.215 - inches}},
    }


@pytest.mark.parametrize(
    ("inches", "words"),
    [(0.001, "less than 1/8 in"), (0.04, "less than 1/8 in"), (0.3, "0.3 in"), (2, "2 in")],
)
def test_a_no_is_never_nothing_short(
    plan: Callable[[dict], dict], inches: float, words: str
) -> None:
    answer = plan(short_by(inches))["answer"]
    assert answer["verdict"] == "no"
    assert f"come out {words} too deep" in answer["sentence"]


def test_an_amount_is_never_nothing() -> None:
    """A tape tells 1/8 in and 1 mm; what is less is told as less, not as 0."""
    for units, finest in ((US, "1/8 in"), (SI, "1 mm")):
        assert units.amount_text(1e-7) == f"less than {finest}"
