"""Files made to harm: what they claim is looked at before a pixel is read, in another process."""

from __future__ import annotations

import os
import struct
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
import rasterio
from rasterio.transform import from_origin

from yardfall.core.errors import FileRefusedError, TooLargeError
from yardfall.geo import sandbox
from yardfall.geo.raster import inspect_raster
from yardfall.geo.tiff import check_structure

ROOT = Path(__file__).resolve().parents[2]
BENCH = ROOT / "tests" / "bench"


def claims(path: Path, big: bool = False, **tags: int) -> Path:
    """A TIFF of a few bytes whose one directory claims what `t<number>` say; no pixel in it."""
    entries = {256: 10, 257: 10, 258: 32, 259: 1, 273: 0, 277: 1, 278: 10, 279: 400, 339: 3}
    entries |= {int(name[1:]): value for name, value in tags.items()}
    kept = sorted((tag, value) for tag, value in entries.items() if value >= 0)
    if big:
        out = b"II+\0" + struct.pack("<HHQ", 8, 0, 16) + struct.pack("<Q", len(kept))
        out += b"".join(struct.pack("<HHQQ", tag, 16, 1, value) for tag, value in kept)
        out += struct.pack("<Q", 0)
    else:
        out = b"II*\0" + struct.pack("<I", 8) + struct.pack("<H", len(kept))
        out += b"".join(struct.pack("<HHII", tag, 4, 1, value) for tag, value in kept)
        out += struct.pack("<I", 0)
    path.write_bytes(out)
    return path


@pytest.mark.parametrize(
    ("tags", "error", "words"),
    [
        ({"t256": 550_000, "t257": 550_000, "t278": 550_000}, TooLargeError, "302,500,000,000"),
        ({"t256": 19_999, "t257": 19_999, "t278": 19_999}, TooLargeError, "blocks of 1,525 MiB"),
        ({"t322": 60_000, "t323": 60_000}, TooLargeError, "blocks of"),
        ({"t256": 2, "t257": 190_000_000, "t278": 1}, TooLargeError, "190,000,000 blocks"),
        ({"t277": 60_000, "t256": 9000}, TooLargeError, "blocks of"),
        ({"t258": 4_000_000_000}, TooLargeError, "blocks of"),
        ({"t256": 0}, FileRefusedError, "damaged"),
        ({"t257": -1}, FileRefusedError, "damaged"),
        ({"t278": 1}, FileRefusedError, "damaged"),  # ten strips, one address
        ({"t322": 0, "t323": 16}, FileRefusedError, "damaged"),
        ({"t330": 8}, FileRefusedError, "damaged"),  # a directory in a directory
        ({"t259": 7}, FileRefusedError, "compression"),  # JPEG
        ({"t259": 50_001}, FileRefusedError, "compression"),  # WebP
    ],
)
@pytest.mark.parametrize("big", [False, True], ids=["classic", "big"])
def test_claims_are_held_against_limits_first(tags, error, words, big, tmp_path) -> None:
    with pytest.raises(error, match=words):
        check_structure(claims(tmp_path / "a.tif", big, **tags))


def test_directories_in_a_circle_and_past_the_end_are_refused(tmp_path) -> None:
    whole = claims(tmp_path / "a.tif").read_bytes()
    for next_at in (8, len(whole), 2**32 - 1):
        path = tmp_path / "b.tif"
        path.write_bytes(whole[:-4] + struct.pack("<I", next_at))
        with pytest.raises(FileRefusedError):
            check_structure(path)


@pytest.mark.parametrize("length", [0, 1, 3, 4, 7, 8, 9, 20, 60])
def test_files_cut_short_are_refused(length: int, tmp_path) -> None:
    path = claims(tmp_path / "a.tif")
    path.write_bytes(path.read_bytes()[:length])
    with pytest.raises(FileRefusedError):
        check_structure(path)


def small_file_of_300_gb(path: Path) -> Path:
    """A sound sparse GeoTIFF: 550,000 cells square of a byte each, most of them not in the file."""
    profile = {"driver": "GTiff", "width": 550_000, "height": 550_000, "count": 1}
    profile |= {"dtype": "uint8", "crs": "EPSG:26915", "transform": from_origin(5e5, 47e5, 1, 1)}
    profile |= {"tiled": True, "blockxsize": 4096, "blockysize": 4096, "sparse_ok": True}
    with rasterio.open(path, "w", BIGTIFF="YES", **profile) as out:
        out.write(np.ones((1, 1), np.uint8), 1, window=((0, 1), (0, 1)))
    return path


MEASURE = """
import resource, sys
from pathlib import Path
from yardfall.core.errors import TooLargeError
from yardfall.geo.raster import inspect_raster
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
try:
    inspect_raster(Path(sys.argv[1]))
except TooLargeError:
    print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before)
"""


def test_a_small_file_that_wants_300_gb_takes_no_memory(tmp_path) -> None:
    path = small_file_of_300_gb(tmp_path / "a.tif")
    assert path.stat().st_blocks * 512 < 20 << 20
    command = [sys.executable, "-c", MEASURE, str(path)]
    grown = subprocess.run(command, capture_output=True, text=True, timeout=60, check=True).stdout
    unit = 1 if sys.platform == "darwin" else 1024
    assert int(grown) * unit < 8 << 20


def test_an_overview_is_held_to_the_same_limits(tmp_path, monkeypatch) -> None:
    path = tmp_path / "a.tif"
    profile = {"driver": "GTiff", "width": 600, "height": 600, "count": 1, "dtype": "float32"}
    profile |= {"crs": "EPSG:26915", "transform": from_origin(5e5, 47e5, 1, 1), "tiled": True}
    with rasterio.open(path, "w", **profile) as out:
        out.write(np.full((600, 600), 100, np.float32), 1)
        out.build_overviews([2], rasterio.enums.Resampling.average)
    inspect_raster(path)
    content = bytearray(path.read_bytes())
    (first,) = struct.unpack_from("<I", content, 4)
    (entries,) = struct.unpack_from("<H", content, first)
    (second,) = struct.unpack_from("<I", content, first + 2 + 12 * entries)
    assert second
    (entries,) = struct.unpack_from("<H", content, second)
    for at in range(second + 2, second + 2 + 12 * entries, 12):
        if struct.unpack_from("<H", content, at)[0] in (322, 323):
            struct.pack_into("<HII", content, at + 2, 4, 1, 60_000)
    path.write_bytes(content)
    with pytest.raises(TooLargeError, match="blocks of"):
        inspect_raster(path)


@pytest.fixture
def sound(tmp_path) -> Path:
    path = tmp_path / "sound.tif"
    profile = {"driver": "GTiff", "width": 9, "height": 9, "count": 1, "dtype": "float32"}
    profile |= {"crs": "EPSG:26915", "transform": from_origin(5e5, 47e5, 1, 1)}
    with rasterio.open(path, "w", **profile) as out:
        out.write(np.full((9, 9), 100, np.float32), 1)
    return path


def crash(_path: Path) -> None:
    os.abort()


def eat_memory(_path: Path) -> None:
    bytearray(sandbox.MOST_MEMORY_BYTES)


def take_long(_path: Path) -> None:
    time.sleep(60)


@pytest.mark.parametrize(
    ("harm", "error", "words"),
    [
        (crash, FileRefusedError, "breaks the reading"),
        (eat_memory, TooLargeError, "memory"),
        (take_long, TooLargeError, "longer than"),
    ],
)
def test_what_a_file_does_to_the_other_process(harm, error, words, sound, monkeypatch) -> None:
    """The one that reads files dies, or is bounded; the next file is read as ever."""
    assert sandbox.examine(sound) == inspect_raster(sound)
    with monkeypatch.context() as patch:
        patch.syspath_prepend(ROOT)  # where the other process finds `harm`
        patch.setattr(sandbox, "inspect_raster", harm)
        patch.setattr(sandbox, "MOST_S", 20 if harm is not take_long else 1)
        with pytest.raises(error, match=words):
            sandbox.examine(sound)
    assert sandbox.examine(sound) == inspect_raster(sound)


def test_flipped_bytes_never_crash_or_hang(tmp_path) -> None:
    """A short run of the bench script; it counts what came of each file, and exits 1 on a crash."""
    command = [sys.executable, str(BENCH / "fuzz_rasters.py"), "--files", "300", "--seed", "7"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=120, cwd=tmp_path)
    assert done.returncode == 0, done.stdout + done.stderr
    assert "300 files" in done.stdout
