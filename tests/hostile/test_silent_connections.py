"""Connections that send nothing, or a header that never ends, stop nobody, and end."""

from __future__ import annotations

import contextlib
import time

import pytest
from front import Served, ends_within, make_keys, served

HALF = b"GET /api/v1/health HTTP/1.1\r\nHost: 127.0.0.1\r\nX-A: "
SOON_MS, WORST_MS = 250, 3000
"""On a machine that does nothing else: 3 and 20 ms."""


@pytest.fixture(scope="module")
def ann(tmp_path_factory):
    folder = tmp_path_factory.mktemp("served")
    (key,) = make_keys(folder, "Ann")
    with served(folder) as server:
        yield server, key


@contextlib.contextmanager
def held_up(server: Served, count: int, first: bytes):
    """Open connections that say so much."""
    with contextlib.ExitStack() as stack:
        yield [stack.enter_context(server.connect(first)) for _ in range(count)]


def test_120_of_each_kind_stop_nobody(ann) -> None:
    server, key = ann
    with held_up(server, 120, b"") as silent, held_up(server, 120, HALF) as half:
        waits = server.waits_ms("/pipes", key)
        assert waits[len(waits) // 2] < SOON_MS
        assert waits[-1] < WORST_MS
        until = time.monotonic() + 20
        while time.monotonic() < until:  # a byte now and then gains no time
            with contextlib.suppress(OSError):
                half[1].sendall(b"a")
            time.sleep(0.5)
            if ends_within(half[0], 0.01):
                break
        assert ends_within(half[0], 25), "half a header may stand for ever"
        assert ends_within(half[1], 5), "bytes now and then gain time"
        assert ends_within(silent[0], 5), "it may be silent for ever"


def test_more_of_them_than_there_may_be_make_room(ann) -> None:
    server, key = ann
    with held_up(server, 700, b""):
        waits = server.waits_ms("/pipes", key, 10)
        assert waits[len(waits) // 2] < 4 * SOON_MS
