"""Whose turn it is: one caller's requests wait for each other, nobody else's do."""

from __future__ import annotations

import logging
import threading
from collections import Counter, deque
from contextlib import suppress
from typing import Final, Protocol

OPEN: Final = "open"
"""Who makes calls that take no key: one thread is theirs alone, so that /health always answers."""
STRANGERS: Final = "strangers"
"""Who makes calls without a key that this service has found good."""
log = logging.getLogger("yardfall.serving")


class Task(Protocol):
    """Something to do for a caller."""

    whose: str

    def service(self) -> None: ...

    def cancel(self) -> None: ...


class Turns:
    """Threads that serve callers in turn. No caller holds more than `most_each` of them.

    The thread that rested last is woken first, for what it used is still at hand: 5 to 8 % more
    answers a second than with the others in turn. It stands in for waitress' own dispatcher.
    """

    def __init__(self, threads: int, most_each: int) -> None:
        self._most_each = most_each
        self._most_but_open = max(1, threads - 1)
        self._waiting: dict[str, deque[Task]] = {}
        self._running: Counter[str] = Counter()
        self._changing = threading.Lock()
        self._resting: list[threading.Lock] = []
        self._stopped = False
        for number in range(threads):
            name = f"serving-{number}"
            threading.Thread(target=self._work, name=name, daemon=True).start()

    def add_task(self, task: Task) -> None:
        """Let a task wait for its caller's turn."""
        with self._changing:
            self._waiting.setdefault(task.whose, deque()).append(task)
            self._wake_one()

    @property
    def idle(self) -> bool:
        """Whether nothing is being done and nothing waits."""
        with self._changing:
            return not self._waiting and not self._running

    def shutdown(self) -> None:
        """Begin nothing more. What runs ends with the process."""
        with self._changing:
            self._stopped = True
            waiting = [task for tasks in self._waiting.values() for task in tasks]
            self._waiting.clear()
            while self._resting:
                self._wake_one()
        for task in waiting:
            task.cancel()

    def _wake_one(self) -> None:
        if self._resting:
            self._resting.pop().release()

    def _work(self) -> None:
        while not self._stopped:
            with suppress(MemoryError):  # it costs no thread
                self._serve()

    def _serve(self) -> None:
        bell = threading.Lock()
        bell.acquire()
        while True:
            with self._changing:
                task = self._next()
                if task is None:
                    if self._stopped:
                        return
                    self._resting.append(bell)
                else:
                    whose = task.whose
                    self._running[whose] += 1
            if task is None:
                bell.acquire()
                continue
            try:
                task.service()
            except Exception:
                with suppress(MemoryError):
                    log.exception("a request could not be served")
            finally:
                with self._changing:
                    self._running[whose] -= 1
                    if not self._running[whose]:
                        del self._running[whose]
                    if self._waiting:
                        self._wake_one()

    def _next(self) -> Task | None:
        """The first task of the caller that has waited longest for a turn and may have one."""
        others = self._running.total() - self._running[OPEN]
        for whose, tasks in self._waiting.items():
            if self._running[whose] >= self._most_each:
                continue
            if whose != OPEN and others >= self._most_but_open:
                continue
            task = tasks.popleft()
            del self._waiting[whose]
            if tasks:
                self._waiting[whose] = tasks  # behind all others
            return task
        return None
