"""Connections that send nothing, or a header that never ends, stop nobody, and end."""

from __future__ import annotations

import contextlib
import time
from pathlib import Path

import pytest
from front import Served, ends_within, make_keys, served

HALF = b"GET /api/v1/health HTTP/1.1\r\nHost: 127.0.0.1\r\nX-A: "
SOON_MS, WORST_MS = 250, 3000
"""On a machine that does nothing else: 3 and 20 ms."""


@pytest.fixture
def ann(tmp_path: Path):
    (key,) = make_keys(tmp_path, "Ann")
    with served(tmp_path) as server:
        yield server, key


def hold_up(server: Served, count: int, first: bytes):
    """Open connections that say so much."""
    stack = contextlib.ExitStack()
    opened = [stack.enter_context(server.connect(first)) for _ in range(count)]
    return stack, opened


@pytest.mark.parametrize("first", [b"", HALF], ids=["nothing", "half a header"])
def test_120_of_them_stop_nobody(first: bytes, ann) -> None:
    server, key = ann
    stack, opened = hold_up(server, 120, first)
    with stack:
        waits = server.waits_ms("/pipes", key)
        assert waits[len(waits) // 2] < SOON_MS
        assert waits[-1] < WORST_MS
        if first:
            until = time.monotonic() + 20
            while time.monotonic() < until:  # a byte now and then gains no time
                with contextlib.suppress(OSError):
                    opened[1].sendall(b"a")
                time.sleep(0.5)
                if ends_within(opened[0], 0.01):
                    break
        assert ends_within(opened[0], 25), "it may be silent for ever"
        assert ends_within(opened[1], 5), "bytes now and then gain time"


def test_more_of_them_than_there_may_be_make_room(ann) -> None:
    server, key = ann
    stack, _ = hold_up(server, 700, b"")
    with stack:
        waits = server.waits_ms("/pipes", key, 10)
        assert waits[len(waits) // 2] < 4 * SOON_MS
