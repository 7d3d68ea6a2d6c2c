"""A request of each call to try, for the reference page. A yard of our own invention."""

from __future__ import annotations

from typing import Any, Final

_GROUND: Final[dict[str, Any]] = {
    "units": "us",
    "route": {"length": 52},
    "ground": {
        "kind": "level_line",
        "readings": [
            {"at": 0, "down": 9},
            {"at": 13, "down": 10.5},
            {"at": 26, "down": 9.5},
            {"at": 39, "down": 14},
            {"at": 52, "down": 22},
        ],
    },
    "stations": {"every": 13},
}
PROFILE: Final = _GROUND
PLAN: Final[dict[str, Any]] = _GROUND | {
    "pipe": {"code": "corrugated-single-4"},
    "start": {"cover": 8},
    "grade": {"min_percent": 1.25, "fall_step": 1},
    "limits": {"min_cover": 6, "max_depth": 36, "outlet_taper": 13},
    "outlet": {"kind": "pop_up", "depth": {"min": 7, "max": 10}},
}
REACH: Final[dict[str, Any]] = {
    "units": "si",
    "crs": "local",
    "ground": {
        "kind": "spots",
        "points": [
            [0, 0, 10.0],
            [12, 0, 9.99],
            [24, 0, 10.0],
            [0, 10, 9.8],
            [12, 10, 9.78],
            [24, 10, 9.82],
            [0, 24, 8.9],
            [12, 24, 9.0],
            [24, 24, 9.6],
        ],
    },
    "start": {"point": [12, 1], "cover": 200},
    "pipe": {"code": "corrugated-single-4"},
    "outlet": {"kind": "daylight"},
    "within": {
        "type": "Polygon",
        "coordinates": [[[0, 0], [24, 0], [24, 24], [0, 24], [0, 0]]],
    },
    "avoid": {
        "type": "Feature",
        "geometry": {
            "type": "Polygon",
            "coordinates": [[[9, 8], [16, 8], [16, 14], [9, 14], [9, 8]]],
        },
        "properties": {"name": "Patio", "clearance": 0.5},
    },
    "ask": [[2, 23]],
}
PAPER: Final[dict[str, Any]] = PLAN | {
    "route": {"line": {"type": "LineString", "coordinates": [[6, 30], [54, 10]]}, "crs": "local"},
    "paper": {
        "title": "Downspout to the low corner",
        "place": "Back yard",
        "page": "letter",
        "within": {
            "type": "Polygon",
            "coordinates": [[[0, 0], [60, 0], [60, 40], [0, 40], [0, 0]]],
        },
        "avoid": {
            "type": "Feature",
            "geometry": {
                "type": "Polygon",
                "coordinates": [[[14, 6], [28, 6], [28, 14], [14, 14], [14, 6]]],
            },
            "properties": {"name": "Patio", "clearance": 2},
        },
    },
}
FLOW: Final[dict[str, Any]] = {
    "units": "us",
    "pipe": {"code": "pvc-sdr35-4"},
    "grade": {"percent": 1.0},
    "inflows": [
        {"kind": "roof", "area": 400, "rain_rate": 5, "duration": 5},
        {"kind": "pump", "rate": 30},
    ],
}
GRADE_CHECK: Final[dict[str, Any]] = {
    "plan": PLAN,
    "as_dug": [
        {"at": 52, "line_to_bottom": 29.5},
        {"at": 39, "line_to_bottom": 27.5},
        {"at": 26, "line_to_bottom": 25},
    ],
}
PIPE_CHECK: Final[dict[str, Any]] = {
    "units": "us",
    "pipe": {"code": "corrugated-single-4"},
    "accuracy": {"instrument": "water_level"},
    "height": 100,
    "points": [
        {"at": 0, "down": 20},
        {"at": 15, "down": 22.5},
        {"at": 30, "down": 26.5, "on": "invert"},
        {"at": 45, "down": 25},
        {"at": 60, "down": 29.5, "fixed": True},
    ],
}
COMPARE: Final[dict[str, Any]] = {
    "plans": [
        {"name": "corrugated to a pop-up", "plan": PLAN},
        {
            "name": "smooth pipe to daylight",
            "plan": PLAN
            | {
                "pipe": {"code": "pvc-sdr35-4"},
                "grade": {"min_percent": 1.0},
                "outlet": {"kind": "daylight"},
            },
        },
    ]
}
