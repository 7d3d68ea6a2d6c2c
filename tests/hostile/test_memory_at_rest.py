"""Plans that take hundreds of MiB: the process gives them back, and at its bound it serves on."""

from __future__ import annotations

import json
import random
import sys
import threading
import time
from pathlib import Path
from typing import Any

import pytest
from front import Served, served

pytestmark = [
    pytest.mark.long,
    pytest.mark.skipif(not sys.platform.startswith("linux"), reason="/proc, and Linux's bound"),
]
EXAMPLES = Path(__file__).resolve().parents[2] / "openapi/examples"


def heavy(number: int) -> dict[str, Any]:
    """A plan of 2,000 readings that no other has, each with its error."""
    rng = random.Random(number)
    at = [k / 2 for k in range(1999)] + [1000]
    points = [{"at": x, "elevation": 100 - 0.01 * x + rng.uniform(-0.3, 0.3)} for x in at]
    return {
        "units": "us",
        "route": {"length": 1000},
        "ground": {"kind": "elevations", "points": points},
        "pipe": {"code": "pvc-drain-4"},
        "start": {"depth": 16},
        "outlet": {"kind": "daylight"},
        "grade": {"shape": "least_dig", "max_breaks": 5},
        "stations": {"every": 0.6},
        "accuracy": {"instrument": "builders_level"},
    }


def send(server: Served, count: int, at_once: int) -> list[int]:
    """So many distinct plans, and what each was answered with."""
    numbers, found = iter(range(count)), []
    lock = threading.Lock()

    def work() -> None:
        while True:
            with lock:
                number = next(numbers, None)
            if number is None:
                return
            found.append(server.call("POST", "/plan", heavy(number))[0])

    workers = [threading.Thread(target=work) for _ in range(at_once)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()
    return found


def resident_mib(server: Served) -> float:
    status = Path(f"/proc/{server.process.pid}/status").read_text()
    line = next(row for row in status.splitlines() if row.startswith("VmRSS"))
    return int(line.split()[1]) / 1024


def test_fifty_heavy_plans_leave_the_memory_of_the_start(tmp_path: Path) -> None:
    """Once 1.4 GiB after twelve of them."""
    with served(tmp_path) as server:
        assert send(server, 50, 2).count(200) >= 40
        assert resident_mib(server) < 700


def test_at_its_bound_it_answers_503_serves_on_and_ends(tmp_path: Path) -> None:
    """Once no plan was answered any more, /health was well, and SIGTERM did not end it."""
    with served(tmp_path, YARDFALL_MEMORY_MIB="1024") as server:
        found = send(server, 30, 4)
        assert set(found) <= {200, 503}
        assert 200 in found
        assert 503 in found, "or this shows nothing"
        status, content = server.call(
            "POST", "/reach", json.loads((EXAMPLES / "reach/spots.json").read_text())
        )
        assert status == 200, content
        usual = json.loads((EXAMPLES / "level_line.json").read_text())
        for _ in range(6):  # a 503 says: again in a moment
            status, content = server.call("POST", "/plan", usual)
            if status == 200:
                break
            time.sleep(5)
        assert status == 200, (content, Path(f"/proc/{server.process.pid}/status").read_text())
        server.process.terminate()
        assert server.process.wait(40) == 0
    assert "MemoryError" not in server.log.split("has stopped")[-1]
