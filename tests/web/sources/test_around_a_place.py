"""GET /sources, /ground and /lots: what the named sources have at a place."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pyproj
import pytest
import rasterio
import shapely
from flask.testing import FlaskClient
from scipy.ndimage import map_coordinates
from tiles import CRS, EMPTY, NORTH, SIZE, WEST, write

TO_MAP = pyproj.Transformer.from_crs(CRS, "OGC:CRS84", always_xy=True)


def place(x: float, y: float) -> dict[str, float]:
    """A place of the tiles' grid, as it is asked for."""
    lon, lat = TO_MAP.transform(WEST + x, NORTH - y)
    return {"lon": lon, "lat": lat}


@pytest.fixture
def get(client: FlaskClient, conforms) -> Callable[..., Any]:
    """An answer that keeps to the contract."""

    def call(path: str, **query: Any) -> Any:
        answer = client.get(f"/api/v1{path}", query_string=query)
        assert answer.status_code == 200, answer.text
        conforms(f"GET {path}", answer)
        return answer.json

    return call


def outline(x: float, y: float, wide: float, tall: float) -> list[list[float]]:
    ring = [(x, y), (x, y + tall), (x + wide, y + tall), (x + wide, y), (x, y)]
    return [list(TO_MAP.transform(WEST + right, NORTH - down)) for right, down in ring]


def areas(path: Path, shapes: dict[str, list[list[float]]]) -> Path:
    features = [
        {
            "type": "Feature",
            "properties": {"pin": key, "owner": "not told to anybody"},
            "geometry": {"type": "Polygon", "coordinates": [ring]},
        }
        for key, ring in shapes.items()
    ]
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    return path


def test_with_no_source_named_there_is_nothing(get) -> None:
    assert get("/sources") == {"units": "us", "sources": []}
    assert get("/ground", lon=5, lat=50)["ground"] == []
    assert get("/lots", lon=5, lat=50)["features"] == []


def test_each_source_is_told_with_what_was_stated(add, ground, get, tmp_path) -> None:
    stated = ("--rmse", "0.1", "--lidar", "usual", "--date", "2021-04-30", "--licence", "CC0")
    assert add("elevation", "valley", ground[0], *stated, "--datum", "NAVD88") == 0
    lots = areas(tmp_path / "lots.json", {"1": outline(10, 10, 20, 30)})
    assert add("lots", "lots", lots, "--id", "pin") == 0
    first, second = get("/sources", units="si")["sources"]
    assert (first["name"], first["kind"], first["count"]) == ("lots", "lots", 1)
    assert (first["date"], first["licence"], first["vertical_rmse"]) == ("", "", None)
    assert second["vertical_rmse"] == 100
    assert (second["vertical_datum"], second["lidar"]) == ("NAVD88", "usual")
    low, high = place(0, 2 * SIZE), place(2 * SIZE, 0)
    west, south, east, north = second["bounds"]
    assert west <= low["lon"] < high["lon"] <= east
    assert south <= low["lat"] < high["lat"] <= north
    assert str(tmp_path) not in json.dumps(get("/sources")), "where it lies is the operator's"


def test_a_source_that_is_not_read_to_its_end_is_not_told(add, ground, get, tmp_path) -> None:
    from yardfall.store.sources import SourceStore

    assert add("elevation", "valley", ground[0]) == 0
    store = SourceStore(tmp_path / "data" / "sources")
    store.tell("valley", store.about("valley") | {"whole": False})
    assert get("/sources")["sources"] == []
    assert get("/ground", **place(50, 50))["ground"] == []


def test_the_ground_at_a_place(add, ground, get) -> None:
    """Against scipy's `map_coordinates` of the one file's cells, order 1."""
    with rasterio.open(ground[1]) as dataset:
        cells = dataset.read(1).astype(float)
    assert add("elevation", "valley", ground[0]) == 0
    for x, y in ((50.3, 60.8), (SIZE + 0.2, SIZE - 0.3)):
        (known,) = map_coordinates(cells, [[y - 0.5], [x - 0.5]], order=1)
        (found,) = get("/ground", **place(x, y), units="si")["ground"]
        assert found["elevation"] == pytest.approx(known, abs=1e-3)
        assert found["cell"] == [1, 1]
        assert found["source"]["name"] == "valley"
        (feet,) = get("/ground", **place(x, y))["ground"]
        assert feet["elevation"] == pytest.approx(known / 0.3048, abs=1e-2)


def test_every_source_with_ground_there_is_told_the_finest_first(
    add, ground, get, tmp_path
) -> None:
    coarse = np.full((60, 60), 77, np.float32)
    coarse[4:6, 4:6] = EMPTY
    path = write(tmp_path / "coarse.tif", coarse, cell=10.0)
    assert add("elevation", "a-coarse", path) == 0
    assert add("elevation", "older", ground[0], "--date", "2019-05-31") == 0
    assert add("elevation", "valley", ground[0], "--date", "2021-04-30") == 0
    found = get("/ground", **place(100, 100), units="si")["ground"]
    assert [(one["source"]["name"], one["cell"]) for one in found] == [
        ("valley", [1, 1]),
        ("older", [1, 1]),
        ("a-coarse", [10, 10]),
    ]
    hole = get("/ground", **place(50, 50), units="si")["ground"][2]
    assert (hole["elevation"], hole["problem"]) == (None, None)


@pytest.fixture
def town(add, tmp_path) -> None:
    lots = {
        "A": outline(10, 10, 20, 30),
        "B": outline(30, 10, 20, 30),
        "block": outline(0, 0, 100, 100),
    }
    houses = {
        "in A": outline(14, 14, 8, 9),
        "over the line": outline(27, 20, 8, 8),
        "in B": outline(40, 20, 5, 5),
        "beside A": outline(2, 12, 8, 8),
    }
    stated = ("--id", "pin", "--licence", "CC0", "--date", "2020-02-01")
    assert add("lots", "lots", areas(tmp_path / "lots.json", lots), *stated) == 0
    assert add("buildings", "houses", areas(tmp_path / "houses.json", houses), *stated) == 0


def test_a_click_in_a_lot_gives_it_and_what_stands_on_it(town, get) -> None:
    found = get("/lots", **place(12, 12))
    assert found["type"] == "FeatureCollection"
    told = [
        (f["id"], f["properties"]["kind"], f["properties"]["source"]) for f in found["features"]
    ]
    assert told == [
        ("A", "lot", "lots"),
        ("in A", "building", "houses"),
        ("over the line", "building", "houses"),
    ], "the smallest lot there, and no house that only touches it"
    drawn = shapely.from_geojson(json.dumps(found["features"][0]["geometry"]))
    assert drawn.equals(shapely.Polygon(outline(10, 10, 20, 30)))
    assert drawn.exterior.is_ccw, "RFC 7946, 3.1.6"
    assert "not told to anybody" not in json.dumps(found)
    assert found["bounds"] == list(drawn.bounds)
    assert found["sources"] == [
        {"name": "lots", "date": "2020-02-01", "licence": "CC0"},
        {"name": "houses", "date": "2020-02-01", "licence": "CC0"},
    ]


def test_a_lot_goes_straight_into_a_search(town, add, ground, get, client) -> None:
    assert add("elevation", "valley", ground[0]) == 0
    lot, *houses = get("/lots", **place(12, 12))["features"]
    start = place(24, 15)
    body = {
        "units": "si",
        "ground": {"kind": "source", "name": "valley"},
        "start": {"point": [start["lon"], start["lat"]], "cover": 200},
        "pipe": {"code": "corrugated-single-4"},
        "outlet": {"kind": "daylight"},
        "within": lot["geometry"],
        "avoid": {
            "type": "FeatureCollection",
            "features": [
                {"type": "Feature", "geometry": one["geometry"], "properties": {"name": one["id"]}}
                for one in houses
            ],
        },
    }
    answer = client.post("/api/v1/reach", json=body)
    assert answer.status_code == 200, answer.text
    assert answer.json["ground_source"]["name"] == "valley"


def test_a_lot_in_the_raster_s_own_system(town, get, client) -> None:
    found = get("/lots", **place(12, 12), crs=CRS)
    drawn = shapely.geometry.shape(found["features"][0]["geometry"])
    known = shapely.box(WEST + 10, NORTH - 40, WEST + 30, NORTH - 10)
    assert shapely.hausdorff_distance(drawn, known) < 1e-4
    for crs in ("EPSG:4326", "EPSG:99999", "local", "+proj=utm +zone=15"):
        answer = client.get("/api/v1/lots", query_string=place(12, 12) | {"crs": crs})
        assert answer.status_code == 422, answer.text


def test_a_place_by_x_and_y_is_the_same_place(town, add, ground, get) -> None:
    """Longitude and latitude by pyproj, asked apart."""
    assert add("elevation", "valley", ground[0]) == 0
    projected = {"x": WEST + 12, "y": NORTH - 12, "crs": CRS}
    drawn = get("/lots", **place(12, 12), crs=CRS)
    assert drawn["features"]
    assert get("/lots", **projected) == drawn
    assert drawn["bounds"] == get("/lots", **place(12, 12))["bounds"], "degrees, whatever the crs"
    here, there = get("/ground", **projected), get("/ground", **place(12, 12))
    assert here["ground"][0]["elevation"] == there["ground"][0]["elevation"]
    assert (here["lon"], here["lat"]) == pytest.approx(tuple(place(12, 12).values()), abs=1e-9)


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ("x=5&crs=EPSG:32615", "/y"),
        ("x=5&y=5", "/crs"),
        ("x=5&y=5&crs=OGC:CRS84", "/crs"),
        ("x=5&y=5&lon=5&lat=5&crs=EPSG:32615", "/x"),
        ("x=99999999&y=99999999&crs=EPSG:32615", "/crs"),
        ("x=1e12&y=5&crs=EPSG:32615", "/x"),
        ("x=5&y=5&crs=EPSG:4326", "/crs"),
        ("x=5&y=5&crs=local", "/crs"),
        ("lat=5&crs=EPSG:32615", "/lon"),
    ],
)
@pytest.mark.parametrize("path", ["/ground", "/lots"])
def test_half_a_place_is_refused(client, path: str, query: str, pointer: str) -> None:
    answer = client.get(f"/api/v1{path}?{query}")
    assert answer.status_code == 422, answer.text
    assert [one["pointer"] for one in answer.json["errors"]] == [pointer]


def test_beside_every_lot_there_is_none(town, get) -> None:
    assert get("/lots", **place(150, 150)) == {
        "type": "FeatureCollection",
        "crs": "OGC:CRS84",
        "bounds": None,
        "features": [],
        "sources": [],
    }


@pytest.mark.parametrize(
    "query",
    [
        "",
        "lon=5",
        "lon=5&lat=91",
        "lon=x&lat=5",
        "lon=nan&lat=5",
        "lon=1e9&lat=5",
        "lon=5&lat=5&x=1",
    ],
)
@pytest.mark.parametrize("path", ["/ground", "/lots"])
def test_a_place_that_is_none_is_refused(client, path: str, query: str) -> None:
    answer = client.get(f"/api/v1{path}?{query}")
    assert answer.status_code == 422, answer.text
