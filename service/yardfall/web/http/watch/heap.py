"""What a large sum gave back, given back to the system too; on Linux, by glibc's own settings.

glibc keeps what was freed: in as many arenas as there are threads, and, once arrays of megabytes
were freed, every array up to 32 MiB among the small things, where one that stays holds the others.
"""

from __future__ import annotations

import ctypes
import functools
import gc
import sys
from collections.abc import Callable
from contextlib import suppress
from typing import Any, Final

APART_BYTES: Final = 1 << 23
"""Larger arrays get memory of their own, which goes back with them. At 1 MiB a usual plan under
load took a quarter longer: the system was asked anew for the arrays of its draws."""
ARENAS: Final = 2
LARGE_S: Final = 0.5
"""A sum that took so long may have taken much memory; what it left is given back after it."""
M_MMAP_THRESHOLD: Final = -3
M_ARENA_MAX: Final = -8
"""Of mallopt(3)."""


def settle_heap() -> None:
    """Have what is freed go back to the system; where it cannot be told so, nothing."""
    library = _library()
    if library is not None:
        library.mallopt(M_MMAP_THRESHOLD, APART_BYTES)
        library.mallopt(M_ARENA_MAX, ARENAS)


def give_back(*, short: bool = False) -> None:
    """Give back what lies free: what a fault's trace held, and what the allocator kept.

    Where memory was `short`, old traces are looked for too, which takes longer.
    """
    with suppress(MemoryError):
        gc.collect(2 if short else 1)
        trim = _trim()
        if trim is not None:
            trim(0)


@functools.cache
def _library() -> Any:
    if not sys.platform.startswith("linux"):
        return None
    with suppress(OSError, AttributeError):
        found = ctypes.CDLL(None)
        found.gnu_get_libc_version  # noqa: B018 - another library's mallopt is another thing
        return found
    return None


@functools.cache
def _trim() -> Callable[[int], int] | None:
    library = _library()
    return None if library is None else library.malloc_trim
