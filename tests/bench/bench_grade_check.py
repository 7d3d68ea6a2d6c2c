"""A grade check against the plan it holds a trench to, both whole calls in process.

An app asks for every reading as it comes in, so that a check may cost little more than its plan, a
fail included, which solves for the least work twice.
Prints the median time of each and their ratio; one trench that passes and one that fails.

    python tests/bench/bench_grade_check.py
"""

from __future__ import annotations

import json
import statistics
import sys
import tempfile
import time
from pathlib import Path

from flask.testing import FlaskClient

from yardfall.app import Settings, create_app

BAR = 1.25
ROUNDS = 300
EXAMPLE = Path(__file__).resolve().parents[2] / "openapi" / "examples" / "level_line.json"


def median_s(client: FlaskClient, path: str, body: dict) -> float:
    """Median time of a call."""
    times = []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        answer = client.post(path, json=body)
        times.append(time.perf_counter() - began)
        if answer.status_code != 200:
            raise SystemExit(answer.get_data(as_text=True))
    return statistics.median(times)


def main() -> int:
    """Print the times; 1 when the bar is missed."""
    request = json.loads(EXAMPLE.read_text("utf-8"))
    good = [{"at": 13.0 * k, "line_to_bottom": 21.6 + 2 * k} for k in range(5)]
    bad = [one | {"line_to_bottom": one["line_to_bottom"] - k % 2} for k, one in enumerate(good)]
    missed = False
    with tempfile.TemporaryDirectory() as folder:
        client = create_app(Settings(Path(folder))).test_client()
        median_s(client, "/api/v1/plan", request)
        plan_s = median_s(client, "/api/v1/plan", request)
        print(f"plan           {plan_s * 1e3:6.2f} ms")
        for name, as_dug in (("passes", good), ("fails", bad)):
            body = {"plan": request, "as_dug": as_dug}
            check_s = median_s(client, "/api/v1/grade-check", body)
            missed |= check_s > BAR * plan_s
            print(f"check, {name:7} {check_s * 1e3:6.2f} ms, {check_s / plan_s:.2f} of the plan")
    print(f"bar at most {BAR:g} times the plan: {'MISSED' if missed else 'held'}")
    return int(missed)


if __name__ == "__main__":
    sys.exit(main())
