"""Threads that work for a sum beside its own, none of which anybody ever waits for to begin.

`threading.Thread.start` waits until the new thread says that it runs. One that ends for want of
memory before that leaves its starter waiting for ever, and whoever waits for the starter. So what
is begun here is not waited for: a sum does its parts itself, and idle threads help it.
"""

from __future__ import annotations

import _thread
import os
import threading
from collections.abc import Callable, Sequence
from contextlib import suppress
from queue import SimpleQueue
from typing import Final, Generic, TypeVar

from yardfall.core import deadline

Item = TypeVar("Item")
Made = TypeVar("Made")
MOST: Final = max(1, (os.cpu_count() or 1) - 1)
"""Threads that help."""
PATIENCE_S: Final = 5.0
"""How long a sum waits for a helper before it looks whether its time is over."""


class _Work(Generic[Item, Made]):
    """Parts of one sum, taken one after another by whoever is free."""

    def __init__(self, do: Callable[[Item], Made], items: Sequence[Item]) -> None:
        self._do, self._items = do, items
        self._made: dict[int, Made] = {}
        self._next = self._busy = 0
        self._failed: BaseException | None = None
        self._changed = threading.Condition()

    def take_part(self) -> None:
        """Do parts until none is left; raises nothing."""
        with self._changed:
            self._busy += 1
        try:
            while (number := self._taken()) is not None:
                self._made[number] = self._do(self._items[number])
        except BaseException as error:
            self._failed = error
        finally:
            with self._changed:
                self._busy -= 1
                self._changed.notify_all()

    def _taken(self) -> int | None:
        with self._changed:
            if self._failed is not None or self._next >= len(self._items):
                return None
            self._next += 1
            return self._next - 1

    def made(self) -> list[Made]:
        """What was made, in order, once all is; raises what a part raised."""
        with self._changed:
            while self._busy:
                if not self._changed.wait(PATIENCE_S):
                    deadline.check()
        failed, self._failed = self._failed, None
        if failed is not None:
            raise failed
        return [self._made[number] for number in range(len(self._items))]


_asked: Final[SimpleQueue[_Work[object, object]]] = SimpleQueue()
_beginning: Final = threading.Lock()
_begun = 0


def begin() -> None:
    """Begin the helpers, once a process: before it serves, so that they have their memory."""
    global _begun
    with _beginning, suppress(RuntimeError, MemoryError):  # without them sums take longer
        while _begun < MOST:
            _thread.start_new_thread(_help, ())
            _begun += 1


def each(do: Callable[[Item], Made], items: Sequence[Item], at_once: int) -> list[Made]:
    """`do` of each item, in order, worked by so many threads at the most, this one among them.

    Raises what any of them raised. `do` must ask whether the time is over (`deadline.here`).
    """
    begin()
    work = _Work(do, items)
    for _ in range(min(at_once, len(items), MOST + 1) - 1):
        _asked.put(work)  # type: ignore[arg-type]
    work.take_part()
    return work.made()


def _help() -> None:
    while True:
        with suppress(MemoryError):
            _asked.get().take_part()


def _forget() -> None:
    global _begun
    _begun = 0


if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_forget)  # a process that was forked has none of them
