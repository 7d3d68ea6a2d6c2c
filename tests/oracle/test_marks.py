"""A trench dug to the very marks of its dig sheet passes the check, on every plan and way."""

from __future__ import annotations

import random
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from marks import inches
from yards import plan, various

WAYS = {"depth": "dig_depth", "line_to_bottom": "line_to_bottom", "rod": "rod_at_bottom"}


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    seed=st.integers(0, 10**9),
    units=st.sampled_from(["us", "si"]),
    make=st.sampled_from([plan, various]),
)
def test_dug_to_the_marks_it_passes(seed: int, units: str, make: Any, service: Any) -> None:
    body = make(random.Random(seed), units)
    answered = service(body)
    if answered["answer"]["verdict"] != "yes" or not answered["ground_known"]:
        return
    for by, mark in WAYS.items():
        marks = [s["marks"][mark] for s in answered["stations"]]
        if None in marks:
            continue
        dug = [
            {"at": s["at"], by: inches(m)} for s, m in zip(answered["stations"], marks, strict=True)
        ]
        found = service.client.post("/api/v1/grade-check", json={"plan": body, "as_dug": dug}).json
        assert found["verdict"] == "pass", (found["sentence"], dug)
        told = {one for one in answered["marks"]["notes"] if "minimum grade" in one}
        assert told or not any(run["falls_back"] for run in found["runs"])
        assert [one["should_read_text"].rsplit(" ", 1)[0] for one in found["stations"]] == marks
        if not told:
            assert "flatter than the minimum" not in found["sentence"]
