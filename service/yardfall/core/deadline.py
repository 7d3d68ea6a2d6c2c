"""How long one sum may take. The sums ask between their steps, the long compiled loops within.

A compiled loop cannot read a clock. It is given `flag`, one byte that a thread beside the sums sets
when the time is over, looks at it on its way and comes back early; its caller then calls `check`.
While a loop is being compiled, which happens once, no sum's time runs.
"""

from __future__ import annotations

import _thread
import os
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from contextvars import ContextVar, Token
from dataclasses import dataclass, field
from functools import partial
from typing import Final

import numpy as np
from numba.core import event as numba_event
from numpy.typing import NDArray

from yardfall.core.errors import OutOfTimeError

Flag = NDArray[np.uint8]
LOOK_S: Final = 0.05
"""How often the thread looks whether a sum's time is over."""
BEGIN_AGAIN_S: Final = 5.0
"""How long a thread that was begun has to say that it runs, before another is."""
STALL_S: Final = 1.0
"""A look that comes so late, while the process got no processor, was a machine at a standstill:
that time is no sum's."""


@dataclass(frozen=True, eq=False)
class Deadline:
    """When a sum must be over (`time.monotonic`), how long it was given, the byte that says so."""

    ends_s: float
    seconds: float
    stalled_before_s: float
    flag: Flag = field(default_factory=lambda: np.zeros(1, dtype=np.uint8))


_NEVER: Final = np.zeros(1, dtype=np.uint8)
_ends: ContextVar[Deadline | None] = ContextVar("ends", default=None)
_running: set[Deadline] = set()
_some_run = threading.Condition()
_watched = False
_watch_begun_s = -np.inf
_stalled_s = 0.0


class _Compiling(numba_event.Listener):
    """Adds to the time that is no sum's what compiling takes, which may go on within another."""

    def __init__(self) -> None:
        self.lock = threading.Lock()
        self.running = 0
        self.since_s = 0.0

    def on_start(self, event: numba_event.Event) -> None:  # noqa: ARG002 - how a listener is called
        with self.lock:
            if self.running == 0:
                self.since_s = time.monotonic()
            self.running += 1

    def on_end(self, event: numba_event.Event) -> None:  # noqa: ARG002 - how a listener is called
        global _stalled_s
        with self.lock:
            if self.running == 1:  # first the time, then that it is over: others look meanwhile
                _stalled_s += time.monotonic() - self.since_s
            self.running -= 1


_compiling: Final = _Compiling()
numba_event.register("numba:compile", _compiling)  # type: ignore[no-untyped-call]


def begin(seconds: float) -> Token[Deadline | None]:
    """Let what is computed from now on, in this thread, take so long."""
    one = Deadline(time.monotonic() + seconds, seconds, _stalled_s)
    with _some_run:
        _begin_watch()
        _running.add(one)
        try:
            if len(_running) == 1:
                _some_run.notify_all()
            return _ends.set(one)
        except MemoryError:
            _running.discard(one)
            raise


def watch() -> None:
    """Begin the thread beside the sums before any needs it; a sum begins it too."""
    with _some_run:
        _begin_watch()


def _begin_watch() -> None:
    """Not by `Thread.start`, which waits for ever for a thread that had no memory to begin.

    Without it sums still ask between their steps. `_some_run` is held.
    """
    global _watch_begun_s
    now_s = time.monotonic()
    if _watched or now_s < _watch_begun_s + BEGIN_AGAIN_S:
        return
    with suppress(RuntimeError, MemoryError):
        _thread.start_new_thread(_look_on, ())
        _watch_begun_s = now_s


def _unwatched() -> None:
    global _watched, _watch_begun_s
    _watched, _watch_begun_s = False, -np.inf


if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_unwatched)  # a process that was forked has no such thread


def end(token: Token[Deadline | None]) -> None:
    """Take back what `begin` set."""
    one = _ends.get()
    _ends.reset(token)
    with _some_run:
        if one is not None:
            _running.discard(one)


@contextmanager
def at_most(share: float) -> Iterator[None]:
    """Let what is computed within take no more than a share of the time that is left.

    What it raises once that is over (OutOfTimeError) its caller may catch, and go on with the rest.
    """
    one = _ends.get()
    if one is None:
        yield
        return
    left_s = one.ends_s + _stalled_s - one.stalled_before_s - time.monotonic()
    token = begin(max(left_s, 0.0) * share)
    try:
        yield
    finally:
        end(token)


def check() -> None:
    """Raise OutOfTimeError once the time is over; without a deadline, nothing."""
    _hold(_ends.get())


def here() -> Callable[[], None]:
    """`check` of this thread's deadline, for other threads that work for it."""
    return partial(_hold, _ends.get())


def cores() -> int:
    """How many threads this sum may work with: the cores, shared among all sums that run."""
    return max(1, (os.cpu_count() or 1) // max(1, len(_running)))


def flag() -> Flag:
    """The byte (1,) that turns 1 when the time is over; call `check` after a loop that had it."""
    one = _ends.get()
    return _NEVER if one is None else one.flag


def _look_on() -> None:
    global _watched
    with _some_run:
        if _watched:
            return
        _watched = True
    while True:
        with suppress(MemoryError):
            _look()


def _look() -> None:
    global _stalled_s
    with _some_run:
        while not _running:
            _some_run.wait()
        for one in _running:
            if _is_over(one):
                one.flag[0] = 1
    slept_s, worked_s = time.perf_counter(), time.process_time()
    time.sleep(LOOK_S)
    late_s = time.perf_counter() - slept_s - LOOK_S
    if late_s > STALL_S:
        _stalled_s += max(late_s - (time.process_time() - worked_s), 0.0)


def _is_over(one: Deadline) -> bool:
    if _compiling.running:
        return False
    return time.monotonic() > one.ends_s + _stalled_s - one.stalled_before_s


def _hold(one: Deadline | None) -> None:
    if one is not None and (one.flag[0] or _is_over(one)):
        raise OutOfTimeError(
            f"This takes longer than the {one.seconds:g} s that one request may. Ask for less at "
            "once: fewer readings or stations, fewer changes of grade, fewer branches, a smaller "
            "lot or fewer draws; or a plan without what would mend it, by explain false."
        )
