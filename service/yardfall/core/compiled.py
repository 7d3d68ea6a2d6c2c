"""Every compiled loop, made ready before a caller needs it."""

from __future__ import annotations

from yardfall.core import (
    band,
    doubts,
    earthwork,
    knots,
    many_grounds,
    marks,
    route,
    stations,
    straight,
    trench,
    way,
)

MODULES = (
    route, trench, band, straight, stations, marks, earthwork, doubts, many_grounds, knots, way,
)  # fmt: skip


def warm() -> None:
    """Compile the loops, or load what was compiled before; in a background thread at start."""
    for module in MODULES:
        module.warm()
