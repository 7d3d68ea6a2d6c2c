"""A condition that a yes stands on, as it is told."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True)
class Said:
    """A condition as it is told; `clause` follows "Yes, if", None: it asks for more than the fall.

    `accepts` states what was taken, `insists` the usual value: JSON merge patches (RFC 7396) of
    the request.
    """

    code: str
    pointer: str
    text: str
    clause: str | None
    usual: float | str | None = None
    taken: float | str | None = None
    from_m: float | None = None
    to_m: float | None = None
    accepts: dict[str, Any] = field(default_factory=dict)
    insists: dict[str, Any] = field(default_factory=dict)
