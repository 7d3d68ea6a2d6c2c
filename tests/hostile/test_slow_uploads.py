"""Uploads that trickle in, by one key, keep no other key waiting, nor many of them its own."""

from __future__ import annotations

import contextlib
import json
import threading
import time

import numpy as np
import pytest
from front import ends_within, head, make_keys, served
from rasterio.io import MemoryFile
from rasterio.transform import from_origin
from rasterio.windows import Window

UPLOAD = ("Content-Length: 50000000", "Content-Type: multipart/form-data; boundary=x")
PART = b'--x\r\nContent-Disposition: form-data; name="file"; filename="a.tif"\r\n\r\nII*\0'


@pytest.fixture(scope="module")
def server(tmp_path_factory):
    folder = tmp_path_factory.mktemp("served")
    make_keys(folder, "Ann")
    with served(folder) as server:
        yield server


@pytest.fixture
def two(server):
    """The server, and two keys that nothing was sent with yet."""
    return server, *make_keys(server.data.parent, "Eve", "Bob")


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


@pytest.mark.long
def test_a_body_that_brings_nothing_ends(two) -> None:
    server, eve, _ = two
    with server.connect(head("POST", "/rasters", eve, *UPLOAD) + PART) as opened:
        assert not ends_within(opened, 10), "it has time to begin"
        assert ends_within(opened, 40)


def large_and_packed() -> bytes:
    """A sound GeoTIFF of 144 million level cells in little space: it takes seconds to read."""
    side = 12_000
    profile = {"driver": "GTiff", "width": side, "height": side, "count": 1, "dtype": "float32"}
    profile |= {"crs": "EPSG:26915", "transform": from_origin(5e5, 47e5, 0.5, 0.5)}
    profile |= {"compress": "deflate", "tiled": True, "blockxsize": 1024, "blockysize": 1024}
    with MemoryFile() as memory:
        with memory.open(**profile) as out:
            strip = np.full((1024, side), 100, np.float32)
            for row in range(0, side, 1024):
                height = min(1024, side - row)
                out.write(strip[:height], 1, window=Window(0, row, side, height))
        return bytes(memory.read())


def test_four_that_take_long_to_read_leave_another_keys_calls_alone(two) -> None:
    """Each holds a thread while another process reads its file; so they did all four there were."""
    server, eve, bob = two
    part = b'--x\r\nContent-Disposition: form-data; name="file"; filename="a.tif"\r\n\r\n'
    sent = part + large_and_packed() + b"\r\n--x--\r\n"
    kind = {"Content-Type": "multipart/form-data; boundary=x"}
    answers: list[int] = []
    uploads = [
        threading.Thread(
            target=lambda: answers.append(server.call("POST", "/rasters", sent, eve, **kind)[0])
        )
        for _ in range(4)
    ]
    for upload in uploads:
        upload.start()
    time.sleep(0.5)
    waits = server.waits_ms("/pipes", bob)
    under_way = 4 - len(answers)
    for upload in uploads:
        upload.join()
    assert under_way >= 2, "they were read too fast to be in anybody's way: tested nothing"
    assert waits[len(waits) // 2] < 100
    assert waits[-1] < 2000
    assert set(answers) <= {201, 413}
