"""A branch from a patio's grate, for plans on the five readings of the contract's example."""

from __future__ import annotations

from typing import Any


def patio(join_down_in: float, **more: Any) -> dict[str, Any]:
    """10 ft to a join at 39 ft; its ground lies 9 in and so many inches below its own string."""
    readings = [{"at": 0, "down": 9}, {"at": 10, "down": join_down_in}]
    return {
        "name": "patio",
        "joins_at": 39,
        "route": {"length": 10},
        "ground": {"kind": "level_line", "readings": readings},
        "pipe": {"code": "corrugated-single-4"},
        "start": {"cover": 6},
    } | more
