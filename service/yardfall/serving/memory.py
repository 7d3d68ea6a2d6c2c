"""The last line against a request that takes all memory: a bound on the whole process.

Beyond it an allocation fails, which Python raises as MemoryError and the service answers with 503;
so the system need not end the process, and everybody's requests with it.
"""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from typing import Final

VARIABLE: Final = "YARDFALL_MEMORY_MIB"
LEAST_MIB: Final = 1024
"""What is loaded and compiled at the start takes 400 MiB of it."""


def hold_memory(environment: Mapping[str, str]) -> None:
    """Bound this process's data to YARDFALL_MEMORY_MIB, where that is set and the system can.

    Raises ValueError where that is not a whole number of at least LEAST_MIB.
    """
    text = environment.get(VARIABLE)
    if text is None:
        return
    most = int(text) if text.isdecimal() else 0
    if most < LEAST_MIB:
        raise ValueError(
            f"{VARIABLE} is {text!r}; it takes a whole number of MiB, {LEAST_MIB} or more."
        )
    with suppress(ImportError):  # Windows
        import resource

        _, hard = resource.getrlimit(resource.RLIMIT_DATA)
        asked = most << 20
        bound = asked if hard == resource.RLIM_INFINITY else min(asked, hard)
        resource.setrlimit(resource.RLIMIT_DATA, (bound, hard))
