"""Coordinate systems that point elsewhere: no file and no address is opened."""

from __future__ import annotations

import io
import socket
import sys
import threading

import numpy as np
import pyproj
import pytest
from rasterio.io import MemoryFile
from rasterio.transform import from_origin

from yardfall.core.errors import FileRefusedError
from yardfall.geo.raster import pyproj_crs

PLAIN = "+proj=utm +zone=15 +ellps=GRS80 +units=m +no_defs"


@pytest.fixture
def heard():
    """A port that counts who connects."""
    found: list[object] = []
    server = socket.create_server(("127.0.0.1", 0))

    def listen() -> None:
        while True:
            try:
                found.append(server.accept()[1])
            except OSError:
                return

    threading.Thread(target=listen, daemon=True).start()
    yield server.getsockname()[1], found
    server.close()


def raster(crs: str) -> bytes:
    z = np.full((20, 20), 100.0, dtype=np.float32)
    with MemoryFile() as memory:
        with memory.open(
            driver="GTiff", width=20, height=20, count=1, dtype="float32", crs=crs,
            transform=from_origin(500000, 4700000, 1, 1),
        ) as out:  # fmt: skip
            out.write(z, 1)
        return bytes(memory.read())


@pytest.mark.parametrize("grid", ["nadgrids", "geoidgrids"])
@pytest.mark.parametrize("way", ["upload", "kept"])
def test_grids_elsewhere_are_not_opened(client, heard, tmp_path, grid, way) -> None:
    port, connected = heard
    secret = tmp_path / "secret.gsb"
    secret.write_bytes(b"x" * 100)
    opened: list[str] = []
    watching = [True]

    def audit(event: str, given: tuple) -> None:
        if watching and event == "open" and isinstance(given[0], str):
            opened.append(given[0])

    sys.addaudithook(audit)
    for target in (str(secret), f"http://127.0.0.1:{port}/a.gsb", f"@null,{secret}"):
        text = f"{PLAIN} +{grid}={target}"
        if way == "upload":
            answer = client.post(
                "/api/v1/rasters", data={"file": (io.BytesIO(raster(text)), "a.tif")}
            )
            assert answer.status_code in (201, 422), answer.json
            if answer.status_code == 201:  # the file does not carry the grid at all
                assert "grids" not in answer.get_data(as_text=True)
        else:
            for version in ("WKT1_GDAL", "WKT2_2019"):
                with pytest.raises(FileRefusedError, match="not opened"):
                    pyproj_crs(pyproj.CRS.from_user_input(text).to_wkt(version))
    watching.clear()
    assert not connected
    assert str(secret) not in opened
    access = secret.stat()
    assert access.st_atime <= access.st_mtime + 1e-6 or str(secret) not in opened


@pytest.mark.parametrize("code", [3857, 26915, 4326, 2263, 6347])
def test_systems_by_number_are_taken_as_before(code) -> None:
    assert pyproj_crs(pyproj.CRS.from_epsg(code).to_wkt("WKT1_GDAL")).to_epsg() == code


def test_the_network_is_off() -> None:
    assert not pyproj.network.is_network_enabled()
