"""A line of 60 ft of one straight grade to a pop-up, on ground read at even stations."""

from __future__ import annotations

from typing import Any

import numpy as np


def sixty_feet(elevations_ft: list[float], accuracy: dict[str, Any]) -> dict[str, Any]:
    at = np.linspace(0, 60, len(elevations_ft))
    points = [{"at": float(x), "elevation": z} for x, z in zip(at, elevations_ft, strict=True)]
    return {
        "units": "us",
        "route": {"length": 60},
        "ground": {"kind": "elevations", "points": points},
        "pipe": {"code": "pvc-sdr35-4"},
        "start": {"cover": 9},
        "grade": {"min_percent": 1, "shape": "straight"},
        "limits": {"min_cover": 6, "max_depth": 30, "outlet_taper": 8},
        "outlet": {"kind": "pop_up", "depth": {"min": 6, "max": 12}},
        "accuracy": accuracy,
    }
