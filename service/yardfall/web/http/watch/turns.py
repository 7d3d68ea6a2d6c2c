"""Whose heavy sum runs next: few at once, fair between keys, and the time counts from the turn on.

A sum is one request that computes. Every key that has none running gets one begun at once, up to
`most`; what a key wants beyond that shares the `usual` turns. When one is over, the key with the
fewest running goes next, and among those who has waited longest.
"""

from __future__ import annotations

import os
import re
import threading
import time
from collections import Counter
from contextlib import suppress
from contextvars import Token
from dataclasses import dataclass, field
from typing import Final

from flask import Flask, g, request
from werkzeug.exceptions import TooManyRequests

from yardfall.core import compiled, deadline
from yardfall.core.deadline import Deadline
from yardfall.core.errors import UnavailableError
from yardfall.sentences import say
from yardfall.web.http.access import COMPUTES, SAFE, caller
from yardfall.web.http.api import BASE
from yardfall.web.http.watch.heap import LARGE_S, give_back
from yardfall.web.http.watch.limits import Limits

USUAL: Final = max(2, os.cpu_count() or 1)
"""Sums at once that share the processor's cores."""
MOST: Final = USUAL + 6
"""Sums at once when so many keys ask; what each may take of memory is measured in tests/hostile."""
MOST_WAIT_S: Final = 30.0
"""How long a sum waits for its turn: it holds one of the server's threads."""
STUCK_S: Final = 100.0
"""A turn held so much longer than a sum may take is told by /health."""
COMPUTED_ON_POST: Final = COMPUTES | {"jobs"}
FILES_READ: Final = frozenset({"rasters", "site-plans", "imports", "sources"})
FILES_AT_ONCE: Final = (2, 4)
"""Files from outside read at once, and as many as that when so many keys ask."""
IMPORT_S: Final = 120.0
"""How long an import may take: it reads and checks many files."""
COMPUTED_ON_GET: Final = re.compile(
    rf"{BASE}/(jobs/[^/]+/[\w-]+\.\w+$|(rasters|sources)/[^/]+/relief\.png)"
)


@dataclass(eq=False)
class _Waiting:
    key: str
    let_in: threading.Event = field(default_factory=threading.Event)


class Turns:
    """Turns of one process."""

    def __init__(self, usual: int = USUAL, most: int = MOST) -> None:
        self._usual, self._most = usual, most
        self._running: Counter[str] = Counter()
        self._queue: list[_Waiting] = []
        self._lock = threading.Lock()

    def take(self, key: str, most_wait_s: float = MOST_WAIT_S) -> None:
        """Wait for a turn. Raises UnavailableError after `most_wait_s`."""
        with self._lock:
            if not self._queue and self._has_room(key):
                self._running[key] += 1
                return
            one = _Waiting(key)
            self._queue.append(one)
            self._let_in()
        try:
            one.let_in.wait(most_wait_s)
        except BaseException:
            with self._lock:
                if one in self._queue:
                    self._queue.remove(one)
                else:
                    _less(self._running, key)
            raise
        with self._lock:
            if one not in self._queue:
                return
            self._queue.remove(one)
        raise UnavailableError(say("bounds.waited", seconds=f"{most_wait_s:g}"))

    def give_back(self, key: str) -> None:
        """One sum of a key is over."""
        with self._lock:
            _less(self._running, key)
            with suppress(MemoryError):  # the next that ends lets them in
                self._let_in()

    def _has_room(self, key: str) -> bool:
        room = self._most if self._running[key] == 0 else self._usual
        return self._running.total() < room

    def _let_in(self) -> None:
        while self._queue:
            one = min(self._queue, key=lambda waiting: self._running[waiting.key])
            if not self._has_room(one.key):
                return
            self._queue.remove(one)
            self._running[one.key] += 1
            one.let_in.set()


def _less(counted: Counter[str], key: str) -> None:
    """One less of a key; one with none left goes."""
    counted[key] -= 1
    if counted[key] <= 0:
        del counted[key]


class AtOnce:
    """How many requests of each key are being answered. One process's own."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._now: Counter[str] = Counter()
        self._lock = threading.Lock()

    def enter(self, key: str) -> bool:
        """Count one more; False, and not counted, where there are as many as may be."""
        with self._lock:
            if self._now[key] >= self._most:
                return False
            self._now[key] += 1
            return True

    def leave(self, key: str) -> None:
        """One less."""
        with self._lock:
            _less(self._now, key)


@dataclass(eq=False)
class _Held:
    """What one request holds, noted as it is taken, so that its end gives all of it back."""

    queue: Turns | None = None
    whose: str = ""
    since_s: float = 0.0
    began: Token[Deadline | None] | None = None
    entered: str | None = None


class Holders:
    """The sums that hold a turn now, and how long one ever should."""

    def __init__(self, sum_s: float) -> None:
        self._longest_s = sum_s + STUCK_S
        self._now: set[_Held] = set()

    def add(self, held: _Held) -> None:
        """One more."""
        self._now.add(held)

    def discard(self, held: _Held) -> None:
        """One less."""
        self._now.discard(held)

    def broken(self) -> dict[str, str]:
        """A sentence where a turn is held far beyond its time: something is at a standstill."""
        now_s = time.monotonic()
        longest_s = max((now_s - held.since_s for held in tuple(self._now)), default=0.0)
        if longest_s <= self._longest_s:
            return {}
        return {"sums": say("bounds.stuck", seconds=f"{longest_s:.0f}")}


def register_turns(app: Flask, limits: Limits) -> None:
    """Admit each request of those whom `register_access` let in, and give each sum its time."""
    turns, file_turns, at_once = Turns(), Turns(*FILES_AT_ONCE), AtOnce(limits.at_once)
    holders = app.extensions["holders"] = Holders(limits.sum_s)

    @app.before_request
    def _admit() -> None:
        held = g.held = _Held()
        sent = caller().sent
        if sent is not None:
            if not at_once.enter(sent):
                raise TooManyRequests(
                    say("bounds.at_once", most=str(limits.at_once)), retry_after=1
                )
            held.entered = sent
        call = "" if request.method in SAFE else _call()
        computes = call in COMPUTED_ON_POST or _draws()
        if not computes and call not in FILES_READ:
            return
        if computes and not compiled.settled(limits.sum_s):
            raise UnavailableError(say("bounds.getting_ready"))
        held.whose = sent or caller().owner
        queue = turns if computes else file_turns
        queue.take(held.whose)
        held.queue = queue
        held.since_s = time.monotonic()
        if computes:
            holders.add(held)
        if computes or call == "imports":
            held.began = deadline.begin(limits.sum_s if computes else max(limits.sum_s, IMPORT_S))

    @app.teardown_request
    def _over(_error: BaseException | None) -> None:
        held: _Held | None = g.pop("held", None)
        if held is None:
            return
        holders.discard(held)
        try:
            if held.began is not None:
                deadline.end(held.began)
        finally:
            if held.queue is not None:
                held.queue.give_back(held.whose)
            if held.entered is not None:
                at_once.leave(held.entered)
        took_s = time.monotonic() - held.since_s
        short = g.pop("memory_was_short", False)
        if held.queue is not None and (took_s > LARGE_S or short):
            give_back(short=short)


def _call() -> str:
    return request.path.removeprefix(f"{BASE}/").split("/", 1)[0]


def _draws() -> bool:
    return request.method in SAFE and COMPUTED_ON_GET.match(request.path) is not None
