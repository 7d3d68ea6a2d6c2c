"""The demo's own sources: the whole way from a click to a route, with no network and no file."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import numpy as np
import pyproj
import pytest
import rasterio
import shapely
from rasterio.merge import merge

from yardfall.app import load_demo_sources
from yardfall.store.sources import SourceStore
from yardfall.use_cases import sources as use_cases

ROOT = Path(__file__).resolve().parents[3]
DEMO = ROOT / "fixtures" / "demo"
TOWN = DEMO / "town"
TO_MAP = pyproj.Transformer.from_crs("EPSG:32617", "OGC:CRS84", always_xy=True)


@pytest.fixture
def named(app) -> SourceStore:
    store = app.extensions["rasters"].sources
    load_demo_sources(store)
    return store


def test_a_click_gives_the_yard_its_house_and_ways_out(named, client) -> None:
    yard = json.loads((DEMO / "yard.json").read_text("utf-8"))
    shapes = {f["properties"]["kind"]: f["geometry"] for f in yard["features"]["features"]}
    lot, house = (shapely.geometry.shape(shapes[kind]) for kind in ("lot", "house"))
    sump = shapes["sump"]["coordinates"]
    lon, lat = TO_MAP.transform(*sump)
    found = client.get(f"/api/v1/lots?lon={lon}&lat={lat}").json["features"]
    assert [(f["properties"]["kind"], f["id"]) for f in found] == [
        ("lot", "13"),
        ("building", "13"),
    ]
    for feature, known in zip(found, (lot, house), strict=True):
        drawn = shapely.transform(known, lambda xy: np.column_stack(TO_MAP.transform(*xy.T)))
        its = shapely.geometry.shape(feature["geometry"])
        assert shapely.hausdorff_distance(its, drawn) < 1e-7, "a centimetre"
    here = client.get(f"/api/v1/ground?lon={lon}&lat={lat}&units=si").json["ground"]
    assert [one["source"]["name"] for one in here] == ["demo-ground"]
    body = {
        "units": "us",
        "ground": {"kind": "source", "name": "demo-ground"},
        "start": {"point": [lon, lat], "cover": 8},
        "pipe": {"code": "corrugated-single-4"},
        "outlet": {"kind": "pop_up"},
        "within": found[0]["geometry"],
        "avoid": {"type": "Feature", "geometry": found[1]["geometry"], "properties": {}},
    }
    answer = client.post("/api/v1/reach", json=body)
    assert answer.status_code == 200, answer.text
    assert answer.json["routes"], "there are ways out"
    assert "CC0" in answer.json["ground_source"]["text"]


def test_on_the_demo_s_lot_the_tiles_have_the_cells_of_the_yard() -> None:
    """Put together by rasterio's own merge."""
    cells, place = merge(sorted(TOWN.glob("*.tif")))
    with rasterio.open(DEMO / "yard.tif") as dataset:
        yard, its = dataset.read(1), dataset.transform
    left, top = round((its.c - place.c) / place.a), round((its.f - place.f) / place.e)
    there = cells[0, top : top + yard.shape[0], left : left + yard.shape[1]]
    assert np.array_equal(there[25:105, 24:60], yard[25:105, 24:60])
    assert np.abs(np.diff(cells[0], axis=1)).max() < 0.2, "no step between lots or tiles"


def test_the_street_is_made_by_its_script(tmp_path: Path) -> None:
    shutil.copytree(DEMO, tmp_path / "demo")
    for path in (tmp_path / "demo" / "town").iterdir():
        path.unlink()
    subprocess.run([sys.executable, "town.py"], cwd=tmp_path / "demo", check=True)
    for known in TOWN.iterdir():
        made = tmp_path / "demo" / "town" / known.name
        if known.suffix == ".tif":
            with rasterio.open(known) as one, rasterio.open(made) as other:
                assert np.allclose(one.read(1), other.read(1), atol=0.0015)
                assert one.profile == other.profile
        else:
            assert json.loads(made.read_text())["features"][0]["properties"] == {"number": "11"}


def test_it_is_named_only_where_nobody_named_a_source(named, tmp_path, monkeypatch) -> None:
    assert named.names() == ["demo-ground", "demo-houses", "demo-lots"]
    before = named.state("demo-ground")
    load_demo_sources(named)
    assert named.state("demo-ground") == before
    named.remove("demo-ground")
    load_demo_sources(named)
    assert named.names() == ["demo-houses", "demo-lots"], "what was removed stays so"
    moved = tmp_path / "elsewhere"
    shutil.copytree(DEMO, moved)
    monkeypatch.setattr("yardfall.app.DEMO", moved)
    load_demo_sources(named)
    assert named.about("demo-lots")["roots"] == [str(moved / "town" / "lots.geojson")]
    assert use_cases.look_over(named, "demo-lots", lambda _done, _total: None).changed == ()
