"""Uploads that trickle in, by one key, keep no other key waiting, nor many of them its own."""

from __future__ import annotations

import contextlib
import json
import threading
import time
from pathlib import Path

import pytest
from front import ends_within, head, make_keys, served

UPLOAD = ("Content-Length: 50000000", "Content-Type: multipart/form-data; boundary=x")
PART = b'--x\r\nContent-Disposition: form-data; name="file"; filename="a.tif"\r\n\r\nII*\0'


@pytest.fixture
def two(tmp_path: Path):
    keys = make_keys(tmp_path, "Eve", "Bob")
    with served(tmp_path) as server:
        yield server, *keys


@contextlib.contextmanager
def trickling(server, key: str, count: int):
    """So many uploads of which a byte comes now and then."""
    with contextlib.ExitStack() as stack:
        opened = [
            stack.enter_context(server.connect(head("POST", "/rasters", key, *UPLOAD) + PART))
            for _ in range(count)
        ]
        over = threading.Event()

        def drip() -> None:
            while not over.wait(0.2):
                for one in opened:
                    with contextlib.suppress(OSError):
                        one.sendall(b"a")

        thread = threading.Thread(target=drip)
        thread.start()
        try:
            yield opened
        finally:
            over.set()
            thread.join()


def test_four_leave_another_keys_calls_alone(two) -> None:
    server, eve, bob = two
    with trickling(server, eve, 4):
        waits = server.waits_ms("/pipes", bob)
        assert waits[len(waits) // 2] < 100
        assert waits[-1] < 2000
        own = server.waits_ms("/pipes", eve)
        assert own[len(own) // 2] < 100, "nor do they hold up the key's own"


def test_a_key_sends_no_more_large_bodies_at_once_than_it_may(two) -> None:
    server, eve, bob = two
    with trickling(server, eve, 4):
        time.sleep(2)  # which of several at the same moment is one too many is not told
        with server.connect(head("POST", "/rasters", eve, *UPLOAD)) as fifth:
            content = b""
            while part := fifth.recv(65536):
                content += part
            told, _, body = content.partition(b"\r\n\r\n")
            assert told.startswith(b"HTTP/1.1 429")
            assert b"Retry-After: " in told
            assert "large bodies" in json.loads(body)["detail"]
        with server.connect(head("POST", "/rasters", bob, *UPLOAD)) as others:
            others.settimeout(1)
            with pytest.raises(TimeoutError):
                others.recv(1)


def test_a_body_that_brings_nothing_ends(two) -> None:
    server, eve, _ = two
    with server.connect(head("POST", "/rasters", eve, *UPLOAD) + PART) as opened:
        assert not ends_within(opened, 10), "it has time to begin"
        assert ends_within(opened, 40)
