"""The bill of quantities as rows of a table, whatever parts it has."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from yardfall.core.units import plain_number


def quantity_table(quantities: Any) -> list[tuple[str, str]]:
    """Rows of what and how much, from the `quantities` of an answer."""
    return list(_rows("", quantities))


def _rows(name: str, value: Any) -> list[tuple[str, str]]:
    if isinstance(value, Mapping):
        return [row for key, part in value.items() for row in _rows(_joined(name, key), part)]
    if isinstance(value, list):
        return [row for part in value for row in _rows(name, part)]
    if value is None or value == "" or isinstance(value, bool):
        return []
    return [(name, plain_number(value, 2) if isinstance(value, int | float) else str(value))]


def _joined(name: str, key: str) -> str:
    words = key.replace("_", " ")
    return f"{name}, {words}" if name else words.capitalize()
