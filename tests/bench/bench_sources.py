"""Named sources: headers of many tiles, a window of a local tile, a route far away.

    python tests/bench/bench_sources.py [--tiles 10000] [--latency 0.02]

A server on this machine answers each request after `latency` seconds. Bars: all headers of 10,000
tiles in two minutes; an acre of a local tile within 1.3 of one bare windowed read of the file
(rasterio, opened each time; median of rounds taken in turn); a route's first ground in 2 s, and in
50 ms once its blocks are on the disk; the same for what the page asks a planner for at a click in a
lot: the ground and the lot there, the part kept, its relief.
"""

from __future__ import annotations

import argparse
import http.client
import io
import json
import multiprocessing
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, redirect_stderr
from pathlib import Path
from typing import Any

import numpy as np
import pyproj
import rasterio
from rasterio.windows import Window

sys.path.insert(0, str(Path(__file__).parents[1] / "sent"))
from serving import wait_for
from tile_server import serving
from tiles import CRS, NORTH, SIZE, WEST, four, ground, write

from yardfall.core.ground.route import drawn
from yardfall.geo.crs import find_crs
from yardfall.geo.raster import cell_values
from yardfall.geo.raster_ground import ground_over
from yardfall.store.sources import SourceStore
from yardfall.use_cases.around_a_place import LOTS
from yardfall.use_cases.grounds import source_elevations
from yardfall.use_cases.sources import Stated, name_elevations, name_outlines

MOST_S, MOST_RATIO, FIRST_S, AGAIN_S = 120.0, 1.3, 2.0, 0.05
ACRE = 64
"""Cells of a metre: 64 × 64 is an acre and a little."""
ROUNDS, REPEATS = 15, 40


def _serve(folder: str, latency_s: float, told: Any) -> None:
    with serving(Path(folder), latency_s) as server:
        told.send(server.address)
        told.recv()


@contextmanager
def apart(folder: Path, latency_s: float) -> Iterator[str]:
    """A server in a process of its own: it shall not share our interpreter."""
    here, there = multiprocessing.Pipe()
    process = multiprocessing.get_context("spawn").Process(
        target=_serve, args=(str(folder), latency_s, there)
    )
    process.start()
    try:
        yield here.recv()
    finally:
        here.send(None)
        process.join()


def headers(folder: Path, tiles: int, latency_s: float) -> float:
    """Seconds to name that many tiles: one file under many names, by hard links."""
    many = folder / "many"
    original = write(many / "0.tif", ground(SIZE, SIZE), driver="COG", blocksize=128)
    for number in range(1, tiles):
        (many / f"{number}.tif").hardlink_to(original)
    (many / "list.txt").write_text("\n".join(f"{number}.tif" for number in range(tiles)))
    store = SourceStore(folder / "sources")
    with apart(many, latency_s) as address:
        began = time.perf_counter()
        root = f"{address}/list.txt"
        reading = name_elevations(store, "many", [root], Stated(), lambda _done, _total: None)
        took_s = time.perf_counter() - began
    assert reading.count == tiles
    return took_s


def milliseconds(call: Callable[[], object]) -> float:
    """Time of one call, over REPEATS."""
    began = time.perf_counter()
    for _ in range(REPEATS):
        call()
    return (time.perf_counter() - began) / REPEATS * 1000


def windows(folder: Path) -> tuple[float, float, float]:
    """An acre of a local tile: ms of a bare read, of ours, and the ratio."""
    z = ground(2048, 2048)
    path = write(folder / "local" / "a.tif", z, driver="COG", blocksize=512)
    store = SourceStore(folder / "sources")
    name_elevations(store, "local", [str(path.parent)], Stated(), lambda _done, _total: None)
    crs, window = find_crs(CRS), Window(600, 600, ACRE, ACRE)
    xy = np.array([[WEST + 601, NORTH - 601], [WEST + 600 + ACRE, NORTH - 600 - ACRE]])

    def bare() -> object:
        with rasterio.open(path) as dataset:
            return dataset.read(1, window=window)

    def ours() -> object:
        with source_elevations("local", store)(xy, crs, 0.0) as its:
            return cell_values(its.dataset, window)

    assert np.array_equal(bare(), ours())
    rounds = [(milliseconds(bare), milliseconds(ours)) for _ in range(ROUNDS)]
    ratio = statistics.median(one / other for other, one in rounds)
    return (*(statistics.median(side) for side in zip(*rounds, strict=True)), ratio)


def route_far_away(folder: Path, latency_s: float) -> tuple[float, float]:
    """Seconds to the first ground of 30 m over four tiles far away, and to it again."""
    tiles, _ = four(folder / "far")
    (folder / "far" / "list.txt").write_text("\n".join(f"tiles/{p.name}" for p in tiles.iterdir()))
    store, crs = SourceStore(folder / "sources"), find_crs(CRS)
    line = np.array([[WEST + 245.3, NORTH - 245.7], [WEST + 266.5, NORTH - 266.9]])
    route = drawn(line, np.array([float(np.hypot(*(line[1] - line[0])))]))
    took = []
    with apart(folder / "far", latency_s) as address:
        root = f"{address}/list.txt"
        name_elevations(store, "far", [root], Stated(), lambda _done, _total: None)
        for _ in range(2):
            began = time.perf_counter()
            ground_over(source_elevations("far", store), route, crs, route.vertex_at_m)
            took.append(time.perf_counter() - began)
    return took[0], took[1]


@contextmanager
def planner(data: Path) -> Iterator[http.client.HTTPConnection]:
    """A connection to a planner in a process of its own."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    log = data / "planner.log"
    command = [sys.executable, "-m", "yardfall", "serve", "--port", str(port), "--data", data]
    with log.open("wb") as out, subprocess.Popen(command, stdout=out, stderr=out) as process:
        try:
            wait_for(f"http://127.0.0.1:{port}", process, log)
            yield http.client.HTTPConnection("127.0.0.1", port)
        finally:
            process.terminate()
            process.wait(10)


def click_in_a_lot(folder: Path, latency_s: float) -> tuple[float, float]:
    """Seconds that a planner takes for what the page asks at a click, one call after another, the
    tiles far away; and at another in the same lot, the median of ROUNDS."""
    tiles, _ = four(folder / "clicked")
    root = folder / "clicked"
    (root / "list.txt").write_text("\n".join(f"tiles/{p.name}" for p in tiles.iterdir()))
    data = folder / "data"
    store = SourceStore(data / "sources")
    to_map = pyproj.Transformer.from_crs(CRS, "OGC:CRS84", always_xy=True)
    x, y = WEST + SIZE, NORTH - SIZE
    corners = [(x - 20, y - 30), (x + 20, y - 30), (x + 20, y + 30), (x - 20, y + 30)]
    ring = [to_map.transform(*corner) for corner in [*corners, corners[0]]]
    shape = {"type": "Polygon", "coordinates": [ring]}
    lot = {"type": "Feature", "properties": {"n": 1}, "geometry": shape}
    (root / "lots.json").write_text(json.dumps({"type": "FeatureCollection", "features": [lot]}))
    west, south = to_map.transform(x - 60, y - 60)
    east, north = to_map.transform(x + 60, y + 60)
    window = json.dumps({"bounds": [west, south, east, north]})
    sent = {"Content-Type": "application/json"}

    with apart(root, latency_s) as address:
        name_elevations(store, "far", [f"{address}/list.txt"], Stated(), lambda _done, _total: None)
        name_outlines(store, LOTS, "lots", str(root / "lots.json"), "n", None, Stated())
        with planner(data) as its:

            def asked(method: str, path: str, body: str | None = None) -> bytes:
                its.request(method, path, body, sent if body else {})
                answer = its.getresponse()
                content = answer.read()
                assert answer.status < 300, content
                return content

            def click(right: float) -> float:
                began = time.perf_counter()
                place = f"x={x + right}&y={y}&crs={CRS}"
                ground = json.loads(asked("GET", f"/api/v1/ground?{place}"))["ground"]
                lots = json.loads(asked("GET", f"/api/v1/lots?{place}"))["features"]
                kept = json.loads(asked("POST", "/api/v1/sources/far/windows", window))
                asked("GET", f"{kept['relief']}?units=us")
                took_s = time.perf_counter() - began
                assert ground
                assert lots
                return took_s

            # The page has opened before: its demo yard is drawn.
            (demo,) = json.loads(asked("GET", "/api/v1/rasters"))["rasters"]
            asked("GET", f"{demo['relief']}?units=us")
            first = click(0)
            again = statistics.median(click(right / 10) for right in range(ROUNDS))
            assert len(json.loads(asked("GET", "/api/v1/rasters"))["rasters"]) == 2, "and the demo"
    return first, again


def judge(name: str, value: float, most: float, unit: str = "") -> bool:
    """Print one figure beside its bar."""
    held = value <= most
    print(f"{name:46} {value:8.3f}{unit}, bar {most:g}{unit}: {'held' if held else 'MISSED'}")
    return held


def main() -> int:
    """Print the figures; 1 when a bar is missed."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--tiles", type=int, default=10_000)
    parser.add_argument("--latency", type=float, default=0.02)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as name, redirect_stderr(io.StringIO()):
        folder = Path(name)
        bare, ours, ratio = windows(folder)
        print(f"an acre of a local tile: bare {bare:.3f} ms, ours {ours:.3f} ms")
        held = [judge("an acre / one bare windowed read", ratio, MOST_RATIO)]
        first_s, again_s = route_far_away(folder, given.latency)
        held.append(judge("30 m over four tiles far away, the first time", first_s, FIRST_S, " s"))
        held.append(judge("the same again", again_s, AGAIN_S, " s"))
        first_s, again_s = click_in_a_lot(folder, given.latency)
        held.append(judge("a click in a lot, the first time", first_s, FIRST_S, " s"))
        held.append(judge("another in the same lot", again_s, AGAIN_S, " s"))
        took_s = headers(folder, given.tiles, given.latency)
        held.append(judge(f"headers of {given.tiles:,} tiles", took_s, MOST_S, " s"))
    return 0 if all(held) else 1


if __name__ == "__main__":
    sys.exit(main())
