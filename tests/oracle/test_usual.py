"""The service against the oracle where limits are left out: which gives way, and how far."""

from __future__ import annotations

import itertools
import random
from typing import Any

import pytest
from runner import differences, table
from yards import even_grid, uneven

EVERY = 53  # of the even grid here; `tests/bench/oracle.py` sends all of it


@pytest.mark.parametrize("units", ["us", "si"])
def test_even_yards(units: str, service: Any, pipes: dict[str, Any]) -> None:
    grid = itertools.islice(even_grid(units), 7, None, EVERY)
    cases = [(name, differences(body, service, pipes)) for name, body in grid]
    assert not any(found for _, found in cases), table(cases)


@pytest.mark.parametrize("units", ["us", "si"])
def test_uneven_yards_with_some_limits_stated(
    units: str, service: Any, pipes: dict[str, Any]
) -> None:
    rng = random.Random(2024)
    cases = []
    for i in range(50):
        body = uneven(rng, units)
        cases.append((f"{i}: {body}", differences(body, service, pipes)))
    assert not any(found for _, found in cases), table(cases)
