"""Whose a kept thing is. Every table of kept things has an `owner` column and asks here."""

from __future__ import annotations

import re
from typing import Final

from sqlalchemy import ColumnElement, Table, true

LOCAL: Final = "local"
"""The one user of a service without keys."""
SHARED: Final = "shared"
"""Read by everybody, changed by nobody: the demo yard."""
Owner = str | None
"""An owner's name; None is whoever holds the data directory itself (the command line)."""

_ID: Final = re.compile("[0-9a-f]{32}")


def is_id(text: str) -> bool:
    """Whether a text has the form of our ids; no other text is looked up."""
    return _ID.fullmatch(text) is not None


def readable(table: Table, owner: Owner) -> ColumnElement[bool]:
    """Rows that an owner may read."""
    return true() if owner is None else table.c.owner.in_((owner, SHARED))


def owned(table: Table, owner: Owner) -> ColumnElement[bool]:
    """Rows that an owner may change."""
    return true() if owner is None else table.c.owner == owner


def clean_name(text: str, most: int, otherwise: str) -> str:
    """A name without what does not belong in one: control characters, halves of characters."""
    kept = "".join(c for c in text if c.isprintable())
    return kept[:most].strip() or otherwise
