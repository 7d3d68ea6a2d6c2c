"""What branches, chance and explanation cost: the demo yard, and strings of many readings.

    python tests/bench/bench_explained.py

The service's own answer in process, CPU time, the least of several rounds taken in turn. The
baseline of every ratio is the main alone with `explain` false, measured in the same run.
"""

from __future__ import annotations

import copy
import json
import os
import random
import tempfile
import time
from itertools import pairwise
from pathlib import Path
from typing import Any

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from flask.testing import FlaskClient

from yardfall import app as service
from yardfall.core.chance import monte_carlo
from yardfall.core.grading import break_lp
from yardfall.web.page.page import DEMO, DEMO_RASTER

ROUNDS = 6
AIM_MS = {False: 30, True: 150}
ROOF = {"kind": "roof", "name": "roof", "area": 800, "rain_rate": 4}
BRANCHES = {
    "downspout": ([325131.2, 4624241.0], 0.35),
    "patio drain": ([325142.0, 4624246.0], 0.6),
}


def point_along(line: list[list[float]], share: float) -> tuple[list[float], float]:
    """Where a share of a line's length lies, and how far along it in metres."""
    legs = [((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5 for a, b in pairwise(line)]
    left = share * sum(legs)
    for (a, b), leg in zip(pairwise(line), legs, strict=True):
        if left <= leg:
            at = [a[k] + (b[k] - a[k]) * left / leg for k in (0, 1)]
            return at, share * sum(legs)
        left -= leg
    raise ValueError(share)


def a_plan(yard: dict[str, Any], raster: str, route: str, branches: int, shape: str) -> dict:
    """A plan of one of the yard's routes with some branches, in US units."""
    line = yard["routes"][route]["line"]["coordinates"]
    common = {
        "ground": {"kind": "raster", "raster": raster, "vertical_unit": "m"},
        "pipe": {"code": "corrugated-single-4"},
        "grade": {"min_percent": 1, "shape": shape},
    }
    joins = []
    for name, (at, share) in list(BRANCHES.items())[:branches]:
        end, along_m = point_along(line, share)
        drawn = {"line": {"type": "LineString", "coordinates": [at, end]}, "crs": yard["crs"]}
        join = {"name": name, "joins_at": along_m / 0.3048, "route": drawn}
        joins.append(join | copy.deepcopy(common) | {"start": {"cover": 6}, "inflows": [ROOF]})
    drawn = {"line": {"type": "LineString", "coordinates": line}, "crs": yard["crs"]}
    plan = {"units": "us", "route": drawn, "start": {"cover": 8}, "outlet": {"kind": "pop_up"}}
    return plan | common | {"inflows": [ROOF]} | ({"branches": joins} if joins else {})


def a_string(readings: int, seed: int, drop: float, noise_in: float, depth_in: float) -> dict:
    """Readings every three feet under a string, on ground that wanders: many need more breaks."""
    rng, down, found = random.Random(seed), 8.0, []
    for k in range(readings):
        down += rng.gauss(0, noise_in)
        found.append({"at": 3 * k, "down": max(down + drop * 36 * k, 0.1)})
    return {
        "units": "us",
        "route": {"length": 3 * (readings - 1)},
        "ground": {"kind": "level_line", "readings": found},
        "pipe": {"code": "corrugated-single-4"},
        "start": {"cover": 8},
        "outlet": {"kind": "pop_up"},
        "grade": {"min_percent": 1, "shape": "least_dig", "max_breaks": 2},
        "limits": {"min_cover": 6, "max_depth": depth_in},
    }


def cpu_ms(client: FlaskClient, body: dict[str, Any]) -> tuple[float, dict[str, Any]]:
    """CPU milliseconds of one answer, and the answer."""
    began = time.process_time()
    answer = client.post("/api/v1/plan", json=body)
    took = (time.process_time() - began) * 1000
    if answer.status_code != 200:
        raise SystemExit(f"status {answer.status_code}: {answer.get_data(as_text=True)}")
    return took, answer.get_json()


def cases(yard: dict[str, Any], raster: str) -> dict[str, dict[str, Any]]:
    """Plans by name: the main alone first, the rest with branches."""
    found = {"main alone": a_plan(yard, raster, "works", 0, "straight")}
    found["main alone"] |= {"accuracy": {"sigma": 0.25}, "explain": False}
    for shape in ("straight", "least_dig"):
        for branches in (1, 2):
            for route in ("works", "fails"):
                for sigma in (0.25, 1.0):
                    for explain in (False, True):
                        plan = a_plan(yard, raster, route, branches, shape)
                        plan |= {"accuracy": {"sigma": sigma}}
                        told = "explained" if explain else "answer alone"
                        name = f"{shape}, {branches} branches, {route}, {sigma} in, {told}"
                        found[name] = plan | {"explain": explain}
    for readings in (10, 30, 60):
        for seed in (1, 18):
            plan = a_string(readings, seed, 0.012, 2.0, 24)
            found[f"string of {readings}, ground {seed}, explained"] = plan
    return found


def main() -> None:
    """Print the least time of every case and its ratio to the main alone."""
    yard = json.loads((DEMO / "yard.json").read_text(encoding="utf-8"))
    with tempfile.TemporaryDirectory() as folder:
        app = service.create_app(service.Settings(Path(folder)))
        service.load_demo(app.extensions["rasters"])
        monte_carlo.warm()
        break_lp.warm()
        found = app.extensions["rasters"].find_named(DEMO_RASTER)
        plans, client = cases(yard, found.id), app.test_client()
        least = dict.fromkeys(plans, float("inf"))
        verdicts = {}
        for _ in range(ROUNDS):
            for name, body in plans.items():
                took, answer = cpu_ms(client, body)
                least[name] = min(least[name], took)
                verdicts[name] = answer.get("whole", answer["answer"])["verdict"]
    baseline = least["main alone"]
    for name, took in least.items():
        aim = 1000 if name.startswith("string") else AIM_MS[name.endswith("explained")]
        print(f"{name:55} {verdicts[name]:9} {took:6.1f} ms (aim {aim}), {took / baseline:5.1f} x")


if __name__ == "__main__":
    main()
