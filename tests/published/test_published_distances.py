"""Lengths on the earth as a survey authority printed them."""

from __future__ import annotations

import numpy as np
import pyproj
import pytest

from yardfall.geo.crs import leg_lengths_m


def degrees(d: int, m: int, s: float) -> float:
    return (abs(d) + m / 60 + s / 3600) * (-1 if d < 0 else 1)


FLINDERS_PEAK = (degrees(144, 25, 29.52440), degrees(-37, 57, 3.72030))
BUNINYONG = (degrees(143, 55, 35.38390), degrees(-37, 39, 10.15610))


def test_from_flinders_peak_to_buninyong() -> None:
    """Geocentric Datum of Australia, Technical Manual, chapter 4, test data (from memory): GRS80,
    the ellipsoidal distance is 54,972.271 m."""
    line = np.array([FLINDERS_PEAK, BUNINYONG])
    (length_m,) = leg_lengths_m(line, pyproj.CRS("EPSG:4283"), 1.0)
    assert length_m == pytest.approx(54972.271, abs=5e-4)


def test_the_same_line_on_the_grid() -> None:
    """The same manual, chapter 5 (from memory): zone 55, 273741.297 E 5796489.777 N to 228854.051 E
    5828259.038 N. On the plane that is 54,992.279 m; on the ellipsoid 54,972.271, which counts."""
    line = np.array([[273741.297, 5796489.777], [228854.051, 5828259.038]])
    assert float(np.hypot(*(line[1] - line[0]))) == pytest.approx(54992.279, abs=2e-3)
    (length_m,) = leg_lengths_m(line, pyproj.CRS("EPSG:28355"), 1.0)
    assert length_m == pytest.approx(54972.271, rel=2e-6)
