"""Where a concave function first reaches zero."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

ROOT_STEPS: Final = 40
ROOT_M: Final = 1e-10


def first_that_works(
    margin: Callable[[float], float],
    least: float,
    most: float,
    close: float = ROOT_M,
    steps: int = ROOT_STEPS,
    *,
    rises: bool = False,
) -> float | None:
    """The smallest x in [least, most] with margin(x) ≥ 0, to within `close`; None without one.

    The margin is concave, so it crosses zero once before its top. False position with the
    Illinois change of weight; the answer is always on the working side. `rises`: it never falls,
    so that the far end tells whether any x works.
    """
    low, high = least, most
    f_high = margin(high)
    if rises and f_high < 0:
        return None
    f_low = margin(low)
    if f_low >= 0:
        return low
    if f_high < 0 and most - least <= close:
        return None
    if f_high <= close and not rises:  # at zero it may as well be where the margin ends as begins
        top = _top(margin, least, most, f_low, f_high, steps)
        if top is not None:
            high, f_high = top
        elif f_high < 0:
            return None
    for _ in range(steps):
        if high - low <= close:
            break
        x = high - f_high * (high - low) / (f_high - f_low)
        if not low < x < high:
            x = (low + high) / 2
        f = margin(x)
        if f >= 0:
            high, f_high, f_low = x, f, f_low / 2
        else:
            low, f_low, f_high = x, f, f_high / 2
        if 0 <= f <= close / 10:
            break
    return high


def _top(
    margin: Callable[[float], float],
    least: float,
    most: float,
    f_least: float,
    f_most: float,
    steps: int,
) -> tuple[float, float] | None:
    """A point where a concave margin, negative at both ends, is not negative; or None.

    Golden section; a concave function stays below the line through two of its points beyond
    them, which tells early when the top cannot reach zero.
    """
    golden = (5**0.5 - 1) / 2
    a, f_a, b, f_b = least, f_least, most, f_most
    c, d = b - golden * (b - a), a + golden * (b - a)
    f_c, f_d = margin(c), margin(d)
    for _ in range(steps):
        if f_c >= 0:
            return c, f_c
        if f_d >= 0:
            return d, f_d
        rise, fall = (f_c - f_a) / (c - a), (f_b - f_d) / (b - d)
        if max(f_c + max(rise, 0) * (b - c), f_d + max(-fall, 0) * (d - a)) < 0:
            return None
        if f_c < f_d:
            a, f_a, c, f_c = c, f_c, d, f_d
            d = a + golden * (b - a)
            f_d = margin(d)
        else:
            b, f_b, d, f_d = d, f_d, c, f_c
            c = b - golden * (b - a)
            f_c = margin(c)
        if b - a <= ROOT_M:
            return None
    return None
