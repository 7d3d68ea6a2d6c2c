"""Where what would mend a "no" takes too long to find, the answer comes without the rest of it."""

from __future__ import annotations

import pytest

from yardfall.core import plan


def test_what_was_found_in_time_is_told(client, yard_request, monkeypatch) -> None:
    yard_request["limits"] = {"min_cover": 6, "max_depth": 10}
    whole = client.post("/api/v1/plan", json=yard_request).json
    assert whole["answer"]["verdict"] == "no"
    assert whole["answer"]["fixes"]
    assert "not_all_tried" not in {one["code"] for one in whole["warnings"]}
    monkeypatch.setattr(plan, "MENDING", 0.0)
    cut = client.post("/api/v1/plan", json=yard_request)
    assert cut.status_code == 200
    assert cut.json["answer"]["fixes"] == []
    assert cut.json["answer"]["sentence"] == whole["answer"]["sentence"]
    told = {one["code"]: one for one in cut.json["warnings"]}
    assert told["not_all_tried"]["pointer"] == "/explain"


@pytest.mark.long
def test_two_thousand_elevations_with_five_breaks_are_answered(client, readings) -> None:
    """Once refused after 20 s, for all that was tried to mend it."""
    body = readings(2000, noise_ft=0.3) | {"grade": {"shape": "least_dig", "max_breaks": 5}}
    body["outlet"] = {"kind": "daylight", "depth": {"min": 0, "max": 4}}
    answer = client.post("/api/v1/plan", json=body)
    assert answer.status_code == 200
    assert answer.json["answer"]["verdict"] == "no"
