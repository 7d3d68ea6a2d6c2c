"""Sampling 300 points of a large tiled raster, against rasterio alone in the same run.

Baselines: `sample()` (nearest cell, masked) and one bare read of the window under the points.
Every call opens the file, as a plan does. Bars: at most 1.3 times the bare read, faster than
`sample()`, and the same points on a raster a hundredth of the size within 20 % of the time.
The whole ground of a route (points found, system looked up, holes refused) is printed beside
them without a bar.

    python tests/bench/bench_raster.py
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import rasterio
from rasterio.transform import from_origin
from rasterio.windows import Window

from yardfall.core.ground.profile import GroundProfile
from yardfall.core.ground.route import Route, drawn
from yardfall.geo.crs import find_crs
from yardfall.geo.raster import GDAL_OPTIONS, RasterFacts, bilinear, inspect_raster, open_raster
from yardfall.geo.raster_ground import ground_from_raster

READ_BAR = 1.3
SIZE_BAR = 0.2
ROUNDS = 15
REPEATS = 20
POINTS = 300
CELL_M = 0.5
TILE = 256
WEST, NORTH = 500_000.25, 5_000_000.75
START, END = (380.3, 360.6), (639.7, 509.2)
"""Column and row where the route starts and ends: 299 cells apart, across four tiles."""
CRS = "EPSG:26915"


def write(path: Path, size: int) -> Path:
    """A square raster of float32 cells in tiles of 256; only the tiles of the yard are stored."""
    profile = {
        "driver": "GTiff",
        "width": size,
        "height": size,
        "count": 1,
        "dtype": "float32",
        "nodata": -9999.0,
        "crs": CRS,
        "transform": from_origin(WEST, NORTH, CELL_M, CELL_M),
        "tiled": True,
        "blockxsize": TILE,
        "blockysize": TILE,
        "sparse_ok": True,
    }
    down, across = np.mgrid[0 : 2 * TILE, 0 : 2 * TILE]
    ground = (100 + 0.4 * np.sin(across / 37) - 0.002 * down).astype(np.float32)
    with rasterio.open(path, "w", **profile) as out:
        out.write(ground, 1, window=Window(TILE, TILE, 2 * TILE, 2 * TILE))
    return path


def whole_read(path: Path, window: Window) -> object:
    """The bare windowed read."""
    with rasterio.open(path) as dataset:
        return dataset.read(1, window=window)


def nearest(path: Path, xy: np.ndarray) -> object:
    """rasterio's own sampling: the nearest cell of each point."""
    with rasterio.open(path) as dataset:
        return list(dataset.sample(xy, masked=True))


def ours(path: Path, xy: np.ndarray) -> np.ndarray:
    """Bilinear values at the points."""
    with rasterio.Env(**GDAL_OPTIONS), open_raster(path) as dataset:
        return bilinear(dataset, xy)


def whole_ground(path: Path, facts: RasterFacts, route: Route) -> GroundProfile:
    """The ground of a route, as a plan finds it."""
    ends_m = route.vertex_at_m[[0, -1]]
    ground, _ = ground_from_raster(path, facts, route, find_crs(CRS), ends_m, "m")
    return ground


def milliseconds(call: Callable[[], object]) -> float:
    """Time of one call, over REPEATS."""
    began = time.perf_counter()
    for _ in range(REPEATS):
        call()
    return (time.perf_counter() - began) / REPEATS * 1000


def judge(name: str, ratio: float, bar: str, *, held: bool) -> bool:
    """Print one ratio beside its bar."""
    print(f"{name:34} {ratio:6.3f}, bar {bar}: {'held' if held else 'MISSED'}")
    return held


def main() -> int:
    """Print the medians and the ratios; 1 when a bar is missed."""
    ends = np.array([START, END])
    line = np.array([WEST, NORTH]) + ends * [CELL_M, -CELL_M]
    length_m = float(np.hypot(*np.diff(line, axis=0)[0]))
    route = drawn(line, np.array([length_m]))
    left, top = np.floor(ends.min(axis=0) - 0.5).astype(int)
    right, bottom = np.floor(ends.max(axis=0) - 0.5).astype(int) + 1
    window = Window(left, top, right - left + 1, bottom - top + 1)
    with tempfile.TemporaryDirectory() as folder:
        large = write(Path(folder) / "large.tif", 10_000)
        small = write(Path(folder) / "small.tif", 1_000)
        facts = inspect_raster(large)
        xy = route.position(whole_ground(large, facts, route).at_m)
        assert xy is not None
        assert len(xy) == POINTS
        calls = {
            "bare windowed read": lambda: whole_read(large, window),
            "sample()": lambda: nearest(large, xy),
            "ours": lambda: ours(large, xy),
            "ours, small raster": lambda: ours(small, xy),
            "whole ground": lambda: whole_ground(large, facts, route),
        }
        for call in calls.values():
            milliseconds(call)
        rounds = [{name: milliseconds(call) for name, call in calls.items()} for _ in range(ROUNDS)]
    for name in calls:
        print(f"{name:20} {statistics.median(r[name] for r in rounds):7.3f} ms")

    def ratio(base: str) -> float:
        return statistics.median(r["ours"] / r[base] for r in rounds)

    read, sample, size = (
        ratio(n) for n in ("bare windowed read", "sample()", "ours, small raster")
    )
    held = [
        judge("ours / bare windowed read", read, f"at most {READ_BAR}", held=read <= READ_BAR),
        judge("ours / sample()", sample, "below 1", held=sample < 1),
        judge(
            "large raster / small raster",
            size,
            f"within {SIZE_BAR:.0%}",
            held=abs(size - 1) <= SIZE_BAR,
        ),
    ]
    return 0 if all(held) else 1


if __name__ == "__main__":
    sys.exit(main())
