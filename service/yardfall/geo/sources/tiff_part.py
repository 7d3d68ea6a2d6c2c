"""A GeoTIFF of which only some blocks are at hand: its first directory, and a file of those blocks.

What lies far away is read in two kinds of pieces: its directory once, then the blocks that ground
is wanted from. `part` puts these into a small TIFF of their own that any reader of TIFFs takes:
the same directory, with the other blocks missing (TIFF 6.0, sections 2 and 15; a block whose place
and size are 0 is one that was never written, as GDAL's sparse files have it).
"""

from __future__ import annotations

import io
import struct
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from yardfall.core.errors import FileRefusedError
from yardfall.geo.tiff import (
    DAMAGED,
    HEIGHT,
    MAX_DIRECTORIES,
    MAX_ENTRIES,
    ROWS,
    SIZES,
    STRIP_AT,
    STRIP_BYTES,
    TILE_AT,
    TILE_BYTES,
    TILE_HEIGHT,
    TILE_WIDTH,
    WIDTH,
    check_directories,
)
from yardfall.sentences import say

Read = Callable[[int, int], bytes]
"""Bytes from an address up to another; fewer where the file ends."""
Cells = NDArray[np.intp]
SUBFILE: Final = 254
MASK: Final = 4
"""Bit of `NewSubfileType`: the picture is the mask of another (TIFF 6.0, section 8)."""
FIRST_BYTES: Final = 16 << 10
"""Holds the directory of most cloud-optimised files."""
NEXT_BYTES: Final = 64 << 10
MOST_BYTES: Final = 8 << 20
"""Of one file's directories."""
_SHORT, _LONG, _LONG8 = 3, 4, 16
ELSEWHERE: Final = (34665, 34853, 40965)
"""Tags that lead to further directories, of a camera; they are left out."""
_NUMBERS: Final = {_SHORT: "u2", _LONG: "u4", _LONG8: "u8"}


@dataclass(frozen=True)
class Entry:
    """A tag of a directory: its type, how many values, and the values as they stand in the file."""

    kind: int
    count: int
    values: bytes


@dataclass(frozen=True, eq=False)
class Directory:
    """The first picture of a TIFF: its tags, and where its blocks lie, (blocks,) each.

    `block` is a block's height and width in cells; blocks go by rows.
    """

    order: str
    tags: Mapping[int, Entry]
    width: int
    height: int
    block: tuple[int, int]
    at: NDArray[np.uint64]
    size: NDArray[np.uint64]

    @property
    def across(self) -> int:
        """Blocks side by side."""
        return -(-self.width // self.block[1])

    def blocks_of(self, rows: Cells, columns: Cells) -> list[int]:
        """The blocks that hold these cells, each once."""
        down, side = rows // self.block[0], columns // self.block[1]
        return np.unique(down * self.across + side).tolist()


class _Pieces:
    """Bytes of a file, asked for in large pieces and kept."""

    def __init__(self, read: Read) -> None:
        self._read = read
        self._held: dict[tuple[int, int], bytes] = {}
        self._bytes = 0

    def __call__(self, start: int, length: int) -> bytes:
        for (begin, end), held in self._held.items():
            if begin <= start and start + length <= end:
                return held[start - begin : start - begin + length]
        ask = max(length, NEXT_BYTES if self._held else FIRST_BYTES)
        if self._bytes + ask > MOST_BYTES:
            raise FileRefusedError(DAMAGED)
        found = self._read(start, start + ask)
        self._bytes += ask
        self._held[start, start + len(found)] = found
        if len(found) < length:
            raise FileRefusedError(DAMAGED)
        return found[:length]


def read_directory(read: Read) -> Directory:
    """The first directory of a file.

    Raises FileRefusedError where it is no TIFF, or carries a mask of its own.
    """
    pieces = _Pieces(read)
    magic = pieces(0, 16)
    order = {b"II": "<", b"MM": ">"}.get(magic[:2], "")
    version = struct.unpack(order + "H", magic[2:4])[0] if order else 0
    if version not in (42, 43):
        raise FileRefusedError(say("sources.not_tiff"))
    big = version == 43
    start = struct.unpack(order + ("Q" if big else "I"), magic[8:16] if big else magic[4:8])[0]
    tags, following = _directory(pieces, order, start, big=big)
    seen = {start}
    while following:
        if following in seen or len(seen) >= MAX_DIRECTORIES:
            raise FileRefusedError(DAMAGED)
        seen.add(following)
        other, following = _directory(pieces, order, following, big=big, only=SUBFILE)
        if SUBFILE in other and _first(other[SUBFILE], order) & MASK:
            raise FileRefusedError(say("sources.mask"))
    return _checked(tags, order)


def _directory(
    pieces: _Pieces, order: str, start: int, *, big: bool, only: int | None = None
) -> tuple[dict[int, Entry], int]:
    """The tags of a directory (`only` that one), and where the next begins."""
    head, wide, room = ("Q", 20, 8) if big else ("H", 12, 4)
    address = "Q" if big else "I"
    lead = struct.calcsize("=" + head)
    (count,) = struct.unpack(order + head, pieces(start, lead))
    if not 0 < count <= MAX_ENTRIES:
        raise FileRefusedError(DAMAGED)
    rows = pieces(start + lead, count * wide + room)
    tags: dict[int, Entry] = {}
    for i in range(count):
        row = rows[i * wide : (i + 1) * wide]
        tag, kind, values = struct.unpack(order + "HH" + address, row[: wide - room])
        if tag in ELSEWHERE or (only is not None and tag != only):
            continue
        length = SIZES.get(kind, 0) * values
        held = row[wide - room :]
        if length > room:
            held = pieces(struct.unpack(order + address, held)[0], length)
        tags[tag] = Entry(kind, values, held[:length])
    return tags, int(struct.unpack(order + address, rows[count * wide :])[0])


def _numbers(entry: Entry, order: str) -> NDArray[np.uint64]:
    if entry.kind not in _NUMBERS:
        raise FileRefusedError(DAMAGED)
    return np.frombuffer(entry.values, order + _NUMBERS[entry.kind]).astype(np.uint64)


def _first(entry: Entry, order: str) -> int:
    found = _numbers(entry, order)
    return int(found[0]) if len(found) else 0


def _checked(tags: Mapping[int, Entry], order: str) -> Directory:
    def one(tag: int, otherwise: int = 0) -> int:
        return _first(tags[tag], order) if tag in tags else otherwise

    width, height = one(WIDTH), one(HEIGHT)
    tiled = TILE_WIDTH in tags
    across = one(TILE_WIDTH) if tiled else width
    down = one(TILE_HEIGHT) if tiled else min(one(ROWS, height), height)
    at, size = (TILE_AT, TILE_BYTES) if tiled else (STRIP_AT, STRIP_BYTES)
    if not (width and height and across and down and at in tags and size in tags):
        raise FileRefusedError(DAMAGED)
    blocks = -(-width // across) * -(-height // down)
    lies, length = _numbers(tags[at], order), _numbers(tags[size], order)
    if len(lies) < blocks or len(length) < blocks:
        raise FileRefusedError(DAMAGED)
    found = Directory(order, tags, width, height, (down, across), lies[:blocks], length[:blocks])
    stub = whole_directory(found)
    check_directories(io.BytesIO(stub), len(stub))
    return found


def whole_directory(directory: Directory) -> bytes:
    """The directory as a TIFF of its own that still says where the blocks lie in the whole file:
    what is kept of a file far away."""
    return _written(directory, directory.at, directory.size, ())


def part(directory: Directory, blocks: Mapping[int, bytes]) -> bytes:
    """A TIFF of these blocks by number, bytes as they stand in the whole file."""
    at, size = np.zeros_like(directory.at), np.zeros_like(directory.size)
    lies = len(whole_directory(directory))
    for number, held in blocks.items():
        at[number], size[number] = lies, len(held)
        lies += len(held)
    return _written(directory, at, size, blocks.values())


def _written(
    directory: Directory,
    at: NDArray[np.uint64],
    size: NDArray[np.uint64],
    blocks: Iterable[bytes],
) -> bytes:
    """A BigTIFF of the directory's tags, with these places and sizes of blocks, and the blocks."""
    order, tags = directory.order, dict(directory.tags)
    tiled = TILE_WIDTH in tags
    for tag, numbers in zip(
        (TILE_AT, TILE_BYTES) if tiled else (STRIP_AT, STRIP_BYTES), (at, size), strict=True
    ):
        tags[tag] = Entry(_LONG8, len(numbers), numbers.astype(order + "u8").tobytes())
    lies = 16 + 8 + 20 * len(tags) + 8
    rows, far = [], []
    for tag, entry in sorted(tags.items()):
        held = entry.values
        if len(held) > 8:
            far.append(held)
            held = struct.pack(order + "Q", lies)
            lies += len(far[-1])
        rows.append(struct.pack(order + "HHQ", tag, entry.kind, entry.count) + held.ljust(8, b"\0"))
    magic = {"<": b"II", ">": b"MM"}[order]
    head = magic + struct.pack(order + "HHHQQ", 43, 8, 0, 16, len(tags))
    return b"".join([head, *rows, bytes(8), *far, *blocks])
