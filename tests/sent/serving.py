"""A planner that serves in a process of its own."""

from __future__ import annotations

import contextlib
import subprocess
import time
import urllib.request
from pathlib import Path

import pytest

STARTS_WITHIN_S = 60


def wait_for(address: str, process: subprocess.Popen[bytes], log: Path) -> None:
    """Return when the planner answers."""
    until = time.monotonic() + STARTS_WITHIN_S
    while time.monotonic() < until:
        if process.poll() is not None:
            break
        with (
            contextlib.suppress(OSError),
            urllib.request.urlopen(f"{address}/api/v1/health", timeout=2),
        ):
            return
        time.sleep(0.1)
    pytest.fail(f"the planner did not start: {log.read_text()}")
