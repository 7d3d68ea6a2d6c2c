"""A value the caller left open. Defaults are told, never silent."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

COMMON: Final = "common practice, no source"


@dataclass(frozen=True)
class Assumption:
    """A value the caller left open, and what was taken for it; `quantity` names its unit."""

    pointer: str
    value: float
    quantity: str
    text: str
    source: str
