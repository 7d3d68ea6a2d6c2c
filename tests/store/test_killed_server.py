"""A serving planner killed under saves and uploads: a short run of the bench script."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

BENCH = Path(__file__).resolve().parents[1] / "bench" / "kill_http.py"


@pytest.mark.skipif(sys.platform == "win32", reason="servers are forked")
def test_what_was_acknowledged_over_http_outlives_the_server() -> None:
    command = [sys.executable, str(BENCH), "--rounds", "3"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=180)
    assert done.returncode == 0, done.stdout + done.stderr
    saves, uploads = map(int, re.findall(r"(\d+) (?:saves|uploads)", done.stdout))
    assert min(saves, uploads) > 0, "killed before anything was kept: tested nothing"
    assert " 0 lost or half-kept" in done.stdout
