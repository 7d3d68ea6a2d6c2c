"""Requests on which an oracle once disagreed with the service, and now does not."""

from __future__ import annotations

from typing import Any

from truth import job
from truth.hand_rule import Rule
from yards import even

Body = dict[str, Any]


def test_round_metric_cover_meets_the_usual_cover(service: Any, pipes: Body) -> None:
    """150 mm of cover were once 2 mm short of 6 in."""
    body = even("si", 18, 4, "corrugated-single-4", "pop_up", 150, False)
    answer = service(body)["answer"]
    assert (answer["verdict"], answer["conditions"]) == ("yes", [])
    assert Rule(job.read(body, pipes)).answer().verdict == "yes"
