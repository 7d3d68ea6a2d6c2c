"""Layers for map programs: GeoJSON by RFC 7946, and a GeoPackage that geopandas reads back."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from pathlib import Path

import geopandas
import numpy as np
import pyogrio
import pyproj
import pytest


@pytest.fixture
def package(take, tmp_path: Path) -> Callable[[dict], Path]:
    """The GeoPackage of a request as a file."""

    def call(request: dict) -> Path:
        path = tmp_path / "plan.gpkg"
        path.write_bytes(take("plan.gpkg", request).data)
        return path

    return call


def test_a_geopackage_has_the_plan_and_its_system(package, planned, drawn_request) -> None:
    answer = planned(drawn_request)
    path = package(drawn_request)
    layers = {str(name) for name, _ in pyogrio.list_layers(path)}
    assert layers == {"route", "stations", "inlets", "outlet", "crossings"}
    stations = geopandas.read_file(path, layer="stations")
    assert stations.crs.to_epsg() == 26915
    every = [*answer["stations"], *answer["branches"][0]["stations"]]
    assert len(stations) == len(every)
    for row, s in zip(stations.itertuples(), every, strict=True):
        assert (row.geometry.x, row.geometry.y) == (s["x"], s["y"])
        assert (row.station, row.dig_depth, row.cover) == (s["label"], s["dig_depth"], s["cover"])
        assert (row.ground, row.invert) == (s["ground"], s["invert"])
    route = geopandas.read_file(path, layer="route")
    assert list(route["line"]) == ["Main line", "East wing"]
    # The main line's length on the plane, in ft, is the plan's (UTM scale within 1 in 2,500).
    assert route.geometry[0].length / 0.3048 == pytest.approx(answer["length"], rel=4e-4)
    assert list(geopandas.read_file(path, layer="crossings")["what"]) == ["gas line"]
    assert set(geopandas.read_file(path, layer="inlets")["name"]) == {"start", "sump"}


HOUSE = [[512000.0, 4705032.0], [512008.0, 4705032.0], [512008.0, 4705038.0], [512000.0, 4705038.0]]


def test_the_lot_and_the_areas_are_layers_of_both(take, package, drawn_request) -> None:
    """As RFC 7946 has it an area's outer ring runs against the clock."""
    ring = [*HOUSE, HOUSE[0]]
    lot = {"type": "Polygon", "coordinates": [ring[::-1]]}
    septic = {
        "type": "Feature",
        "properties": {"name": "Septic", "clearance": 5},
        "geometry": {"type": "Polygon", "coordinates": [ring]},
    }
    pole = {"type": "Point", "coordinates": HOUSE[2]}
    request = drawn_request | {"paper": {"within": lot, "avoid": septic, "fixed": pole}}
    path = package(request)
    layers = {str(name) for name, _ in pyogrio.list_layers(path)}
    assert layers >= {"lot", "avoid", "fixed"}
    avoid = geopandas.read_file(path, layer="avoid")
    assert (avoid["name"][0], avoid["clearance"][0], avoid.crs.to_epsg()) == ("Septic", 5, 26915)
    assert avoid.geometry[0].area == pytest.approx(48)
    plan = json.loads(take("plan.geojson", request).data)
    shapes = {f["properties"]["layer"]: f["geometry"] for f in plan["features"]}
    there = pyproj.Transformer.from_crs("EPSG:26915", "OGC:CRS84", always_xy=True)
    for layer in ("lot", "avoid"):
        (outer,) = shapes[layer]["coordinates"]
        x, y = np.array(outer).T
        assert (x[:-1] * y[1:] - x[1:] * y[:-1]).sum() > 0
        assert {tuple(np.round(there.transform(*p), 8)) for p in HOUSE} == set(map(tuple, outer))
    assert shapes["fixed"]["coordinates"] == pytest.approx(there.transform(*HOUSE[2]), abs=1e-8)


def test_a_geojson_lies_on_wgs_84(take, planned, drawn_request) -> None:
    answer = planned(drawn_request)
    response = take("plan.geojson", drawn_request)
    assert response.mimetype == "application/geo+json"
    plan = json.loads(response.data)
    assert "crs" not in plan
    stations = [f for f in plan["features"] if f["properties"]["layer"] == "stations"]
    main = stations[: len(answer["stations"])]
    there = pyproj.Transformer.from_crs("EPSG:26915", "OGC:CRS84", always_xy=True)
    for feature, s in zip(main, answer["stations"], strict=True):
        lon, lat = feature["geometry"]["coordinates"]
        assert (lon, lat) == pytest.approx(there.transform(s["x"], s["y"]), abs=1e-8)
        assert feature["properties"]["dig_depth"] == s["dig_depth"]
    geod = pyproj.Geod(ellps="WGS84")
    line = np.array(plan["features"][0]["geometry"]["coordinates"])
    assert geod.line_length(*line.T) / 0.3048 == pytest.approx(answer["length"], rel=4e-4)
    frame = geopandas.read_file(io.BytesIO(response.data))
    assert frame.crs.to_epsg() == 4326
    assert len(frame) == len(plan["features"])


def local(request: dict) -> dict:
    """The request on a site plan, in ft, on spots."""
    return request | {
        "route": {
            "line": {"type": "LineString", "coordinates": [[0, 0], [30, 0], [30, 22]]},
            "crs": "local",
        },
        "ground": {
            "kind": "spots",
            "points": [[-5, -5, 100], [40, -5, 99.5], [40, 40, 98], [-5, 40, 98.8]],
        },
        "accuracy": {"sigma": 0.1},
    }


def test_a_site_plan_keeps_its_own_system(take, package, planned, yard_request) -> None:
    request = local(yard_request)
    answer = planned(request)
    stations = geopandas.read_file(package(request), layer="stations")
    assert not stations.crs.is_geographic
    assert stations.crs.axis_info[0].unit_name == "foot"
    assert list(stations.geometry.x) == [s["x"] for s in answer["stations"]]
    plan = json.loads(take("plan.geojson", request).data)
    assert all(f["geometry"] is None for f in plan["features"])
    assert "plan.gpkg" in plan["note"]
    assert plan["features"][1]["properties"]["x"] == 0


def test_a_taped_run_has_tables_without_shapes(take, package, planned, yard_request) -> None:
    answer = planned(yard_request)
    table = pyogrio.read_dataframe(package(yard_request), layer="stations")
    assert not isinstance(table, geopandas.GeoDataFrame)
    assert list(table["dig_depth"]) == [s["dig_depth"] for s in answer["stations"]]
    plan = json.loads(take("plan.geojson", yard_request).data)
    assert all(f["geometry"] is None for f in plan["features"])
