"""A process of its own in which a file from outside is read for the first time.

A file made to break the decoder takes this process down, or runs into its limits of memory and
time; the service answers that the file is refused, and starts another.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures import TimeoutError as TooSlow
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from pathlib import Path
from typing import Final

from yardfall.core.errors import FileRefusedError, TooLargeError
from yardfall.geo.raster import RasterFacts, inspect_raster

MOST_MEMORY_BYTES: Final = 3 << 30
"""Address space, of which libraries and their threads reserve about half without using it."""
MOST_S: Final = 60.0
BROKE: Final = "The file breaks the reading of it; it is damaged, or made to do so."
SLOW: Final = (
    f"The file takes longer than {MOST_S:g} s to read. Cut it to the neighbourhood of the yard."
)
TRIES: Final = 2
"""One file's crash takes along those that wait behind it; they are tried again."""
_lock = threading.Lock()
_pool: ProcessPoolExecutor | None = None


def _bound() -> None:
    """Limit this process's memory, where the system can, and end it with the service."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the service, which ends this one
    threading.Thread(target=_follow, daemon=True).start()
    with suppress(ImportError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY_BYTES, MOST_MEMORY_BYTES))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def _follow() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _started() -> ProcessPoolExecutor:
    global _pool
    with _lock:
        if _pool is None:
            context = multiprocessing.get_context("spawn")
            _pool = ProcessPoolExecutor(1, mp_context=context, initializer=_bound)
        return _pool


def _end(pool: ProcessPoolExecutor) -> None:
    global _pool
    with _lock:
        if _pool is pool:
            _pool = None
    for process in list((getattr(pool, "_processes", None) or {}).values()):
        process.kill()
    pool.shutdown(wait=False, cancel_futures=True)


def examine(path: Path) -> RasterFacts:
    """`inspect_raster` in the other process. Raises what it raises."""
    for _ in range(TRIES):
        pool = _started()
        try:
            asked: Future[RasterFacts] = pool.submit(inspect_raster, path)
            return asked.result(MOST_S)
        except TooSlow as error:
            _end(pool)
            raise TooLargeError(SLOW) from error
        except BrokenProcessPool:
            _end(pool)
        except MemoryError as error:
            raise TooLargeError("The file takes more memory to read than it may.") from error
    raise FileRefusedError(BROKE)
