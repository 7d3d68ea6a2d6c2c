"""Plan requests per second, against a bare Flask JSON echo of the same body.

Both run in a process of their own, served as `yardfall serve` does it; one client calls them in
turn over loopback HTTP with keep-alive. Bar: the plan at least a quarter of
the echo's rate, asked again on the same readings, as while someone moves the pipe. Told beside it:
the same with another reading each time, for which the ground's errors are drawn anew.

A machine that does nothing else, please: other work makes the echo faster and the plan slower.

    python tests/bench/bench_plan.py
"""

from __future__ import annotations

import copy
import http.client
import itertools
import json
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import flask

from yardfall.app import Settings, create_app
from yardfall.cli.commands import settle
from yardfall.serving.server import Server

BAR = 0.25
ROUNDS = 9
SECONDS = 1.0
REQUEST: dict[str, Any] = {
    "units": "us",
    "route": {"length": 60},
    "ground": {
        "kind": "level_line",
        "readings": [
            {"at": 0, "down": 9},
            {"at": 12, "down": 10.5},
            {"at": 24, "down": 10},
            {"at": 36, "down": 13.5},
            {"at": 48, "down": 17},
            {"at": 60, "down": 22.5},
        ],
    },
    "pipe": {"code": "corrugated-single-4"},
    "start": {"cover": 8},
    "outlet": {"kind": "pop_up"},
}


def echo_app() -> flask.Flask:
    """The baseline: JSON in, the same JSON out."""
    app = flask.Flask("echo")

    @app.post("/api/v1/plan")
    def echo() -> flask.Response:
        return flask.jsonify(flask.request.get_json())

    return app


def serve(name: str) -> None:
    """Serve one of the two on a port the system picks, and print the port."""
    with tempfile.TemporaryDirectory() as folder:
        app = echo_app() if name == "echo" else create_app(Settings(Path(folder)))
        app.extensions.setdefault("admits", lambda _: "here")
        settle()
        server = Server(app, "127.0.0.1", 0)
        print(server.port, flush=True)
        server.run()


def start(name: str) -> tuple[subprocess.Popen[str], http.client.HTTPConnection]:
    """A server process and an open connection to it."""
    process = subprocess.Popen(
        [sys.executable, __file__, name], stdout=subprocess.PIPE, text=True, encoding="ascii"
    )
    assert process.stdout is not None
    return process, http.client.HTTPConnection("127.0.0.1", int(process.stdout.readline()))


def bodies(*, anew: bool) -> Iterator[bytes]:
    """The request with another start each time; `anew`: and another third reading."""
    made = []
    for i in range(1000):
        request = copy.deepcopy(REQUEST)
        request["start"]["cover"] = 8 + i / 1000
        if anew:
            request["ground"]["readings"][2]["down"] = 10 + i / 1000
        made.append(json.dumps(request).encode())
    return itertools.cycle(made)


def rate(connection: http.client.HTTPConnection, seconds: float, *, anew: bool = False) -> float:
    """Answers per second over a time."""
    asked = bodies(anew=anew)
    headers = {"Content-Type": "application/json"}
    began = time.perf_counter()
    count = 0
    while (taken := time.perf_counter() - began) < seconds:
        connection.request("POST", "/api/v1/plan", next(asked), headers)
        answer = connection.getresponse()
        if answer.status != 200:
            raise SystemExit(f"status {answer.status}: {answer.read().decode()}")
        answer.read()
        count += 1
    return count / taken


def main() -> int:
    """Print each side's median rate and their ratio; 1 when the bar is missed."""
    servers = {name: start(name) for name in ("echo", "plan")}
    try:
        for _, connection in servers.values():
            rate(connection, 0.5)
        rounds = [
            {name: rate(connection, SECONDS) for name, (_, connection) in servers.items()}
            for _ in range(ROUNDS)
        ]
        anew = [
            {
                name: rate(connection, SECONDS, anew=True)
                for name, (_, connection) in servers.items()
            }
            for _ in range(ROUNDS // 3)
        ]
    finally:
        for process, connection in servers.values():
            connection.close()
            process.terminate()
            process.wait()
    for name in servers:
        print(f"{name:5} {statistics.median(r[name] for r in rounds):7.0f} answers a second")
    ratio = statistics.median(r["plan"] / r["echo"] for r in rounds)
    held = ratio >= BAR
    other = statistics.median(r["plan"] / r["echo"] for r in anew)
    print(f"plan / echo {other:.3f} where a reading is another each time")
    print(f"plan / echo {ratio:.3f}, bar at least {BAR}: {'held' if held else 'MISSED'}")
    return 0 if held else 1


if __name__ == "__main__":
    if len(sys.argv) > 1:
        serve(sys.argv[1])
    else:
        sys.exit(main())
