"""Every compiled loop, made ready before a caller needs it."""

from __future__ import annotations

from yardfall.core import (
    band,
    earthwork,
    knots,
    many_grounds,
    marks,
    route,
    stations,
    straight,
    way,
)


def warm() -> None:
    """Compile the loops, or load what was compiled before; in a background thread at start."""
    for module in (route, band, straight, stations, marks, earthwork, many_grounds, knots, way):
        module.warm()
