"""What must be said where a usual value gave way."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {}
