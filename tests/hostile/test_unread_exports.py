"""Exports that nobody reads hold up neither /health nor another key, and end."""

from __future__ import annotations

import contextlib
import io
import time
import zipfile
from pathlib import Path

import numpy as np
import pytest
from front import ends_within, head, make_keys, served
from rasterio.io import MemoryFile
from rasterio.transform import from_origin

SIDE = 2200
"""Of a raster of noise, 19 MB that no packing makes smaller."""


def raster(seed: int) -> bytes:
    """A GeoTIFF of noise."""
    z = np.random.default_rng(seed).normal(100, 1, (SIDE, SIDE)).astype(np.float32)
    profile = {"driver": "GTiff", "width": SIDE, "height": SIDE, "count": 1, "dtype": "float32"}
    profile |= {"crs": "EPSG:26915", "transform": from_origin(5e5, 47e5, 0.5, 0.5)}
    with MemoryFile() as memory:
        with memory.open(**profile) as out:
            out.write(z, 1)
        return bytes(memory.read())


@pytest.fixture(scope="module")
def two(tmp_path_factory):
    """A server where Eve keeps 57 MB, more than the server holds of one answer."""
    folder = tmp_path_factory.mktemp("served")
    eve, bob = make_keys(folder, "Eve", "Bob")
    with served(folder) as server:
        for seed in range(3):
            part = b'--x\r\nContent-Disposition: form-data; name="file"; filename="a.tif"\r\n\r\n'
            sent = part + raster(seed) + b"\r\n--x--\r\n"
            kind = {"Content-Type": "multipart/form-data; boundary=x"}
            status, content = server.call("POST", "/rasters", sent, eve, **kind)
            assert status == 201, content
        yield server, eve, bob


def test_six_unread_ones_leave_health_and_others_alone(two) -> None:
    server, eve, bob = two
    pages = int(Path(f"/proc/{server.process.pid}/statm").read_text().split()[1])
    with contextlib.ExitStack() as stack:
        opened = [
            stack.enter_context(server.connect(head("GET", "/export", eve), takes=4096))
            for _ in range(6)
        ]
        for path, key in (("/health", ""), ("/pipes", bob)):
            waits = server.waits_ms(path, key)
            assert waits[len(waits) // 2] < 100, path
            assert waits[-1] < 2000, path
        grown = int(Path(f"/proc/{server.process.pid}/statm").read_text().split()[1]) - pages
        assert grown * 4096 < 150 << 20, "they are held in memory whole"
        opened[0].settimeout(60)
        assert opened[0].recv(4) == b"HTTP"
        server.waits_ms("/health", times=3)
        began = [name for name in (server.data).iterdir() if name.suffix == ".part"]
        assert not began, "an export is written whole before it is sent"
    status, content = server.call("GET", "/export", key=eve)
    assert status == 200
    with zipfile.ZipFile(io.BytesIO(content)) as bundle:
        assert bundle.testzip() is None
        assert sum(name.startswith("rasters/") for name in bundle.namelist()) == 3


@pytest.mark.long
def test_what_is_not_taken_is_cut_off(two) -> None:
    """After 20 s, and not while it is read: the bytes of an answer do not run out of time."""
    server, eve, _ = two
    with server.connect(head("GET", "/export", eve), takes=4096) as opened:
        opened.recv(1000)
        assert server.call("GET", "/pipes", key=eve)[0] == 200
        time.sleep(26)
        assert ends_within(opened, 30)
        assert "Traceback" not in server.log
