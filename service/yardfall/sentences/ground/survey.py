"""The ground along a route."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "closure_source": "third order, 12 mm·√km (FGCC 1984), or the instrument's own reading error, "
    "1/16 in a sight, or half the last digit of every reading (both common practice, no source), "
    "whichever is largest",
}
