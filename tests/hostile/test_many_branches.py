"""A body of 4 MiB holds thousands of branches of branches: a plan takes fifty in all."""

from __future__ import annotations

from typing import Any

import pytest


@pytest.fixture
def tree(readings) -> Any:
    """A plan with branches, so many at each of so many levels."""
    whole = readings(5)
    line = {k: v for k, v in whole.items() if k not in ("units", "outlet")}

    def rows(levels: int, wide: int) -> list[dict[str, Any]]:
        below = {"branches": rows(levels - 1, wide)} if levels > 1 else {}
        names = [f"{levels} {i}" for i in range(wide)]
        return [line | below | {"name": n, "joins_at": 1 + 0.5 * i} for i, n in enumerate(names)]

    return lambda levels, wide: whole | {"branches": rows(levels, wide)}


@pytest.mark.parametrize(("levels", "wide"), [(2, 7), (3, 12), (6, 3)], ids=["56", "1884", "1092"])
def test_more_are_refused_before_they_are_read(client, tree, cost, levels, wide) -> None:
    body = tree(levels, wide)
    with cost() as spent:
        answer = client.post("/api/v1/plan", json=body)
    assert answer.status_code == 422
    assert answer.json["errors"][0]["pointer"] == "/branches"
    assert "50 branches in all" in answer.json["detail"]
    assert spent.cpu_s < 1


def test_as_many_as_may_be_are_planned(client, tree, cost) -> None:
    with cost() as spent:
        answer = client.post("/api/v1/plan", json=tree(2, 6))
    assert answer.status_code == 200, answer.json
    assert spent.cpu_s < 15
    assert spent.grown_mib < 700
    assert len(answer.data) < 10e6
