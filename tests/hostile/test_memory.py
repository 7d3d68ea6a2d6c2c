"""A bound on the whole process's memory: what goes beyond is told, and others are served on."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from yardfall.serving.memory import hold_memory


@pytest.mark.parametrize("text", ["", "many", "-1", "1.5", "512"])
def test_a_bound_that_cannot_be_is_told(text: str) -> None:
    with pytest.raises(ValueError, match=r"YARDFALL_MEMORY_MIB.*1024 or more"):
        hold_memory({"YARDFALL_MEMORY_MIB": text})


LARGE_AND_SMALL = """
import json, sys
from pathlib import Path
import numpy as np
from yardfall.use_cases import workflow
from yardfall.app import Settings, create_app
from yardfall.core import compiled
from yardfall.serving.memory import hold_memory

hold_memory({"YARDFALL_MEMORY_MIB": "1024"})
client = create_app(Settings(Path(sys.argv[1]))).test_client()
body, plan = json.loads(sys.stdin.read()), workflow.plan
compiled.warm()
workflow.plan = lambda *given: (np.ones(1_500_000_000, dtype=np.uint8), plan(*given))[1]
first = client.post("/api/v1/plan", json=body)
workflow.plan = plan
second = client.post("/api/v1/plan", json=body)
print(first.status_code, "more memory" in first.json["detail"], second.status_code)
"""


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="Linux bounds a process's data")
def test_a_process_at_its_bound_answers_503_and_serves_on(tmp_path, yard_request) -> None:
    """A plan with an array of 1.5 GB stands for any that is too large."""
    done = subprocess.run(
        [sys.executable, "-c", LARGE_AND_SMALL, str(tmp_path)],
        input=json.dumps(yard_request),
        capture_output=True,
        text=True,
        timeout=300,
    )
    assert done.stdout.split() == ["503", "True", "200"], done.stderr
