"""An area of thousands of points, with a clearance: 10,000 once took 40 s and 5 GB."""

from __future__ import annotations

import numpy as np
import pytest
import rasterio
import shapely

from yardfall.geo import bounds
from yardfall.geo.geotiff import GDAL_OPTIONS


def area(ring: list) -> dict:
    return {"type": "Polygon", "coordinates": [ring]}


@pytest.mark.parametrize("clearance", [0.0, 2.0, 20.0])
@pytest.mark.parametrize("wave", [0.0, 0.1, 0.9])
def test_a_ring_of_ten_thousand_points(client, yard, ring, cost, clearance, wave) -> None:
    body = yard(avoid=area(ring(10_000, (85, 50), 8, wave)), clearance=clearance)
    with cost() as spent:
        answer = client.post("/api/v1/reach", json=body)
    assert answer.status_code == 200, answer.json
    assert spent.cpu_s < 2, "1 s on an idle machine"
    assert spent.grown_mib < 300


def test_a_line_that_crosses_itself_thousands_of_times(client, yard, cost) -> None:
    legs = np.random.default_rng(2).uniform(0, 100, (10_000, 2)).round(2).tolist()
    body = yard(avoid={"type": "LineString", "coordinates": legs}, clearance=0.1)
    client.post("/api/v1/reach", json=yard())  # what loads its loops first is no cost of this one
    # GDAL's settings as they stand while another call reads a raster: too small a cache cost 10 s
    with rasterio.Env(**GDAL_OPTIONS), cost() as spent:
        answer = client.post("/api/v1/reach", json=body)
    assert answer.status_code in (200, 422)
    assert spent.cpu_s < 3
    assert spent.grown_mib < 300


def test_what_is_shut_is_what_an_exact_clearance_shuts(client, yard, ring, monkeypatch) -> None:
    """Against shapely's own buffer: the same but for cells at the rim of the clearance."""
    body = yard(avoid=area(ring(1_000, (80, 50), 10, 0.05)), clearance=4.0, routes=0, draws=0)
    told = client.post("/api/v1/reach", json=body).json
    monkeypatch.setattr(bounds, "FEW_POINTS", 10_000)
    exact = client.post("/api/v1/reach", json=body).json

    def avoided(answer: dict) -> shapely.Geometry:
        found = [f for f in answer["areas"]["features"] if f["properties"]["kind"] == "avoided"]
        return shapely.union_all([shapely.geometry.shape(f["geometry"]) for f in found])

    ours, theirs = avoided(told), avoided(exact)
    assert theirs.area > 300
    assert ours.symmetric_difference(theirs).area < 0.05 * theirs.area
    assert ours.difference(theirs.buffer(0.8)).is_empty
    assert theirs.difference(ours.buffer(0.8)).is_empty
