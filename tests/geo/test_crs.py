"""Route lengths against pyproj.Geod and shapely."""

from __future__ import annotations

import numpy as np
import pyproj
import pytest
from shapely.geometry import LineString

from yardfall.core.errors import InputError
from yardfall.geo.crs import find_crs, leg_lengths_m


def test_longitude_and_latitude_are_measured_on_the_ellipsoid() -> None:
    line = [(-93.90, 46.50), (-93.8993, 46.50), (-93.8993, 46.5005)]
    legs = leg_lengths_m(np.array(line), find_crs("OGC:CRS84"), 1.0)
    whole = pyproj.Geod(ellps="WGS84").geometry_length(LineString(line))
    assert legs.sum() == pytest.approx(whole, abs=1e-9)
    # At 46.5° N a degree of longitude is 76.8 km, of latitude 111 km.
    assert legs / [0.0007, 0.0005] == pytest.approx([76_800, 111_000], rel=2e-3)


def test_a_local_plan_is_a_plane() -> None:
    line = [(0, 0), (30, 40), (30, 100)]
    legs = leg_lengths_m(np.array(line, dtype=float), None, 0.3048)
    assert legs.sum() == pytest.approx(LineString(line).length * 0.3048, abs=1e-9)


def test_a_map_scale_that_matters_is_taken_out() -> None:
    """Web Mercator stretches lengths by 1/cos(latitude): the true length is the geodesic."""
    lonlat = np.array([[-93.9, 46.5], [-93.899, 46.5]])
    to = pyproj.Transformer.from_crs(4326, 3857, always_xy=True)
    xy = np.column_stack(to.transform(lonlat[:, 0], lonlat[:, 1]))
    legs = leg_lengths_m(xy, find_crs("EPSG:3857"), 1.0)
    true = pyproj.Geod(ellps="WGS84").inv(*lonlat[0], *lonlat[1])[2]
    assert legs[0] == pytest.approx(true, rel=1e-9)


def test_at_the_edge_of_a_utm_zone_one_in_a_thousand_is_taken_out() -> None:
    """UTM's scale is 0.9996 on the central meridian (Snyder, USGS PP 1395): 1 in 2,500."""
    xy = np.array([[500000.0, 5000000.0], [500100.0, 5000000.0]])
    assert leg_lengths_m(xy, find_crs("EPSG:26915"), 1.0)[0] == pytest.approx(
        100 / 0.9996, abs=1e-4
    )


def test_a_small_scale_error_is_left_alone() -> None:
    """Where the scale is true to 1 in 10,000 the plane length stands. 180 km from the meridian
    UTM's scale is about 1."""
    xy = np.array([[680000.0, 5000000.0], [680100.0, 5000000.0]])
    assert leg_lengths_m(xy, find_crs("EPSG:26915"), 1.0)[0] == 100.0


def test_feet_of_a_state_plane() -> None:
    """EPSG:2264 (North Carolina) counts US survey feet."""
    xy = np.array([[1_300_000.0, 650_000.0], [1_300_100.0, 650_000.0]])
    length = leg_lengths_m(xy, find_crs("EPSG:2264"), 1.0)[0]
    assert length == pytest.approx(100 * 1200 / 3937, rel=3e-4)


@pytest.mark.parametrize(
    "name",
    ["EPSG:4326", "EPSG:99999", "+proj=utm +zone=15", "http://127.0.0.1/x", "EPSG:26915x", ""],
)
def test_no_other_text_is_a_coordinate_system(name: str) -> None:
    with pytest.raises(InputError) as caught:
        find_crs(name)
    assert caught.value.problems[0].pointer == "/crs"


def test_latitude_first_is_caught() -> None:
    with pytest.raises(InputError, match="in that order"):
        leg_lengths_m(np.array([[46.5, -93.9], [46.5, -93.8]]), find_crs("OGC:CRS84"), 1.0)
