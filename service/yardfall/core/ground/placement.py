"""Where a picture of a site plan lies on the plan's own plane.

A picture point is (u, v) in pixels from the upper left corner, u to the right and v down. A plan
point is (x, y) in metres, x to the right and y up. Between them stands a similarity, that is one
scale, one turn and one shift and nothing else:

    x = s ( (u - u0) cos t + (v0 - v) sin t)
    y = s (-(u - u0) sin t + (v0 - v) cos t)

with s in metres per pixel, t the clockwise turn, (u0, v0) the picture point at the plan's origin.
A similarity keeps angles, which is what lets one known distance set the scale everywhere; on a
photo taken from aslant no such thing holds, and no scale can be had from two points.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from yardfall.core.arrays import Floats
from yardfall.core.errors import InputError

LEAST_SPAN_PX: Final = 10.0
"""Two points closer than this set no scale: a click is only good to a pixel or so."""

Pixel = tuple[float, float]


@dataclass(frozen=True)
class MapTie:
    """Where the plan's origin lies in a coordinate system: its name, and x, y in it."""

    crs: str
    origin: tuple[float, float]


@dataclass(frozen=True)
class Placement:
    """Two picture points a known distance apart, and how the picture is laid on the plan.

    `turn_deg` is how far the picture is turned, clockwise; `north_deg` the direction of north on
    the picture, clockwise from its upper edge; `origin` the picture point at the plan's 0, 0.
    """

    points: tuple[Pixel, Pixel]
    distance_m: float
    origin: Pixel
    turn_deg: float = 0.0
    north_deg: float | None = None
    on_map: MapTie | None = None

    @property
    def span_px(self) -> float:
        """Pixels between the two points."""
        return math.dist(*self.points)

    @property
    def metres_per_pixel(self) -> float:
        """The scale."""
        return self.distance_m / self.span_px

    @property
    def click_error_percent(self) -> float:
        """How far off every length is when one of the two points was set a pixel off."""
        return 100 / self.span_px

    @property
    def north_on_plan_deg(self) -> float | None:
        """Direction of north on the plan, clockwise from its y axis, from 0 to 360."""
        return None if self.north_deg is None else (self.north_deg + self.turn_deg) % 360

    @property
    def coefficients(self) -> tuple[float, float, float, float, float, float]:
        """(a, b, c, d, e, f): x = a u + b v + c and y = d u + e v + f, in metres."""
        turn = math.radians(self.turn_deg)
        a, b = self.metres_per_pixel * math.cos(turn), -self.metres_per_pixel * math.sin(turn)
        (u0, v0), d, e = self.origin, b, -a
        return a, b, -(a * u0 + b * v0), d, e, -(d * u0 + e * v0)

    def to_plan(self, uv: Floats) -> Floats:
        """Plan points (n, 2) in metres of picture points (n, 2)."""
        a, b, c, d, e, f = self.coefficients
        return uv @ np.array([[a, d], [b, e]]) + np.array([c, f])

    def to_picture(self, xy_m: Floats) -> Floats:
        """Picture points (n, 2) of plan points (n, 2) in metres."""
        a, b, _, d, e, _ = self.coefficients
        shrink = 1 / self.metres_per_pixel**2  # the inverse of a similarity is its transpose / s²
        return xy_m @ (np.array([[a, b], [d, e]]) * shrink) + np.array(self.origin)

    def corners_m(self, width_px: float, height_px: float) -> Floats:
        """Plan points (4, 2) of the corners: upper left, upper right, lower right, lower left."""
        w, h = width_px, height_px
        return self.to_plan(np.array([[0, 0], [w, 0], [w, h], [0, h]], dtype=np.float64))


def check_placement(placement: Placement, width_px: int, height_px: int) -> None:
    """Raise InputError where the points are not on the picture, or too near to set a scale."""
    for i, (u, v) in enumerate(placement.points):
        if not (0 <= u <= width_px and 0 <= v <= height_px):
            raise InputError.at(
                f"/scale/points/{i}",
                f"This point is not on the picture, which is {width_px} by {height_px} pixels.",
            )
    if placement.span_px < LEAST_SPAN_PX:
        raise InputError.at(
            "/scale/points",
            f"The two points are {placement.span_px:.1f} pixels apart, too near to set a scale. "
            "Take two that are far apart and whose distance you know.",
        )
    if placement.on_map is not None and placement.north_deg is None:
        raise InputError.at(
            "/north", "To lay the plan on a map, say where north is on the picture."
        )
