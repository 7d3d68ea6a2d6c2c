"""Random yards that something bears on: stretches of the line with a least cover of their own."""

from __future__ import annotations

import random
from typing import Any

from ends import flat
from truth import ground
from truth.figures import FIGURES
from yards import plan, various

Body = dict[str, Any]


def stated(rng: random.Random, units: str) -> Body:
    """A plan with every limit stated, one to three stretches among them."""
    return _borne(rng, units, plan(rng, units))


def usual(rng: random.Random, units: str) -> Body:
    """A yard with limits stated by chance, now and then a flat one; stretches always are."""
    return _borne(rng, units, (flat if rng.random() < 0.3 else various)(rng, units))


def _borne(rng: random.Random, units: str, body: Body) -> Body:
    """The same with stretches: at the ends and beyond, short, over a crossing, overlapping."""
    unit = 1 if units == "us" else 25
    length = ground.length(body) / FIGURES[units].length
    places = [c["at"] / length for c in body.get("crossings", ())] * 2
    body["covers"] = []
    for i in range(rng.choice((1, 1, 2, 3))):
        middle = rng.choice((0.0, 1.0, rng.random(), rng.random(), rng.random(), *places))
        half = rng.choice((0.01, 0.04, 0.1, 0.2))
        first, last = max(0.0, middle - half) * length, (middle + half) * length
        if rng.random() < 0.7:
            last = min(last, length)
        asked = body["start"].get("cover", 6 * unit) / unit
        deep = rng.choice((2, 4, 6, 8, 10, 12, asked if first == 0 else 18))
        body["covers"].append(
            {
                "from": round(first, 2), "to": round(max(last, first + 0.1), 2),
                "cover": round(deep * unit, 3), "what": f"walk {i + 1}",
                "wheels": rng.random() < 0.2,
            }
        )  # fmt: skip
    return body
