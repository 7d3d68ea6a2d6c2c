"""How long one sum may take. The sums ask between their steps; nothing is cut off in the middle."""

from __future__ import annotations

import time
from contextvars import ContextVar, Token

from yardfall.core.errors import TooLargeError

Deadline = tuple[float, float] | None
_ends: ContextVar[Deadline] = ContextVar("ends", default=None)


def begin(seconds: float) -> Token[Deadline]:
    """Let what is computed from now on, in this thread, take so long."""
    return _ends.set((time.monotonic() + seconds, seconds))


def end(token: Token[Deadline]) -> None:
    """Take back what `begin` set."""
    _ends.reset(token)


def check() -> None:
    """Raise TooLargeError once the time is over; without a deadline, nothing."""
    ends = _ends.get()
    if ends is not None and time.monotonic() > ends[0]:
        raise TooLargeError(
            f"This takes longer than the {ends[1]:g} s that one request may. Ask for less at once: "
            "fewer readings or stations, fewer changes of grade, fewer branches."
        )
