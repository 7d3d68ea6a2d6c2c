"""The service against the oracle on plans of every ground, unit, start, outlet, crossing, shape."""

from __future__ import annotations

import random
from typing import Any

import pytest
import trees
from chance import chance_faults
from changes import fix_faults, pair_faults, unlisted
from ends import flat_stated
from plans import faults
from runner import table
from yards import doubtful, plan, tree

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


def test_what_is_offered_mends_a_no_and_nothing_is_left_out(
    service: Any, pipes: dict[str, Any]
) -> None:
    """Of flat yards: each fix and pair sent back is a yes, and every single change is there."""
    rng = random.Random(5)
    bodies = [flat_stated(rng, ("us", "si")[i % 2]) for i in range(12)]
    cases, refused = [], 0
    for body in bodies:
        answered = service(body)
        if answered["answer"]["verdict"] == "no":
            refused += 1
            found = fix_faults(body, answered, service)
            found += pair_faults(body, answered, service, pipes)
            cases.append((str(body), found + unlisted(body, answered, pipes)))
    assert refused >= 4
    assert not any(found for _, found in cases), table(cases)


def test_lines_and_branches(service: Any, pipes: dict[str, Any]) -> None:
    """All exist together or not, each within its limits, and no branch comes in too low."""
    rng = random.Random(8)
    bodies = [tree(rng, rng.choice(("us", "si"))) for _ in range(30)]
    cases = [(str(body), list(trees.faults(body, service, pipes).items())) for body in bodies]
    assert not any(found for _, found in cases), table(cases)


def test_chance(service: Any, pipes: dict[str, Any]) -> None:
    """The share of draws of the readings' errors in which a line exists, drawn anew."""
    rng = random.Random(12)
    bodies = [doubtful(rng, rng.choice(("us", "si"))) for _ in range(20)]
    cases = [(str(b), list(chance_faults(b, service, pipes).items())) for b in bodies]
    assert not any(found for _, found in cases), table(cases)
