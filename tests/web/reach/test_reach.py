"""`POST /reach` from end to end: planted yards with known answers, and agreement with /plan."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pyproj
import pytest
import rasterio
import shapely
from rasterio.transform import from_origin
from rasterio.windows import Window
from shapely.geometry import shape

from yardfall.geo import search_grid
from yardfall.geo.raster import cell_values

ROOT = Path(__file__).resolve().parents[3]
EXAMPLES = ROOT / "openapi" / "examples" / "reach"
WEST, NORTH, CELL = 512000.0, 4705040.0, 0.5


@pytest.fixture
def reach(client, conforms):
    """Search; the answer must be 200 and keep to the contract."""

    def call(body: dict) -> dict:
        answer = client.post("/api/v1/reach", json=body)
        assert answer.status_code == 200, answer.get_data(as_text=True)
        conforms("POST /reach", answer)
        return answer.json

    return call


@pytest.fixture
def yard(tiff, upload):
    """A request on ground z (rows, columns) of 0.5 m cells, north-west corner at WEST, NORTH."""

    def make(z: np.ndarray, start: tuple[float, float], **changes) -> dict:
        transform = from_origin(WEST, NORTH, CELL, CELL)
        kept = upload(tiff(z.astype(np.float64), transform=transform))
        assert kept.status_code == 201, kept.json
        return {
            "units": "si",
            "crs": "EPSG:26915",
            "ground": {"kind": "raster", "raster": kept.json["id"], "vertical_unit": "m"},
            "start": {"point": at(*start), "cover": 150},
            "pipe": {"code": "corrugated-single-4"},
            "grade": {"min_percent": 1.0},
            "limits": {"min_cover": 150, "max_depth": 900, "outlet_taper": 3},
            "outlet": {"kind": "daylight", "depth": {"min": 0, "max": 300}},
            "within": box(0, 0, z.shape[1] * CELL, z.shape[0] * CELL),
            "accuracy": {"sigma": 1},
            "draws": 0,
            **changes,
        }

    return make


NOWHERE = {"ground": {"kind": "spots", "points": [[45522066, 9, 0], [1, 2, 3], [4, 5, 9]]}}


def at(x: float, y: float) -> list[float]:
    """A point x m east and y m south of the corner."""
    return [WEST + x, NORTH - y]


def box(x0: float, y0: float, x1: float, y1: float) -> dict:
    ring = [at(x0, y0), at(x1, y0), at(x1, y1), at(x0, y1), at(x0, y0)]
    return {"type": "Polygon", "coordinates": [ring]}


def plane(fall: float, rows: int = 80, columns: int = 60) -> np.ndarray:
    """Ground that falls to the south."""
    down, _ = np.mgrid[0:rows, 0:columns]
    return 100 - fall * CELL * down


def line_of(route: dict) -> shapely.LineString:
    return shape(route["line"])


# A straight grade under level-topped cover: over L m the ground falls f·L and the pipe s·L. With
# cover c at the start and a trench at most m deep at the end, D the outside of the pipe, it comes
# out where (f − s)·L ≥ c + D − m. Here c + D − m = 0.15 + 0.1168 − 0.25 = 0.0168 m.


def test_a_plane_just_steeper_than_the_least_grade_lets_it_out(reach, yard) -> None:
    outlet = {"kind": "daylight", "depth": {"min": 0, "max": 250}}
    limits = {"min_cover": 0, "max_depth": 900, "outlet_taper": 0}
    # 38 m of 1.05 %: 0.019 m gained, 0.0168 needed
    body = yard(plane(0.0105), (15.25, 0.75), outlet=outlet, limits=limits)
    answer = reach(body)
    assert answer["summary"]["verdict"] == "yes"
    gained_mm = 0.0005 * (40 - CELL / 2 - 0.75) * 1000
    lacked_mm = 150 + 116.84 - 250
    assert answer["summary"]["spare"] == pytest.approx(gained_mm - lacked_mm, abs=0.3)


def test_the_share_is_of_where_a_pipe_may_lie(reach, yard) -> None:
    """30 by 40 m; the house and what else is kept out of take 10 m of the 40 off its end."""
    whole = reach(yard(plane(0.05), (15.25, 0.75)))["summary"]
    less = reach(yard(plane(0.05), (15.25, 0.75), avoid=box(0, 30, 30, 40)))["summary"]
    assert whole["searched_area"] == pytest.approx(30 * 40, rel=0.03)
    assert less["searched_area"] == pytest.approx(30 * 30, rel=0.03)
    for told in (whole, less):
        share = 100 * told["outlet_area"] / told["searched_area"]
        assert f"about {share:.0f} % of the ground where a pipe may lie" in told["sentence"]


def test_a_plane_just_flatter_does_not_and_says_what_is_missing(reach, yard) -> None:
    outlet = {"kind": "daylight", "depth": {"min": 0, "max": 250}}
    limits = {"min_cover": 0, "max_depth": 900, "outlet_taper": 0}
    answer = reach(yard(plane(0.0095), (15.25, 0.75), outlet=outlet, limits=limits))
    assert answer["summary"]["verdict"] == "no"
    # best at the nearest place an outlet is looked for: 10 ft away, 0.05 % of that lost
    missing_mm = 150 + 116.84 - 250 + 0.0005 * 3.048 * 1000
    assert -answer["summary"]["spare"] == pytest.approx(missing_mm, abs=0.3)
    (route,) = answer["routes"]
    assert route["kinds"] == ["nearest_miss"]
    assert route["answer"]["verdict"] == "no"
    assert route["answer"]["spare"] == pytest.approx(answer["summary"]["spare"], abs=0.5)
    assert {one["change"] for one in answer["loosen"]} >= {"start_cover", "outlet_depth"}
    deeper = next(one for one in answer["loosen"] if one["change"] == "outlet_depth")
    assert deeper["to"] == 5 * math.ceil((250 + missing_mm) / 5)  # as a tape shows
    loosened = reach(
        yard(
            plane(0.0095),
            (15.25, 0.75),
            outlet={"kind": "daylight", "depth": {"min": 0, "max": deeper["to"]}},
            limits=limits,
        )
    )
    assert loosened["summary"]["verdict"] == "yes"


def ridge() -> np.ndarray:
    """Ground that falls south at 2 %, with a ridge of 1.5 m across it and one low place in that."""
    z = plane(0.02)
    z[30:36] += 1.5
    z[30:36, 50:54] -= 1.5
    return z


def test_a_ridge_is_gone_round(reach, yard) -> None:
    answer = reach(yard(ridge(), (5, 3), targets=box(2, 36, 8, 39)))
    assert answer["summary"]["verdict"] == "yes"
    for route in answer["routes"]:
        line = line_of(route)
        crossed = line.intersection(shape(box(0, 15.1, 30, 17.6)))
        xs = [x - WEST for x, _ in crossed.coords]
        assert min(xs) > 24.4
        assert max(xs) < 27.1
        assert route["length"] > 45, "the straight way is 34 m"
        assert route["bends"] <= 4
        assert route["answer"]["verdict"] in ("yes", "too_close")
        assert route["answer"]["spare"] >= 0


def test_the_one_gap_in_a_wall_is_found_and_nothing_avoided_is_crossed(reach, yard) -> None:
    wall = {
        "type": "FeatureCollection",
        "features": [
            {"type": "Feature", "geometry": part, "properties": {"name": "Wall", "clearance": 0.5}}
            for part in (box(-1, 18, 20, 19), box(22.5, 18, 31, 19))
        ],
    }
    answer = reach(yard(plane(0.03), (5, 3), avoid=wall, targets=box(2, 36, 8, 39)))
    assert answer["routes"]
    kept = shapely.union_all([shape(f["geometry"]) for f in wall["features"]]).buffer(0.499)
    for route in answer["routes"]:
        assert not line_of(route).intersects(kept)
        assert route["answer"]["spare"] >= 0
    closed = json.loads(json.dumps(wall))
    closed["features"].append({"type": "Feature", "geometry": box(19, 18, 23, 19)})
    shut = reach(yard(plane(0.03), (5, 3), avoid=closed, targets=box(2, 36, 8, 39)))
    assert shut["summary"]["verdict"] == "no"
    assert shut["summary"]["spare"] is None
    assert shut["routes"] == []
    assert shut["targets"][0]["kind"] == "closed_off"
    assert "closed_off" in {f["properties"]["kind"] for f in shut["areas"]["features"]}


def test_each_target_tells_whether_it_is_reached_and_why_not(reach, yard) -> None:
    def line(*points: tuple[float, float], name: str) -> dict:
        coordinates = [at(x, y) for x, y in points]
        geometry = {"type": "LineString", "coordinates": coordinates}
        return {"type": "Feature", "geometry": geometry, "properties": {"name": name}}

    shed = box(20, 20, 24, 24)
    targets = [
        line((2, 37), (8, 37), name="Ditch"),
        line((21, 22), (23, 22), name="Shed"),
        line((2, -5), (8, -5), name="Far side"),
        line((5, 3), (5.3, 3), name="Door"),
    ]
    collection = {"type": "FeatureCollection", "features": targets}
    answer = reach(yard(plane(0.03), (5, 3), avoid=shed, targets=collection))
    told = {target["name"]: target["kind"] for target in answer["targets"]}
    expected = {"Ditch": "outlet", "Shed": "avoided", "Door": "near_start"}
    assert told == expected | {"Far side": told["Far side"]}
    assert told["Far side"] in ("outside", "unknown")
    assert answer["summary"]["sentence"].startswith(
        "It can come out at 1 of the 4 places asked for"
    )


def test_out_of_a_pit_there_is_no_way(reach, yard) -> None:
    down, across = np.mgrid[0:80, 0:60]
    z = 100 + 0.05 * CELL * np.hypot(down - 40, across - 30)
    answer = reach(yard(z, (15.25, 20.25), ask=[at(15.25, 35)]))
    assert answer["summary"]["verdict"] == "no"
    kinds = {f["properties"]["kind"] for f in answer["areas"]["features"]}
    assert "outlet" not in kinds
    assert "too_deep" in kinds
    (asked,) = answer["asked"]
    assert asked["kind"] == "too_deep"
    assert asked["highest_invert"] is None


def test_areas_tile_the_lot(reach, yard) -> None:
    z = ridge()
    z[60:64, 10:20] = np.nan
    answer = reach(
        yard(z, (5, 3), avoid=box(20, 2, 24, 9), draws=20, routes=0, accuracy={"sigma": 60})
    )
    polygons = [shape(f["geometry"]) for f in answer["areas"]["features"]]
    assert all(p.is_valid for p in polygons)
    assert sum(p.area for p in polygons) == pytest.approx(30 * 40)
    assert shapely.union_all(polygons).area == pytest.approx(30 * 40)
    for feature, polygon in zip(answer["areas"]["features"], polygons, strict=True):
        assert feature["properties"]["area"] == pytest.approx(polygon.area, rel=1e-3), (
            "true areas; this map is 0.04 % off in lengths"
        )
    assert next(f["properties"]["kind"] for f in answer["chance"]["features"]) == "no"
    assert answer["routes"] == []


def test_a_routes_plan_is_plans_own_answer(reach, yard, plan) -> None:
    """What is shown of a route is what POST /plan says of the request that comes with it."""
    answer = reach(yard(ridge(), (5, 3), targets=box(2, 36, 8, 39), draws=10))
    assert len(answer["routes"]) >= 2
    for route in answer["routes"]:
        drawn = plan(route["plan_request"] | {"explain": False})
        assert drawn["answer"] == route["answer"]
        assert drawn["length"] == route["length"]
        assert drawn["trench"]["volume"] == route["trench_volume"]
        assert drawn["quantities"]["trench"]["bank"] == route["dug_volume"]


def test_a_place_clicked_gets_its_route(reach, yard) -> None:
    place = at(8.2, 33.3)
    answer = reach(yard(ridge(), (5, 3), to=place, routes=0))
    (route,) = answer["routes"]
    assert route["kinds"] == ["asked"]
    assert route["line"]["coordinates"][0] == at(5, 3)
    assert route["line"]["coordinates"][-1] == pytest.approx(place, abs=2e-3)


def test_the_chance_is_of_the_kind_that_the_plan_tells(reach, yard) -> None:
    """On a plain slope, half the draws of a 6 cm error let out what has no spare at all."""
    answer = reach(yard(plane(0.03), (15.25, 3), draws=60, routes=0, accuracy={"sigma": 60}))
    by_kind = {f["properties"]["kind"]: f["properties"] for f in answer["chance"]["features"]}
    assert "sure" in by_kind
    sure = [shape(f["geometry"]) for f in answer["chance"]["features"]]
    names = [f["properties"]["kind"] for f in answer["chance"]["features"]]
    south = sure[names.index("sure")].bounds[1]
    assert south == pytest.approx(NORTH - 40), "surest furthest down"


def test_spots_and_a_raster_of_the_same_plane_agree(reach, yard) -> None:
    """Spot heights of a plane, in a local plan in feet, against the same plane as a raster."""
    body = yard(plane(0.02), (15.25, 3.25), ask=[at(10.25, 30.25)], routes=0)
    on_raster = reach(body)["asked"][0]
    spots = [[x, y, 100 - 0.02 * (y - CELL / 2)] for x in (0, 15, 30) for y in (0, 20, 40)]
    local = body | {
        "crs": "local",
        "ground": {"kind": "spots", "points": spots},
        "start": {"point": [15.25, 3.25], "cover": 150},
        "ask": [[10.25, 30.25]],
        "within": {
            "type": "Polygon",
            "coordinates": [[[0, 0], [30, 0], [30, 40], [0, 40], [0, 0]]],
        },
    }
    on_spots = reach(local)["asked"][0]
    for key in ("highest_invert", "passing_invert", "ground"):
        assert on_spots[key] == pytest.approx(on_raster[key], abs=0.011), "half a cell apart at 2 %"


def test_longitude_and_latitude_agree_with_the_projected(reach, yard) -> None:
    to = pyproj.Transformer.from_crs("EPSG:26915", "OGC:CRS84", always_xy=True).transform
    body = yard(plane(0.02), (15.25, 3.25), ask=[at(10.25, 30.25)])
    here = reach(body)

    def moved(part):
        if isinstance(part, list) and isinstance(part[0], float):
            return list(to(*part))
        return [moved(p) for p in part]

    globe = reach(
        body
        | {
            "crs": "OGC:CRS84",
            "start": body["start"] | {"point": moved(body["start"]["point"])},
            "ask": moved(body["ask"]),
            "within": {"type": "Polygon", "coordinates": moved(body["within"]["coordinates"])},
        }
    )
    assert globe["asked"][0]["spare"] == pytest.approx(here["asked"][0]["spare"], abs=0.5)
    assert globe["summary"]["spare"] == pytest.approx(here["summary"]["spare"], abs=0.5)
    assert len(globe["routes"]) == len(here["routes"])


def test_every_example_is_answered(reach, tiff, upload) -> None:
    for path in sorted(EXAMPLES.glob("*.json")):
        body = json.loads(path.read_text("utf-8"))
        if body["ground"]["kind"] == "raster":
            body["ground"]["raster"] = upload(tiff()).json["id"]
        answer = reach(body)
        assert answer["summary"]["verdict"] == "yes", path.name
        assert answer["routes"]
        assert all(r["answer"]["spare"] >= 0 for r in answer["routes"])
        assert {c["code"] for c in answer["cautions"]} >= {"call_before_you_dig"}


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"start": {"point": [0.0, 0.0], "cover": 150}}, "/start/point"),
        ({"crs": "local"}, "/crs"),
        ({"crs": "EPSG:1"}, "/crs"),
        ({"avoid": box(3, 1, 9, 6)}, "/start/point"),
        ({"within": box(10, 10, 20, 20)}, "/start/point"),
        ({"within": {"type": "Point", "coordinates": at(1, 1)}}, "/within/type"),
        ({"avoid": {"type": "Polygon", "coordinates": [[at(1, 9), at(2, 9), at(2, 10)]]}}, None),
        ({"outlet": {"kind": "tie_in", "invert": {"min": 99}}}, "/outlet/invert"),
        ({"bands": [5, 3]}, "/bands"),
        ({"crs": "OGC:CRS84", "start": {"point": [1, 2], "cover": 9}} | NOWHERE, "/ground/points"),
        ({"ask": [[0, 0]]}, "/ask/0"),
        ({"to": [0, 0]}, "/to"),
        ({"surplus": 1}, "/surplus"),
    ],
)
def test_what_cannot_be_searched_is_said(refused, yard, change, pointer) -> None:
    problem = refused("/reach", json=yard(plane(0.02), (5, 3)) | change)
    if pointer:
        assert [e["pointer"] for e in problem["errors"]] == [pointer]
    assert problem["detail"]


def test_a_crossed_outline_is_named(refused, yard) -> None:
    bow = [at(10, 10), at(20, 20), at(20, 10), at(10, 20), at(10, 10)]
    body = yard(plane(0.02), (5, 3), avoid={"type": "Polygon", "coordinates": [bow]})
    (error,) = refused("/reach", json=body)["errors"]
    assert error["pointer"] == "/avoid/0"
    assert "self-intersection" in error["detail"]


def test_a_start_at_the_wall_gets_away_from_the_house(reach, yard) -> None:
    house = {
        "type": "Feature",
        "geometry": box(10, 2, 20, 8),
        "properties": {"name": "House", "clearance": 2},
    }
    answer = reach(yard(plane(0.03), (15, 8.05), avoid=house))
    assert "starts_too_near" in {w["code"] for w in answer["warnings"]}
    assert answer["summary"]["verdict"] == "yes"
    for route in answer["routes"]:
        away = shapely.LineString(route["line"]["coordinates"]).difference(
            shapely.Point(at(15, 8.05)).buffer(2.001)
        )
        assert away.distance(shape(house["geometry"])) >= 1.999


def test_only_the_lots_window_of_a_large_raster_is_read(reach, yard, tmp_path, client, monkeypatch):
    """20,000 × 20,000 cells, of which the lot takes 60 × 80 and the cells around."""
    path, size, far_m = tmp_path / "county.tif", 19_968, 1000
    profile = {"width": size, "height": size, "count": 1, "dtype": "float32", "crs": "EPSG:26915"}
    tiles = {"tiled": True, "blockxsize": 256, "blockysize": 256, "sparse_ok": True}
    place = {"transform": from_origin(WEST - far_m, NORTH + far_m, CELL, CELL), "nodata": -9999.0}
    down, _ = np.mgrid[0:300, 0:300]
    with rasterio.open(path, "w", driver="GTiff", **profile, **tiles, **place) as out:
        ground = (100 - 0.01 * down).astype(np.float32)
        out.write(ground, 1, window=Window(1900, 1900, 300, 300))
    body = yard(plane(0.02), (5, 3), routes=0)
    store = client.application.extensions["rasters"]
    facts = store.get(body["ground"]["raster"]).facts | {"width": size, "height": size}
    with path.open("rb") as file, store.incoming(file) as part:
        body["ground"]["raster"] = store.keep(part, "county", facts).id
    read = []

    def spy(dataset, window):
        read.append((window.width, window.height))
        return cell_values(dataset, window)

    monkeypatch.setattr(search_grid, "cell_values", spy)
    assert reach(body)["summary"]["verdict"] == "yes"
    ((wide, tall),) = read
    assert wide <= 60 + 4
    assert tall <= 80 + 4


def test_a_start_at_the_edge_of_the_spot_heights_is_searched_from(reach) -> None:
    """Between the last cells and the edge the triangles still tell the ground: an even slope."""
    rng = np.random.default_rng(1)
    xy = np.vstack([rng.uniform(0, 30, (40, 2)), [[0, 15], [15, 0], [30, 15], [15, 30]]]).round(2)
    body = {
        "units": "si", "crs": "local", "pipe": {"code": "pvc-sdr35-4"},
        "ground": {"kind": "spots", "points": [[x, y, round(9 - 0.03 * x, 4)] for x, y in xy]},
        "start": {"point": [0.02, 15.0], "cover": 150}, "outlet": {"kind": "pop_up"},
        "accuracy": {"sigma": 3}, "ask": [[28, 15]],
    }  # fmt: skip
    answer = reach(body)
    assert answer["summary"]["start_ground"] == pytest.approx(9 - 0.03 * 0.02, abs=1e-3)
    (asked,) = answer["asked"]
    assert asked["kind"] in ("outlet", "conditional")
    assert asked["chance"] is None or 0 <= asked["chance"] <= 1
    assert answer["chance"] is not None
