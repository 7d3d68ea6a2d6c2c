"""How long one sum may take. The sums ask between their steps; nothing is cut off in the middle."""

from __future__ import annotations

import time
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from yardfall.core.errors import TooLargeError

_ends: ContextVar[tuple[float, float] | None] = ContextVar("ends", default=None)


@contextmanager
def at_most(seconds: float) -> Iterator[None]:
    """Let what is computed inside take so long."""
    token = _ends.set((time.monotonic() + seconds, seconds))
    try:
        yield
    finally:
        _ends.reset(token)


def check() -> None:
    """Raise TooLargeError once the time is over; without a deadline, nothing."""
    ends = _ends.get()
    if ends is not None and time.monotonic() > ends[0]:
        raise TooLargeError(
            f"This takes longer than the {ends[1]:g} s that one request may. Ask for less at once: "
            "fewer readings or stations, fewer changes of grade, fewer branches."
        )
