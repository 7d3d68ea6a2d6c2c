"""What one key may ask of the service. Sizes of single things are constants where they are read."""

from __future__ import annotations

import math
import os
import threading
import time
from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Final

FORGET_AT: Final = 10_000


@dataclass(frozen=True)
class Limits:
    """Limits of each key: requests a second, in a burst and at once, MiB kept; seconds of a sum."""

    requests_per_s: float = 20.0
    burst: int = 100
    at_once: int = 12
    kept_mib: int = 4096
    sum_s: float = 20.0

    @classmethod
    def from_environment(cls, environment: Mapping[str, str] = os.environ) -> Limits:
        """Each from YARDFALL_<NAME>. Raises ValueError naming one that is no positive number."""
        found = {}
        for field in fields(cls):
            name = f"YARDFALL_{field.name.upper()}"
            text = environment.get(name)
            if text is None:
                continue
            kind = int if isinstance(field.default, int) else float
            try:
                found[field.name] = kind(text)
            except ValueError:
                found[field.name] = 0
            if not found[field.name] > 0:
                raise ValueError(f"{name} is {text!r}; it takes a number greater than 0.")
        return cls(**found)  # type: ignore[arg-type]


class Rates:
    """A bucket of requests for each key, filled at a steady rate. One process's own."""

    def __init__(self, per_s: float, burst: int) -> None:
        self._per_s, self._burst = per_s, burst
        self._left: dict[str, tuple[float, float]] = {}
        self._lock = threading.Lock()

    def take(self, key: str) -> tuple[float, float]:
        """Take one request out of a key's bucket: 0, or the seconds until there is one; and how
        many are left."""
        now = time.monotonic()
        with self._lock:
            if len(self._left) > FORGET_AT:
                self._left.clear()
            left, seen = self._left.get(key, (float(self._burst), now))
            left = min(float(self._burst), left + (now - seen) * self._per_s)
            taken = left >= 1
            self._left[key] = (left - taken, now)
        return (0.0, left - 1) if taken else ((1 - left) / self._per_s, left)

    @property
    def policy(self) -> str:
        """The limit as a header tells it: the quota, and the seconds in which it comes back."""
        return f'"key";q={self._burst};w={math.ceil(self._burst / self._per_s)}'

    def told(self, left: float) -> str:
        """What is left as a header tells it, and the seconds until all of it is back."""
        return f'"key";r={int(left)};t={math.ceil((self._burst - left) / self._per_s)}'
