"""Many clients at once: the demo's plan, the same on a raster, against an empty JSON.

One service as `yardfall serve` runs it, 32 clients of this process on keep-alive connections.
Prints requests, errors, the median and the slowest 1 in 100, the processor time that the service
took for each (which tells, on a busy machine, what the times do not), its memory at a third of the
run and at its end, and the throughput as a share of that of GET /api/v1/empty, a call of a few
bytes on the same server.

    python tests/bench/load.py --seconds 60 --clients 32

With --neighbour, what `neighbour.py` says.
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

import neighbour

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = ROOT / "openapi" / "examples"
JSON = {"Content-Type": "application/json"}
SERVER = """
import sys
from pathlib import Path
from flask import jsonify
from yardfall.app import Settings, create_app, load_demo
from yardfall.cli.commands import settle
from yardfall.serving.server import Server
app = create_app(Settings(Path(sys.argv[1])))
load_demo(app.extensions["rasters"])
app.get("/api/v1/empty")(lambda: jsonify({}))
settle()
server = Server(app, "127.0.0.1", 0)
print(server.port, flush=True)
server.run()
"""


class Run(NamedTuple):
    """What one kind of call came to; memory at a third of the run and at its end."""

    per_s: float
    errors: int
    median_ms: float
    p99_ms: float
    cpu_ms: float
    before_mib: float
    after_mib: float


def memory_mib(pid: int) -> float:
    """Resident memory of a process."""
    pages = int(Path(f"/proc/{pid}/statm").read_text().split()[1])
    return pages * os.sysconf("SC_PAGESIZE") / (1 << 20)


def processor_s(pid: int) -> float:
    """Processor time that a process has taken."""
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


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

    used_s = processor_s(pid)
    threads = [threading.Thread(target=client) for _ in range(clients)]
    for thread in threads:
        thread.start()
    time.sleep(seconds / 3)
    before = memory_mib(pid)
    for thread in threads:
        thread.join()
    after, used_s = memory_mib(pid), processor_s(pid) - used_s
    times.sort()
    return Run(
        len(times) / seconds,
        errors[0],
        1e3 * times[len(times) // 2],
        1e3 * times[int(0.99 * (len(times) - 1))],
        1e3 * used_s / len(times),
        before,
        after,
    )


def calls(port: int) -> dict[str, tuple[str, str, str]]:
    """What is called, by name; on the raster, what the page asks for when it is first opened."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    connection.request("GET", "/demo.json")
    demo = json.load(connection.getresponse())
    connection.close()
    accuracy = demo["raster_accuracy"]
    raster = {
        "units": "us",
        "route": {"line": demo["routes"]["works"]["line"], "crs": demo["crs"]},
        "ground": {"kind": "raster", "raster": demo["raster"]},
        "pipe": {"code": "corrugated-single-4"},
        "start": {"cover": 8},
        "limits": {"max_depth": 36},
        "outlet": {"kind": "pop_up"},
        "accuracy": {"sigma": accuracy["sigma"]},
    }
    return {
        "empty JSON": ("GET", "/api/v1/empty", ""),
        "plan": ("POST", "/api/v1/plan", (EXAMPLES / "level_line.json").read_text("utf-8")),
        "plan on a raster": ("POST", "/api/v1/plan", json.dumps(raster)),
    }


def main() -> int:
    """Run each call in turn; 1 if any request failed."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--clients", type=int, default=32)
    parser.add_argument("--seconds", type=float, default=60)
    parser.add_argument("--neighbour", action="store_true", help="one hostile, nine honest")
    arguments = parser.parse_args()
    if arguments.neighbour:
        return neighbour.run(SERVER, arguments.seconds)
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
                    f"p99 {run.p99_ms:4.0f} ms  processor {run.cpu_ms:.1f} ms each  "
                    f"memory {run.before_mib:.1f} to {run.after_mib:.1f} MiB",
                    flush=True,
                )
        finally:
            server.terminate()
            server.wait()
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
