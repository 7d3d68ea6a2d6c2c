"""Told to stop: what is in flight is answered, what comes then is refused with 503, exit code 0."""

from __future__ import annotations

import json
import signal
import sys
import time
from pathlib import Path

import pytest
from front import ends_within, head, make_keys, served

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals as POSIX has them")
BODY = (Path(__file__).resolve().parents[2] / "openapi/examples/level_line.json").read_bytes()


def read_answer(opened) -> tuple[int, dict[str, str], bytes]:
    """Status, headers and content of what comes until the connection ends."""
    content = b""
    while part := opened.recv(65536):
        content += part
    lines, _, body = content.partition(b"\r\n\r\n")
    first, *others = lines.decode().split("\r\n")
    return int(first.split()[1]), dict(line.split(": ", 1) for line in others), body


@pytest.mark.parametrize("told", [signal.SIGTERM, signal.SIGINT])
def test_what_is_in_flight_is_answered_and_what_comes_is_refused(told, tmp_path: Path) -> None:
    (key,) = make_keys(tmp_path, "Ann")
    kind = ("Content-Type: application/json", f"Content-Length: {len(BODY)}", "Connection: close")
    with served(tmp_path) as server:
        server.call("GET", "/pipes", key=key)
        with (
            server.connect(head("POST", "/plan", key, *kind) + BODY[:100]) as early,
            server.connect() as late,
            server.connect() as silent,
        ):
            time.sleep(0.5)
            server.process.send_signal(told)
            time.sleep(0.5)
            late.sendall(head("GET", "/pipes", key))
            status, headers, content = read_answer(late)
            assert status == 503
            assert int(headers["Retry-After"]) > 0
            assert json.loads(content)["status"] == 503
            with server.connect(head("GET", "/health")) as health:
                assert read_answer(health)[0] == 503
            assert server.process.poll() is None, "it waits for what is in flight"
            early.sendall(BODY[100:])
            status, _, content = read_answer(early)
            assert status == 200
            assert json.loads(content)["answer"]["verdict"] == "yes"
            assert server.process.wait(10) == 0
            assert ends_within(silent, 5)
    assert "Traceback" not in server.log
    assert "stopped" in server.log


@pytest.mark.parametrize(
    ("times", "longest_s"), [(2, 6), pytest.param(1, 40, marks=pytest.mark.long)]
)
def test_it_waits_for_nobody_for_ever_and_hardly_when_told_twice(
    times: int, longest_s: float, tmp_path: Path
) -> None:
    (key,) = make_keys(tmp_path, "Ann")
    with (
        served(tmp_path) as server,
        server.connect(head("POST", "/plan", key, "Content-Length: 1000")),
    ):
        time.sleep(0.5)
        began = time.monotonic()
        for _ in range(times):
            server.process.terminate()
            time.sleep(1.2)
        assert server.process.wait(longest_s) == 0
        assert times == 2 or time.monotonic() - began > 5


def test_with_nothing_in_flight_it_stops_at_once(tmp_path: Path) -> None:
    with served(tmp_path) as server, server.connect():
        began = time.monotonic()
        server.process.terminate()
        assert server.process.wait(20) == 0
        assert time.monotonic() - began < 6
