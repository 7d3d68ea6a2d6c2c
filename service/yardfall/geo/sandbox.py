"""Processes of their own in which a file from outside is read for the first time.

A file made to break the decoder takes its process down, or runs into its limits of memory and
time; the service answers that the file is refused, and starts another. Each reads one file at a
time, so that no file suffers from another's end.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from concurrent.futures import CancelledError, Future, ProcessPoolExecutor
from concurrent.futures import TimeoutError as TooSlow
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from pathlib import Path
from queue import Empty, LifoQueue
from typing import Final

from yardfall.core.errors import FileRefusedError, TooLargeError, UnavailableError
from yardfall.geo.raster import RasterFacts, inspect_raster

AT_ONCE: Final = 2
MOST_MEMORY_BYTES: Final = 3 << 30
"""Address space, of which libraries and their threads reserve about half without using it."""
MOST_S: Final = 60.0
MOST_WAITING_S: Final = 30.0
BROKE: Final = "The file breaks the reading of it; it is damaged, or made to do so."
SLOW: Final = (
    f"The file takes longer than {MOST_S:g} s to read. Cut it to the neighbourhood of the yard."
)
WAITED: Final = "Other files are being read; send yours again in a moment."
TRIES: Final = 2
"""A process may also end for a reason of its own: the file is tried in another."""
_idle: LifoQueue[ProcessPoolExecutor | None] = LifoQueue()
for _ in range(AT_ONCE):
    _idle.put(None)
_begun: list[ProcessPoolExecutor] = []
_over = threading.Event()


def warm() -> None:
    """Start every process and have it load what it reads with, before a caller waits for it."""
    taken: list[ProcessPoolExecutor | None] = []
    with suppress(Empty, RuntimeError, OSError, BrokenProcessPool, CancelledError):
        while not _over.is_set():
            taken.append(_idle.get_nowait())
            pool = taken[-1] or _started()
            taken[-1] = pool
            pool.submit(os.getpid)
    for one in taken:
        _idle.put(one)


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
    context = multiprocessing.get_context("spawn")
    pool = ProcessPoolExecutor(1, mp_context=context, initializer=_bound)
    _begun.append(pool)
    return pool


def stop() -> None:
    """End every process, one that is only starting too; the service ends."""
    _over.set()
    for pool in list(_begun):
        _end(pool)


def _end(pool: ProcessPoolExecutor) -> None:
    for process in list((getattr(pool, "_processes", None) or {}).values()):
        process.kill()
    pool.shutdown(wait=False, cancel_futures=True)
    with suppress(ValueError):
        _begun.remove(pool)


def examine(path: Path) -> RasterFacts:
    """`inspect_raster` in another process. Raises what it raises, and UnavailableError where
    others have been read for MOST_WAITING_S."""
    try:
        pool = _idle.get(timeout=MOST_WAITING_S)
    except Empty:
        raise UnavailableError(WAITED) from None
    try:
        for _ in range(TRIES):
            pool = pool or _started()
            try:
                asked: Future[RasterFacts] = pool.submit(inspect_raster, path)
                return asked.result(MOST_S)
            except TooSlow as error:
                _end(pool)
                pool = None
                raise TooLargeError(SLOW) from error
            except (BrokenProcessPool, CancelledError):
                _end(pool)
                pool = None
            except MemoryError as error:
                raise TooLargeError("The file takes more memory to read than it may.") from error
        raise FileRefusedError(BROKE)
    finally:
        _idle.put(pool)
