"""Files that land whole or not at all, and the sweeping up after a process that was killed."""

from __future__ import annotations

import errno
import os
import re
import tempfile
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import IO, Final

from yardfall.core import deadline
from yardfall.core.errors import TooLargeError

NO_ROOM: Final = (errno.ENOSPC, errno.EDQUOT)
CHUNK_BYTES: Final = 1 << 20
OURS: Final = re.compile(
    r"yardfall\.sqlite(-wal|-shm|-journal)?|rasters|site_plans|sources|reserve|.*\.part"
)
"""The names of what the data directory holds."""
STILL_S: Final = 3600.0
"""A file that nobody has written to for this long belongs to no live process."""


@contextmanager
def incoming(stream: IO[bytes], folder: Path, most_bytes: int, advice: str) -> Iterator[Path]:
    """A stream in a temporary file on the disk, gone at the end unless taken over.

    Raises TooLargeError over `most_bytes`, with what to do about it.
    """
    with tempfile.NamedTemporaryFile(dir=folder, suffix=".part", delete=False) as part:
        path = Path(part.name)
        try:
            while chunk := stream.read(CHUNK_BYTES):
                deadline.check()
                part.write(chunk)
                if part.tell() > most_bytes:
                    raise TooLargeError(f"The file is larger than {most_bytes >> 20} MiB. {advice}")
            part.flush()
            os.fsync(part.fileno())
            yield path
        finally:
            path.unlink(missing_ok=True)


def take_over(part: Path, path: Path) -> None:
    """Give an incoming file its lasting name, so that a power cut leaves the one or the other."""
    part.rename(path)
    if os.name == "posix":
        folder = os.open(path.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


def sweep(folder: Path, kept: Iterable[str], still_s: float = STILL_S) -> list[str]:
    """Remove what a killed process left: files whose name begins with no kept id.

    Only files that were not written to for `still_s` seconds; their names are returned.
    """
    ids, swept = set(kept), []
    for path in folder.iterdir():
        if path.stem in ids:
            continue
        try:
            if time.time() - path.stat().st_mtime >= still_s:
                path.unlink()
                swept.append(path.name)
        except FileNotFoundError:  # another worker sweeps as well, or has just taken it over
            continue
    return swept


def private_folder(folder: Path) -> Path:
    """Make the data directory for its owner alone (0700), and keep it so.

    One that was there is closed to others as well where all that lies in it is ours: a folder that
    somebody shares with something else stays as it is. Raises OSError where nothing can be written
    to it.
    """
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    if os.name == "posix" and all(OURS.fullmatch(entry.name) for entry in folder.iterdir()):
        with suppress(PermissionError):  # it is another user's, who let us in
            folder.chmod(0o700)
    with tempfile.TemporaryFile(dir=folder):
        return folder


def private_file(path: Path) -> Path:
    """Make a file for its owner alone (0600), or close one that is there."""
    with suppress(OSError):  # where nothing can be written, the first write says so
        os.close(os.open(path, os.O_RDWR | os.O_CREAT, 0o600))
        path.chmod(0o600)
    return path
