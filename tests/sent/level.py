"""Level ground and a drain along it that is asked for no fall."""

from __future__ import annotations

from typing import Any


def level(**changes: Any) -> dict[str, Any]:
    """20 ft of level ground to a dry well, no fall asked."""
    return {
        "units": "us",
        "route": {"length": 20},
        "ground": {
            "kind": "elevations",
            "points": [{"at": x, "elevation": 9} for x in (0, 10, 20)],
        },
        "pipe": {"code": "pvc-sdr35-4"},
        "start": {"depth": 20},
        "grade": {"min_percent": 0},
        "outlet": {"kind": "dry_well"},
    } | changes
