"""A plot of our own as a site plan: its picture, and where its points lie when it is turned."""

from __future__ import annotations

import io
import math
from typing import Any

from PIL import Image, ImageDraw

TURN = math.radians(25)
PLOT_PX = (900, 600)


def on_plan(u: float, v: float) -> list[float]:
    """Where a point of the plot's picture lies on its plan, ft: 0.1 ft a pixel, turned clockwise
    about its lower left corner. The textbook rotation, written out anew."""
    right, up = u / 10, (PLOT_PX[1] - v) / 10
    cos, sin = math.cos(TURN), math.sin(TURN)
    return [right * cos + up * sin, up * cos - right * sin]


def feature(kind: str, coordinates: list, **properties: Any) -> dict[str, Any]:
    """A GeoJSON Feature."""
    geometry = {"type": kind, "coordinates": coordinates}
    return {"type": "Feature", "geometry": geometry, "properties": properties}


def box(left: float, top: float, right: float, bottom: float) -> list:
    """A rectangle of the plot's picture as the rings of a polygon on the plan, ft."""
    corners = ((left, top), (right, top), (right, bottom), (left, bottom), (left, top))
    return [[on_plan(u, v) for u, v in corners]]


def plot_file() -> io.BytesIO:
    """The plot as PNG, with a blue square of 40 pixels about (450, 150)."""
    sheet = Image.new("RGB", PLOT_PX, "white")
    pen = ImageDraw.Draw(sheet)
    pen.rectangle((2, 2, 897, 597), outline="black", width=3)
    pen.rectangle((430, 130, 469, 169), fill="blue")
    out = io.BytesIO()
    sheet.save(out, "PNG")
    return io.BytesIO(out.getvalue())
