"""Byte-flipped GeoTIFFs into the reading of rasters, in a child bounded in memory and time.

Each file is a sound GeoTIFF of one of several layouts with 1 to 40 bytes changed, more of them in
its directories than in its cells. It must be taken or refused by a sentence of ours. Anything else
(another exception, a crash, a hang, memory that grows) is told with its seed, and is exit code 1.

    python tests/bench/fuzz_rasters.py --files 10000
"""

from __future__ import annotations

import argparse
import collections
import multiprocessing
import random
import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pyproj
import rasterio
from rasterio.transform import from_origin

from yardfall.core.errors import YardfallError
from yardfall.core.ground.route import drawn
from yardfall.geo.raster import inspect_raster
from yardfall.geo.raster_ground import ground_from_raster

LAYOUTS = {
    "plain": {},
    "tiled deflate": {"tiled": True, "blockxsize": 16, "blockysize": 16, "compress": "deflate"},
    "lzw with predictor": {"compress": "lzw", "predictor": 3},
    "packbits": {"compress": "packbits"},
    "zstd": {"compress": "zstd"},
    "lzma": {"compress": "lzma"},
    "lerc": {"compress": "lerc"},
    "big": {"BIGTIFF": "YES", "nodata": -9999.0},
    "degrees": {"crs": "EPSG:4326", "transform": from_origin(-93, 42, 1e-5, 1e-5)},
}


class Kind(NamedTuple):
    """Files to flip: sound ones by layout, what becomes of one, and the bounds of reading it."""

    sound_files: Callable[[Path], dict[str, bytes]]
    outcome: Callable[[Path], str]
    memory_bytes: int
    most_s: float


def sound_files(folder: Path) -> dict[str, bytes]:
    """One sound file of each layout."""
    made = {}
    z = np.add.outer(np.arange(40.0), np.arange(48.0)).astype(np.float32)
    for name, options in LAYOUTS.items():
        profile = {"driver": "GTiff", "width": 48, "height": 40, "count": 1, "dtype": "float32"}
        profile |= {"crs": "EPSG:26915", "transform": from_origin(5e5, 47e5, 1, 1)} | options
        with rasterio.open(folder / "sound.tif", "w", **profile) as out:
            out.write(z, 1)
        made[name] = (folder / "sound.tif").read_bytes()
    return made


def flipped(content: bytes, rng: random.Random) -> bytes:
    """The file with some bytes changed, or cut short."""
    changed = bytearray(content)
    for _ in range(rng.choice((1, 1, 2, 4, 10, 40))):
        end = len(changed) if rng.random() < 0.4 else min(len(changed), 700)
        at = rng.randrange(end)
        changed[at] = rng.choice((0, 1, 0x7F, 0x80, 0xFF, rng.randrange(256)))
    return bytes(changed[: rng.randrange(len(changed))] if rng.random() < 0.05 else changed)


def outcome(path: Path) -> str:
    """What becomes of a file: looked at, and where it is taken, planned on."""
    try:
        facts = inspect_raster(path)
        if facts.epsg and not facts.geographic:
            xmin, ymin, xmax, ymax = facts.bounds
            line = (
                np.array([[xmin, ymin], [xmax, ymax]]) * 0.5
                + np.array([[xmin + xmax, ymin + ymax]]) * 0.25
            )
            crs = pyproj.CRS.from_epsg(facts.epsg)
            route = drawn(line, np.array([float(np.hypot(*(line[1] - line[0])))]), None)
            ground_from_raster(path, facts, route, crs, np.array([0.0]), "m")
    except YardfallError as error:
        return type(error).__name__
    return "taken"


def child(kind: Kind, first: int, last: int, seed: int, told) -> None:
    """Try files number `first` to `last`; tell the number before each, and what came of it."""
    import resource

    resource.setrlimit(resource.RLIMIT_AS, (kind.memory_bytes, kind.memory_bytes))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    warnings.simplefilter("ignore")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        files = kind.sound_files(folder)
        path = folder / "flipped"
        for number in range(first, last):
            rng = random.Random(f"{seed} {number}")
            layout = rng.choice(sorted(files))
            path.write_bytes(flipped(files[layout], rng))
            told.send((number, None, 0))
            try:
                found = kind.outcome(path)
            except BaseException as error:
                found = f"BUG {type(error).__name__}: {error} (file {number}, {layout})"
            told.send((number, found, resource.getrusage(resource.RUSAGE_SELF).ru_maxrss))


def run(kind: Kind) -> int:
    """Run, count, and say whether all was well."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--files", type=int, default=10_000)
    parser.add_argument("--seed", type=int, default=1)
    arguments = parser.parse_args()
    counts: collections.Counter[str] = collections.Counter()
    bugs: list[str] = []
    memory: list[int] = []
    began = time.monotonic()
    number = 0
    context = multiprocessing.get_context("spawn")
    while number < arguments.files:
        here, there = context.Pipe(duplex=False)
        work = (kind, number, arguments.files, arguments.seed, there)
        process = context.Process(target=child, args=work)
        process.start()
        there.close()
        patience_s = 60.0
        while number < arguments.files:
            try:
                if not here.poll(patience_s):
                    bugs.append(f"HANG on file {number}")
                    break
                number, found, peak = here.recv()
            except EOFError:
                bugs.append(f"CRASH on file {number}")
                break
            patience_s = kind.most_s
            if found is not None:
                counts[found.split(":")[0]] += 1
                memory.append(peak)
                bugs += [found] if found.startswith("BUG") else []
                number += 1
        process.kill()
        process.join()
        number += number < arguments.files
    grown = (memory[-1] - memory[len(memory) // 4]) >> 10 if memory else 0
    print(f"{arguments.files} files in {time.monotonic() - began:.0f} s: {dict(counts)}")
    print(
        f"peak memory {max(memory, default=0) >> 10} MiB, grown {grown} MiB after a quarter of it"
    )
    print("\n".join(bugs[:20]) or "no crash, no hang, no exception but our own")
    return 1 if bugs else 0


RASTERS = Kind(sound_files, outcome, 3 << 30, 10.0)

if __name__ == "__main__":
    sys.exit(run(RASTERS))
