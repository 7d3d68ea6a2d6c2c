"""What is told beside an answer: a code, where it points, its numbers."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Remark:
    """A warning: stable code, pointer to the field it is about, and values for the sentence."""

    code: str
    pointer: str
    values: dict[str, float | str] = field(default_factory=dict)
