"""Every compiled loop is ready after the start: no request waits for one."""

from __future__ import annotations

import importlib
import json
import pkgutil
from pathlib import Path

import pytest
from flask.testing import FlaskClient
from numba.core.registry import CPUDispatcher

from yardfall import core
from yardfall.core import compiled

EXAMPLES = Path(__file__).parents[3] / "openapi" / "examples"
LINE, SPOTS = (
    json.loads((EXAMPLES / f"{name}.json").read_text("utf-8")) for name in ("level_line", "spots")
)
BENT = {"grade": {"shape": "least_dig", "max_breaks": 2, "max_percent": 20}}
SENT = {
    "straight": ("plan", LINE),
    "steepest": ("plan", LINE | {"grade": {"max_percent": 20}}),
    "short": ("plan", LINE | {"outlet": {"kind": "pop_up", "depth": {"min": 1, "max": 2}}}),
    "bent": ("plan", LINE | BENT),
    "bent and short": (
        "plan",
        LINE | BENT | {"outlet": {"kind": "pop_up", "depth": {"min": 1, "max": 2}}},
    ),
    "spots": ("plan", SPOTS | {"accuracy": {"sigma": 1}}),
    "profile": ("profile", {k: LINE[k] for k in ("units", "route", "ground")}),
    "raised": ("plan", LINE | {"start": {"cover": 20, "shallowest_cover": 6}}),
    "reach": ("reach", json.loads((EXAMPLES / "reach" / "spots.json").read_text("utf-8"))),
    "compare": ("compare", json.loads((EXAMPLES / "calls" / "compare.json").read_text("utf-8"))),
    "check": (
        "grade-check",
        json.loads((EXAMPLES / "calls" / "grade_check.json").read_text("utf-8")),
    ),
}


def kinds() -> dict[str, int]:
    """How many kinds of arguments each loop is ready for."""
    return {
        f"{module.name}.{name}": len(value.signatures)
        for module in pkgutil.walk_packages(core.__path__, "yardfall.core.")
        for name, value in vars(importlib.import_module(module.name)).items()
        if isinstance(value, CPUDispatcher)
    }


@pytest.mark.parametrize("name", SENT)
def test_no_request_makes_a_loop_ready(client: FlaskClient, name: str) -> None:
    compiled.warm()
    before = kinds()
    assert sum(before.values()) > 15
    call, body = SENT[name]
    answer = client.post(f"/api/v1/{call}", json=body)
    assert answer.status_code == 200, answer.json
    assert kinds() == before
