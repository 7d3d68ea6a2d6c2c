"""Tables of texts, which every paper lays out in its own way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal["word", "figure", "mark", "blank"]


@dataclass(frozen=True)
class Column:
    """A column: its heading, what is under it in units, what kind of thing it holds, and its
    share of the width where that is not its kind's."""

    head: str
    unit: str = ""
    kind: Kind = "figure"
    share: float = 0.0


@dataclass(frozen=True)
class Table:
    """Rows of texts under columns."""

    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...] = ()
