"""A short run of the load bench: every request of many at once is answered."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

BENCH = Path(__file__).resolve().parents[2] / "bench" / "load.py"


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="memory is read from /proc")
def test_many_at_once_are_all_answered() -> None:
    command = [sys.executable, str(BENCH), "--seconds", "1", "--clients", "8"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stdout + done.stderr
    assert done.stdout.count("errors 0") == 3
