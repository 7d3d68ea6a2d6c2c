"""A TIFF's directories, looked at before any library that decodes pictures sees the file.

A directory says how large its picture is, in what pieces and where they lie. A file of a few bytes
can say anything: every number is held against the limits and the file's own size here, with reads
of a few bytes each (TIFF 6.0, section 2; BigTIFF, the same with 64 bits).
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO, Final

from yardfall.core.errors import FileRefusedError, TooLargeError

CODES: Final = {
    1: "none",
    5: "LZW",
    8: "DEFLATE",
    32773: "PackBits",
    32946: "DEFLATE",
    34887: "LERC",
    34925: "LZMA",
    50000: "ZSTD",
}
_LENGTHS: Final = (0, 1, 1, 2, 4, 8, 1, 1, 2, 4, 8, 4, 8, 4, 1, 1, 8, 8, 8)
SIZES: Final = dict(enumerate(_LENGTHS))
"""Bytes of a value by its type."""
WHOLE: Final = {1: "B", 3: "H", 4: "I", 13: "I", 16: "Q", 18: "Q"}
WIDTH, HEIGHT, BITS, COMPRESSION, STRIP_AT, BANDS, ROWS = 256, 257, 258, 259, 273, 277, 278
STRIP_BYTES, TILE_WIDTH, TILE_HEIGHT, TILE_AT, TILE_BYTES, SUB = 279, 322, 323, 324, 325, 330
MAX_DIRECTORIES: Final = 24
"""The picture, its overviews and their masks."""
MAX_ENTRIES: Final = 200
MAX_CELLS: Final = 400_000_000
MAX_BLOCK_BYTES: Final = 64 << 20
MAX_BLOCKS: Final = 4_000_000
DAMAGED: Final = "The file cannot be read as a GeoTIFF; it may be cut short or damaged."


@dataclass(frozen=True)
class _Layout:
    """How numbers stand in a file: byte order, and whether addresses have 64 bits."""

    order: str
    big: bool

    @property
    def address(self) -> str:
        return "Q" if self.big else "I"


def check_structure(path: Path) -> None:
    """Refuse a file whose directories ask for more than is given, or lie about the file.

    Raises FileRefusedError, TooLargeError.
    """
    with path.open("rb") as file:
        check_directories(file, path.stat().st_size)


def check_directories(file: BinaryIO, size: int) -> None:
    """The same of an open file of `size` bytes."""
    layout, start = _head(file)
    seen: set[int] = set()
    while start:
        if start in seen or len(seen) >= MAX_DIRECTORIES or start >= size:
            raise FileRefusedError(DAMAGED)
        seen.add(start)
        tags, start = _directory(file, layout, start, size)
        _check(tags)
    if not seen:
        raise FileRefusedError(DAMAGED)


def _head(file: BinaryIO) -> tuple[_Layout, int]:
    magic = file.read(4)
    order = {b"II": "<", b"MM": ">"}.get(magic[:2], "")
    version = struct.unpack(order + "H", magic[2:])[0] if order and len(magic) == 4 else 0
    if version not in (42, 43):
        raise FileRefusedError("The file is not a TIFF. Send an elevation raster as GeoTIFF.")
    layout = _Layout(order, version == 43)
    if layout.big and _read(file, layout, "HH") != (8, 0):
        raise FileRefusedError(DAMAGED)
    return layout, _read(file, layout, layout.address)[0]


def _read(file: BinaryIO, layout: _Layout, form: str) -> tuple[int, ...]:
    wanted = struct.calcsize(layout.order + form)
    found = file.read(wanted)
    if len(found) < wanted:
        raise FileRefusedError(DAMAGED)
    return struct.unpack(layout.order + form, found)


def _directory(
    file: BinaryIO, layout: _Layout, start: int, size: int
) -> tuple[dict[int, tuple[int, int]], int]:
    """Each tag's count of values and its first value, and where the next directory begins."""
    file.seek(start)
    (count,) = _read(file, layout, "Q" if layout.big else "H")
    if not 0 < count <= MAX_ENTRIES:
        raise FileRefusedError(DAMAGED)
    room = 8 if layout.big else 4
    tags: dict[int, tuple[int, int]] = {}
    for _ in range(count):
        tag, kind = _read(file, layout, "HH")
        (values,) = _read(file, layout, layout.address)
        held = file.read(room)
        if len(held) < room:
            raise FileRefusedError(DAMAGED)
        length = SIZES.get(kind, 1) * values
        if length > room:
            (at,) = struct.unpack(layout.order + layout.address, held)
            if at + length > size:
                raise FileRefusedError(DAMAGED)
        first = 0
        if values and kind in WHOLE:
            if length > room:
                back = file.tell()
                file.seek(at)
                (first,) = _read(file, layout, WHOLE[kind])
                file.seek(back)
            else:
                (first,) = struct.unpack_from(layout.order + WHOLE[kind], held)
        tags[tag] = (values, first)
    return tags, _read(file, layout, layout.address)[0]


def _check(tags: dict[int, tuple[int, int]]) -> None:
    """Hold one directory's numbers against the limits and each other."""

    def one(tag: int, otherwise: int) -> int:
        return tags.get(tag, (1, otherwise))[1]

    width, height = one(WIDTH, 0), one(HEIGHT, 0)
    if SUB in tags or not (width and height):
        raise FileRefusedError(DAMAGED)
    if one(COMPRESSION, 1) not in CODES:
        names = ", ".join(sorted(set(CODES.values())))
        raise FileRefusedError(f"The file's compression is not taken. These are: {names}.")
    if width * height > MAX_CELLS:
        raise TooLargeError(
            f"The raster has {width * height:,} cells; at most {MAX_CELLS:,} are taken. Cut it to "
            "the neighbourhood of the yard."
        )
    tiled = TILE_WIDTH in tags
    across = one(TILE_WIDTH, 0) if tiled else width
    down = one(TILE_HEIGHT, 0) if tiled else min(one(ROWS, height), height)
    if not (across and down):
        raise FileRefusedError(DAMAGED)
    block_bytes = across * down * one(BANDS, 1) * max(1, one(BITS, 1) // 8)
    if block_bytes > MAX_BLOCK_BYTES:
        raise TooLargeError(
            f"The raster is stored in blocks of {block_bytes >> 20:,} MiB; at most "
            f"{MAX_BLOCK_BYTES >> 20} are taken. Save it tiled, 256 by 256."
        )
    blocks = -(-width // across) * -(-height // down)
    if blocks > MAX_BLOCKS:
        raise TooLargeError(
            f"The raster is stored in {blocks:,} blocks. Save it tiled, 256 by 256."
        )
    for tag in (TILE_AT, TILE_BYTES) if tiled else (STRIP_AT, STRIP_BYTES):
        if tags.get(tag, (0, 0))[0] < blocks:
            raise FileRefusedError(DAMAGED)
