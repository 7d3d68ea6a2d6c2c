"""A small file system of a test's own, in memory: to fill to the last block, or to close."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest


@contextmanager
def mounted(place: Path, size_mib: int) -> Iterator[Path]:
    """A file system of so many MiB. Skips where the system lets nobody mount one."""
    if sys.platform != "linux" or os.geteuid() != 0 or shutil.which("mount") is None:
        pytest.skip("to mount a small file system takes root on Linux")
    place.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", f"size={size_mib}m", "tmpfs", str(place)]
    done = subprocess.run(mount, capture_output=True, text=True, check=False)
    if done.returncode:
        pytest.skip(f"this system lets nobody mount: {done.stderr.strip()}")
    try:
        yield place
    finally:
        subprocess.run(["umount", "-l", str(place)], check=True)


def make_read_only(place: Path) -> None:
    """Let nothing be written to it any more, not even by root."""
    subprocess.run(["mount", "-o", "remount,ro", str(place)], check=True)


def make_writable(place: Path) -> None:
    """Take that back."""
    subprocess.run(["mount", "-o", "remount,rw", str(place)], check=True)


def fill(disk: Path) -> Path:
    """Take every byte that is left."""
    ballast = disk / "ballast"
    with ballast.open("wb", buffering=0) as file, suppress(OSError):
        while file.write(bytes(4096)):
            pass
    assert shutil.disk_usage(disk).free == 0
    return ballast
