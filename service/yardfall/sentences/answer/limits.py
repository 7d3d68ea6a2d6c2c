"""The limits of an answer in words: what the contract calls them stays as it is sent.

`frontend/model/wording/limits.js` holds the same table for the page; a test holds them together.
"""

from __future__ import annotations

from typing import Final

LIMIT_WORDS: Final = {
    "least cover": "minimum cover",
    "greatest depth": "maximum depth",
    "ground surface": "ground surface",
    "start cover": "cover at the start",
    "start depth": "depth at the start",
    "start invert": "invert at the start",
    "outlet depth": "depth at the outlet",
    "outlet invert": "invert at the outlet",
}


def limit_words(limit: str) -> str:
    """A limit as people read it; a crossing or a branch goes by its own name."""
    return LIMIT_WORDS.get(limit, limit)
