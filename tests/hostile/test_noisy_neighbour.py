"""One key that takes all it can beside nine that plan: the bench, with its bar."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

BENCH = Path(__file__).resolve().parents[1] / "bench" / "load.py"


@pytest.mark.long
@pytest.mark.skipif(sys.platform == "win32", reason="its sockets are held as POSIX holds them")
def test_nine_honest_keys_hardly_wait_for_the_tenth() -> None:
    command = [sys.executable, str(BENCH), "--neighbour", "--seconds", "30"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=300)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "times 200" in done.stdout, "the tenth was served as well"
