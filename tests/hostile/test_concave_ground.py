"""Ground that falls away from the line: a no whose every earlier end is tried, once 36 s."""

from __future__ import annotations

import numpy as np
import pytest


def concave(count: int, noise_ft: float, *, bends: bool) -> dict:
    at = np.linspace(0, 1000, count)
    z = 100 - 20 * (1 - (1 - at / 1000) ** 2)
    z += np.random.default_rng(1).uniform(-noise_ft, noise_ft, count)
    points = [{"at": float(a), "elevation": float(e)} for a, e in zip(at, z, strict=True)]
    body = {
        "units": "us",
        "route": {"length": 1000},
        "ground": {"kind": "elevations", "points": points},
        "pipe": {"code": "pvc-drain-4"},
        "start": {"depth": 24},
        "outlet": {"kind": "daylight"},
        "accuracy": {"instrument": "builders_level"},
    }
    return body | ({"grade": {"shape": "least_dig", "max_breaks": 5}} if bends else {})


@pytest.mark.parametrize(
    ("count", "noise_ft", "bends", "idle"),
    [(2000, 0.1, True, "1.5 s"), (5000, 0.2, False, "2.6 s"), (5000, 0.2, True, "1.9 s")],
)
def test_all_that_would_mend_it_is_tried_in_time(
    client, cost, count, noise_ft, bends, idle
) -> None:
    with cost() as spent:
        answer = client.post("/api/v1/plan", json=concave(count, noise_ft, bends=bends))
    assert answer.status_code == 200
    assert answer.json["answer"]["verdict"] == "no"
    assert {fix["change"] for fix in answer.json["answer"]["fixes"]} == {"end_at", "outlet_kind"}
    assert spent.cpu_s < 6, f"{idle} on an idle machine"
