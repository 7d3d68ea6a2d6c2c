"""Many clients at once: the demo's plan, the same on a raster, against an empty JSON.

One service as `yardfall serve` runs it, 32 clients of this process on keep-alive connections.
Prints requests, errors, the median and the slowest 1 in 100, the growth of the service's memory
from a third of the run to its end, and the throughput as a share of that of GET /api/v1/empty, a
call of a few bytes on the same server.

    python tests/bench/load.py --seconds 60 --clients 32
"""

from __future__ import annotations

import argparse
import http.client
import json
import os
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = ROOT / "openapi" / "examples"
JSON = {"Content-Type": "application/json"}
SERVER = """
import logging, sys
from pathlib import Path
import waitress
logging.getLogger("waitress.queue").setLevel(logging.ERROR)
from flask import jsonify
from yardfall.app import Settings, create_app, load_demo
from yardfall.cli import THREADS
app = create_app(Settings(Path(sys.argv[1])))
load_demo(app.extensions["rasters"])
app.get("/api/v1/empty")(lambda: jsonify({}))
server = waitress.create_server(app, host="127.0.0.1", port=0, threads=THREADS, ident=None)
print(server.effective_port, flush=True)
server.run()
"""


class Run(NamedTuple):
    """What one kind of call came to."""

    per_s: float
    errors: int
    median_ms: float
    p99_ms: float
    grown_mib: float


def memory_mib(pid: int) -> float:
    """Resident memory of a process."""
    pages = int(Path(f"/proc/{pid}/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGESIZE") / (1 << 20)


def load(port: int, pid: int, call: tuple[str, str, str], clients: int, seconds: float) -> Run:
    """Let the clients call for so long."""
    method, path, body = call
    times: list[float] = []
    errors = [0]
    lock = threading.Lock()
    ends = time.monotonic() + seconds

    def client() -> None:
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        mine, wrong = [], 0
        while time.monotonic() < ends:
            began = time.perf_counter()
            try:
                connection.request(method, path, body or None, JSON)
                answer = connection.getresponse()
                answer.read()
                wrong += answer.status != 200
            except (OSError, http.client.HTTPException):
                wrong += 1
                connection.close()
            mine.append(time.perf_counter() - began)
        connection.close()
        with lock:
            times.extend(mine)
            errors[0] += wrong

    threads = [threading.Thread(target=client) for _ in range(clients)]
    for thread in threads:
        thread.start()
    time.sleep(seconds / 3)
    before = memory_mib(pid)
    for thread in threads:
        thread.join()
    grown = memory_mib(pid) - before
    times.sort()
    slow = times[int(0.99 * (len(times) - 1))]
    return Run(len(times) / seconds, errors[0], 1e3 * times[len(times) // 2], 1e3 * slow, grown)


def calls(port: int) -> dict[str, tuple[str, str, str]]:
    """What is called, by name; the raster's plan is made on the demo yard's."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    connection.request("GET", "/demo.json")
    demo = json.load(connection.getresponse())
    (xmin, ymin), (xmax, ymax) = (0, 0), (0, 0)
    connection.request("GET", f"/api/v1/rasters/{demo['raster']}")
    facts = json.load(connection.getresponse())
    connection.close()
    xmin, ymin, xmax, ymax = facts["bounds"]
    line = [[xmin + s * (xmax - xmin), ymin + s * (ymax - ymin)] for s in (0.45, 0.55)]
    plan = json.loads((EXAMPLES / "level_line.json").read_text("utf-8"))
    raster = json.loads((EXAMPLES / "raster.json").read_text("utf-8"))
    raster["route"] = {"line": {"type": "LineString", "coordinates": line}, "crs": facts["crs"]}
    raster["ground"]["raster"] = demo["raster"]
    if facts["vertical_unit"]:
        raster["ground"].pop("vertical_unit", None)
    return {
        "empty JSON": ("GET", "/api/v1/empty", ""),
        "plan": ("POST", "/api/v1/plan", json.dumps(plan)),
        "plan on a raster": ("POST", "/api/v1/plan", json.dumps(raster)),
    }


def main() -> int:
    """Run each call in turn; 1 if any request failed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--clients", type=int, default=32)
    parser.add_argument("--seconds", type=float, default=60)
    arguments = parser.parse_args()
    failed = 0
    with tempfile.TemporaryDirectory() as data:
        server = subprocess.Popen(
            [sys.executable, "-c", SERVER, data], stdout=subprocess.PIPE, text=True
        )
        try:
            assert server.stdout is not None
            port = int(server.stdout.readline())
            base = 0.0
            for name, call in calls(port).items():
                load(port, server.pid, call, 4, min(2.0, arguments.seconds))
                run = load(port, server.pid, call, arguments.clients, arguments.seconds)
                base = base or run.per_s
                failed += run.errors
                print(
                    f"{name:17} {run.per_s:6.0f}/s ({run.per_s / base:4.0%} of empty)  "
                    f"errors {run.errors}  median {run.median_ms:4.0f} ms  "
                    f"p99 {run.p99_ms:4.0f} ms  memory {run.grown_mib:+.1f} MiB",
                    flush=True,
                )
        finally:
            server.terminate()
            server.wait()
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
