"""The service's state for JSON."""

from __future__ import annotations

from typing import Any

from yardfall import __version__
from yardfall.store.health import PARTS


def health_answer(broken: dict[str, str], *, getting_ready: bool) -> dict[str, Any]:
    """`broken` is a sentence by part, empty when all is well; `getting_ready`: loops compile."""
    return {
        "status": "failing" if broken else "ok",
        "version": __version__,
        "depends_on": {part: "failing" if part in broken else "ok" for part in (*PARTS, "sums")},
        "broken": list(broken.values()),
        "getting_ready": getting_ready,
    }
