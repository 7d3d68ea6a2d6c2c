"""One key that takes all it can, nine that plan: what the nine have to wait.

One service as `yardfall serve` runs it, with ten keys. The nine send the demo's plan five times a
second each, alone at first, then beside a tenth, which all at once searches yards from 12 clients
without a pause, sends four uploads that trickle, leaves six exports unread and holds 120 silent
connections. Prints the nine's errors, median and slowest 1 in 100 for both, and what the tenth was
answered. Bar: p99 of the nine below 250 ms beside it.

    python tests/bench/load.py --neighbour --seconds 30
"""

from __future__ import annotations

import contextlib
import http.client
import json
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from pathlib import Path
from typing import NamedTuple

from yardfall.store.database import open_database
from yardfall.store.keys import KeyStore

EXAMPLES = Path(__file__).resolve().parents[2] / "openapi" / "examples"
BAR_MS = 250
HONEST, PAUSE_S = 9, 0.2
SEARCHES, TRICKLES, UNREAD, SILENT = 12, 4, 6, 120
PLAN = (EXAMPLES / "level_line.json").read_bytes()
SEARCH = json.dumps(json.loads((EXAMPLES / "reach" / "spots.json").read_text()) | {"draws": 200})


class Waits(NamedTuple):
    """What calls came to."""

    count: int
    errors: int
    median_ms: float
    p99_ms: float

    def __str__(self) -> str:
        return (
            f"{self.count} calls  errors {self.errors}  median {self.median_ms:.0f} ms  "
            f"p99 {self.p99_ms:.0f} ms"
        )


def call(connection: http.client.HTTPConnection, key: str, path: str, body: bytes) -> int:
    """The status of one call."""
    headers = {"Content-Type": "application/json", "Authorization": f"Bearer {key}"}
    connection.request("POST", f"/api/v1/{path}", body, headers)
    answer = connection.getresponse()
    answer.read()
    return answer.status


def honest(port: int, keys: list[str], seconds: float) -> Waits:
    """The nine's calls over a time."""
    times: list[float] = []
    errors: list[int] = []
    ends = time.monotonic() + seconds

    def plan(key: str, late_s: float) -> None:
        time.sleep(late_s)
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        while time.monotonic() < ends:
            began = time.perf_counter()
            try:
                status = call(connection, key, "plan", PLAN)
            except (OSError, http.client.HTTPException):
                connection.close()
                status = 0
            times.append(1000 * (time.perf_counter() - began))
            if status != 200:
                errors.append(status)
            time.sleep(PAUSE_S)
        connection.close()

    threads = [
        threading.Thread(target=plan, args=(key, PAUSE_S * n / HONEST))
        for n, key in enumerate(keys)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    times.sort()
    middle, last = times[len(times) // 2], times[int(0.99 * (len(times) - 1))]
    return Waits(len(times), len(errors), middle, last)


@contextlib.contextmanager
def hostile(port: int, key: str):
    """The tenth, while the block runs; what it was answered."""
    over = threading.Event()
    answers: Counter[int] = Counter()

    def search() -> None:
        while not over.is_set():
            connection = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
            with contextlib.suppress(OSError, http.client.HTTPException):
                while not over.is_set():
                    answers[call(connection, key, "reach", SEARCH.encode())] += 1
            connection.close()

    head = f"HTTP/1.1\r\nHost: a\r\nAuthorization: Bearer {key}\r\n"
    upload = f"POST /api/v1/rasters {head}Content-Length: 50000000\r\n"
    upload += "Content-Type: multipart/form-data; boundary=x\r\n\r\n"
    firsts = [upload] * TRICKLES + [f"GET /api/v1/export {head}\r\n"] * UNREAD + [""] * SILENT

    def hold() -> None:
        with contextlib.ExitStack() as stack:
            while not over.is_set():
                opened = []
                for first in firsts:
                    one = stack.enter_context(socket.create_connection(("127.0.0.1", port)))
                    one.sendall(first.encode())
                    opened.append(one)
                for _ in range(30):
                    for one in opened[:TRICKLES]:
                        with contextlib.suppress(OSError):
                            one.sendall(b"a")
                    if over.wait(0.5):
                        break
                for one in opened:
                    one.close()

    threads = [threading.Thread(target=search) for _ in range(SEARCHES)]
    threads.append(threading.Thread(target=hold))
    for thread in threads:
        thread.start()
    try:
        yield answers
    finally:
        over.set()
        for thread in threads:
            thread.join()


def run(server: str, seconds: float) -> int:
    """Measure and tell; 1 where the bar is missed or one of the nine was refused."""
    with tempfile.TemporaryDirectory() as data:
        engine = open_database(Path(data))
        keys = [KeyStore(engine).make(f"key {n}")[1] for n in range(HONEST + 1)]
        engine.dispose()
        process = subprocess.Popen(
            [sys.executable, "-c", server, data], stdout=subprocess.PIPE, text=True
        )
        try:
            assert process.stdout is not None
            port = int(process.stdout.readline())
            honest(port, keys[1:], min(10.0, seconds))
            print("nine alone             ", honest(port, keys[1:], seconds), flush=True)
            with hostile(port, keys[0]) as answers:
                time.sleep(1)
                beside = honest(port, keys[1:], seconds)
            print("nine beside the tenth  ", beside)
            told = ", ".join(f"{count} times {status}" for status, count in answers.items())
            print(f"the tenth was answered  {told}", flush=True)
        finally:
            process.terminate()
            process.wait()
    return 1 if beside.errors or beside.p99_ms > BAR_MS else 0
