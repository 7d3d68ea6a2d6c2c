"""The service against the oracle where every limit is stated: verdict, spare, line."""

from __future__ import annotations

import random
from typing import Any

import pytest
from runner import line_faults, spare_faults, table
from truth import job
from truth.hand_rule import Rule
from truth.lines import spare_of_any_shape
from yards import filled, stated


def faults(body: dict[str, Any], service: Any, pipes: dict[str, Any]) -> list[str]:
    rule = Rule(job.read(body, pipes))
    truth, answered = rule.answer(), service(body)
    answer, found = answered["answer"], []
    if answer["verdict"] != truth.verdict:
        found.append(f"verdict {answer['verdict']}, truly {truth.verdict}")
    any_shape = max(spare_of_any_shape(band) or 0 for band, _ in rule.bands(rule.first))
    if truth.verdict == "yes" or any_shape >= 0:  # else two shortages stand side by side
        found += spare_faults(answer["spare"], rule, rule.first)
    if not found and truth.verdict == "yes":
        found += line_faults(answered, rule, rule.first)
    return found


@pytest.mark.parametrize("units", ["us", "si"])
def test_verdict_spare_and_line(units: str, service: Any, pipes: dict[str, Any]) -> None:
    rng = random.Random(77)
    cases = []
    for i in range(60):
        body = stated(rng, units)
        cases.append((f"{i}: {body}", faults(body, service, pipes)))
    assert sum(not found for _, found in cases) == len(cases), table(cases)


@pytest.mark.parametrize("units", ["us", "si"])
def test_cover_counts_to_the_finished_ground(
    units: str, service: Any, pipes: dict[str, Any]
) -> None:
    """Soil to be laid counts as cover, over a start told by its cover too; the trench's greatest
    depth counts from the ground as it lies."""
    rng = random.Random(78)
    cases = []
    for i in range(40):
        body = filled(rng, units)
        cases.append((f"{i}: {body}", faults(body, service, pipes)))
    assert sum(not found for _, found in cases) == len(cases), table(cases)
