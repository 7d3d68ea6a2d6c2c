"""What a phone finds of a trench by itself, against what the planner says of the same readings."""

from __future__ import annotations

import json
import random
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

pytestmark = pytest.mark.browser

EXAMPLES = Path(__file__).resolve().parents[3] / "openapi" / "examples"
WAYS = {"depth": "dig_depth", "line_to_bottom": "line_to_bottom", "rod": "rod_at_bottom"}
STRAIGHT = """async ({answer, cases}) => {
    const {straightCheck} = await import(document.querySelector('script[type=module]').src
        .replace('main.js', 'model/trench/straight.js'));
    return cases.map(({readings, how}) => straightCheck(answer, readings, how));
}"""
UNITS = {"us": ("in", 12.0), "si": ("mm", 1000.0)}
PLANS = ("level_line", "rod", "elevations", "steps")


def metric(body: dict[str, Any]) -> dict[str, Any]:
    """A drain of our own in metres, read from a string."""
    downs = [230, 265, 240, 350, 560]
    readings = [{"at": 4 * i, "down": down} for i, down in enumerate(downs)]
    ground = {"kind": "level_line", "readings": readings}
    return {**body, "units": "si", "route": {"length": 16}, "ground": ground}


def tried(plan: dict[str, Any], rng: random.Random) -> list[dict[str, Any]]:
    """Readings near the marks: some dug to them, some off, some far off, not all stations."""
    small, rod_per = UNITS[plan["units"]]
    step = 1 / 8 if small == "in" else 3
    cases = []
    for _ in range(40):
        on = rng.choice(["trench_bottom", "trench_bottom", "pipe_top"])
        by = rng.choice([w for w in WAYS if plan["stations"][0][WAYS[w]] is not None])
        unit, size = ("ft", rod_per) if by == "rod" else (small, 1.0)
        over = 0.0
        if on == "pipe_top":
            profile = plan["profile"]
            below = (profile["invert"][0] - profile["bottom"][0]) * rod_per
            over = (below + plan["pipe"]["outside"] - plan["pipe"]["wall"]) / size
        readings = []
        for station in plan["stations"]:
            if rng.random() < 0.15:
                continue
            off = rng.choice([0, 0, 0, 0, 1, -1, 2, -2, 3, -4, 5, -22, 20, -40]) * step / size
            exact = station[WAYS[by]] - over
            value = round(max(exact + off, 0.01), 4)
            readings.append({"at": station["at"], "value": value, "by": by, "unit": unit})
        cases.append({"readings": readings, "how": {"on": on, "by": by, "unit": unit}})
    return cases


def test_the_same_readings_get_the_same_verdict(page: Page) -> None:
    for name in (*PLANS, "metric"):
        body = json.loads(
            (EXAMPLES / f"{'level_line' if name == 'metric' else name}.json").read_text()
        )
        if name == "metric":
            body = metric({k: v for k, v in body.items() if k in ("pipe", "outlet")})
            body["start"] = {"cover": 250}
        plan = page.request.post("/api/v1/plan", data=body).json()
        cases = tried(plan, random.Random(len(name)))
        found = page.evaluate(STRAIGHT, {"answer": plan, "cases": cases})
        seen = set()
        for case, here in zip(cases, found, strict=True):
            on = case["how"]["on"]
            dug = [{"at": r["at"], r["by"]: r["value"], "on": on} for r in case["readings"]]
            asked = {"plan": body, "as_dug": dug, "next_on": on}
            true = page.request.post("/api/v1/grade-check", data=asked).json()
            assert here["verdict"] == true["verdict"], (true["sentence"], here["sentence"], dug)
            for one, other in zip(here["stations"], true["stations"], strict=True):
                assert one["state"] == other["state"], (one, other)
                assert one["off"] == pytest.approx(other["off"], abs=1e-3)
                assert (one["do"] == "read_again") == (other["do"] == "read_again"), (one, other)
                if on == "trench_bottom":
                    assert one["should_read_text"] == other["should_read_text"]
            for one, other in zip(here["runs"], true["runs"], strict=True):
                assert (one["falls_back"], one["under_least"]) == (
                    other["falls_back"],
                    other["under_least"],
                )
            assert [w["at"] for w in here["to_read"]] == [w["at"] for w in true["to_read"]]
            seen.add(here["verdict"])
        assert len(seen) > 1, seen
