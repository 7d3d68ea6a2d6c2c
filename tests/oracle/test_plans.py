"""The service against the oracle on plans of every ground, unit, start, outlet, crossing, shape."""

from __future__ import annotations

import random
from typing import Any

import pytest
from plans import faults
from runner import table
from yards import plan

CHECKS = ("refused", "verdict", "line", "dig", "outlet", "marks")


@pytest.mark.parametrize("units", ["us", "si"])
def test_plans(units: str, service: Any, pipes: dict[str, Any]) -> None:
    """Verdict, the line within every limit, its trench the least, and its marks on the tape."""
    rng = random.Random(31)
    cases = []
    for i in range(100):
        body = plan(rng, units, bedded_crossings=False)
        found = faults(body, service, pipes, CHECKS)
        cases.append((f"{i}: {body}", [f"{c}: {f}" for c, fs in found.items() for f in fs]))
    assert not any(found for _, found in cases), table(cases)
