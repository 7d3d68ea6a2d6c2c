"""What one save of a job keeps, and which JSON may be kept at all."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass, field
from typing import Any, Final

from yardfall.store.owners import is_id

MOST_DEPTH: Final = 40
MOST_WHOLE: Final = 2**63 - 1
"""Larger whole numbers no reader of JSON is bound to keep (RFC 8259, 6)."""


@dataclass(frozen=True)
class Content:
    """What one save keeps. `answer` is None where the request could not be computed.

    `sums` is the version of the code that computed it, `files` the ids of the rasters and site
    plans that the request and the form name, `problems` why there is no answer, `form` what a
    client's own form held, for the client alone.
    """

    name: str
    request: dict[str, Any]
    answer: dict[str, Any] | None
    sums: str
    verdict: str | None = None
    problems: list[dict[str, str]] = field(default_factory=list)
    files: frozenset[str] = frozenset()
    form: dict[str, Any] | None = None

    @property
    def size_bytes(self) -> int:
        """About what it takes to keep."""
        parts = (self.request, self.answer, self.problems, self.form)
        return sum(len(json.dumps(part)) for part in parts)


def is_plain(value: Any) -> bool:
    """Whether a JSON value may be kept: 64-bit numbers, text that is text, nested to MOST_DEPTH."""
    level = [value]
    for _ in range(MOST_DEPTH):
        level = [
            inner
            for outer in level
            if isinstance(outer, dict | list)
            for inner in ((*outer, *outer.values()) if isinstance(outer, dict) else outer)
        ]
        if not all(map(_is_plain_value, level)):
            return False
    return not level


def is_text(value: str) -> bool:
    """Whether it can be written in UTF-8: half of a surrogate pair cannot."""
    return value.isascii() or not any("\ud800" <= letter <= "\udfff" for letter in value)


def _is_plain_value(value: Any) -> bool:
    if isinstance(value, str):
        return is_text(value)
    if isinstance(value, int):
        return -MOST_WHOLE - 1 <= value <= MOST_WHOLE
    return not isinstance(value, float) or math.isfinite(value)


def files_named(value: Any) -> frozenset[str]:
    """Ids of kept files anywhere in a JSON value, names of members included."""
    if isinstance(value, dict | list):
        inner = (*value, *value.values()) if isinstance(value, dict) else value
        return frozenset(key for part in inner for key in files_named(part))
    return frozenset((value,)) if isinstance(value, str) and is_id(value) else frozenset()
