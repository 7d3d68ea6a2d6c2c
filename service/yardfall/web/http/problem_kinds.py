"""Kinds of problem, each with a page that says what to do, and the codes of single faults."""

from __future__ import annotations

import re
from typing import Final

from yardfall.core.errors import FileRefusedError, KeyUsedError, OutOfTimeError, YardfallError

PROBLEMS: Final = "/problems"
"""Where the pages of the kinds stand. A kind's name never changes within v1."""
BY_STATUS: Final = {
    400: "not-readable",
    401: "key-needed",
    403: "not-allowed",
    404: "not-there",
    405: "wrong-method",
    409: "still-running",
    412: "saved-meanwhile",
    413: "too-large",
    415: "wrong-content-type",
    422: "cannot-be-computed",
    428: "if-match-needed",
    429: "too-many-requests",
    500: "fault-of-ours",
    503: "try-again",
    507: "disk-full",
}
KINDS: Final[dict[type[YardfallError], str]] = {
    FileRefusedError: "file-refused",
    KeyUsedError: "key-used-before",
    OutOfTimeError: "out-of-time",
}
"""Those of another kind than their status has."""
ALL: Final = (*BY_STATUS.values(), *KINDS.values())
CODES: Final = (
    ("unknown_field", r"Unknown field\."),
    ("missing", r"Missing data for required field\."),
    ("null", r"Field may not be null\."),
    ("not_among", r"This must be one of |There is no such pipe|Must be one of"),
    ("out_of_range", r"This must be (at least|at most|greater than|\d+ to )|Number too large"),
    ("wrong_length", r"This takes |At most |A point has |Give \[|Give two "),
    ("wrong_form", r"Give exactly one of "),
    ("wrong_type", r"Invalid |Not a valid |This must be "),
)
"""The kinds of fault that a schema finds, by how its own sentence begins."""
_CODES: Final = tuple((code, re.compile(begins)) for code, begins in CODES)


def kind_of(status: int) -> str:
    """The usual kind of a status."""
    return BY_STATUS.get(status) or BY_STATUS[500 if status >= 500 else 400]


def code_of(*said: str) -> str:
    """The code of what a schema says of a fault: what it is by its form, else by its content."""
    for code, begins in _CODES:
        if any(begins.match(text) for text in said):
            return code
    return "cannot_be_computed"
