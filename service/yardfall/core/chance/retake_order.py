"""Which of several readings to take again first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

ALIKE: Final = 0.01
"""Readings that settle the answer so much less often than another settle it as often: the draws
tell no finer."""


def in_order(readings: Sequence[int], worth: Mapping[int, tuple[float, float]]) -> list[int]:
    """That first which settles most often; of those alike, that which moves the chance most.

    `worth`: how often each settles the answer, and the variance of the chance that it leaves.
    """
    left, found = list(readings), []
    while left:
        most = max(worth[k][0] for k in left)
        alike = [k for k in left if worth[k][0] >= most - ALIKE]
        found.append(max(alike, key=lambda k: worth[k][::-1]))
        left.remove(found[-1])
    return found
