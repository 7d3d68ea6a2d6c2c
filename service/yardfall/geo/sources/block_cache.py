"""Blocks of files far away, kept on the disk within a bound: the one used longest ago goes first.

A block's name is the digest of its file's address, what the file was then (its ETag) and where it
lies, so that a file that changes has other blocks. Each carries a digest of its own: one that a
crash or a failing disk left wrong is as good as none.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
import threading
from contextlib import suppress
from pathlib import Path
from typing import Final

MOST_BYTES: Final = 512 << 20
LEAST_LEFT: Final = 0.9
"""So much of the bound stays when blocks go."""
DIGEST_BYTES: Final = 16


class BlockCache:
    """One folder of blocks, which other processes may use as well."""

    def __init__(self, folder: Path, most_bytes: int = MOST_BYTES) -> None:
        self._folder = folder
        self._most_bytes = most_bytes
        self._lock = threading.Lock()
        self._since_bytes = most_bytes  # written since it was last looked through

    def get(self, address: str, tag: str, at: int) -> bytes | None:
        """A block; None where it is not here."""
        path = self._path(address, tag, at)
        try:
            held = path.read_bytes()
        except OSError:
            return None
        digest, block = held[:DIGEST_BYTES], held[DIGEST_BYTES:]
        if _digest(block) != digest:
            return None
        with suppress(OSError):
            os.utime(path)
        return block

    def keep(self, address: str, tag: str, at: int, block: bytes) -> None:
        """Keep a block, where the disk takes it: without a cache all works, only later."""
        path = self._path(address, tag, at)
        with suppress(OSError):
            self._folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            with tempfile.NamedTemporaryFile(
                dir=self._folder, suffix=".part", delete=False
            ) as part:
                part.write(_digest(block) + block)
            Path(part.name).replace(path)
            self._make_room(len(block))

    def _path(self, address: str, tag: str, at: int) -> Path:
        name = hashlib.sha256(f"{address}\n{tag}\n{at}".encode()).hexdigest()
        return self._folder / name

    def _make_room(self, written: int) -> None:
        """Look through the folder once a tenth of the bound was written since the last time."""
        with self._lock:
            self._since_bytes += written
            if self._since_bytes < self._most_bytes * (1 - LEAST_LEFT) / 2:
                return
            self._since_bytes = 0
            found = []
            for entry in os.scandir(self._folder):
                with suppress(OSError):
                    seen = entry.stat()
                    found.append((seen.st_mtime, seen.st_size, entry.path))
            total = sum(size for _, size, _ in found)
            if total <= self._most_bytes * (1 + LEAST_LEFT) / 2:
                return
            for _, size, path in sorted(found):
                with suppress(OSError):
                    Path(path).unlink()
                total -= size
                if total <= self._most_bytes * LEAST_LEFT:
                    return


def _digest(block: bytes) -> bytes:
    return hashlib.blake2b(block, digest_size=DIGEST_BYTES).digest()
