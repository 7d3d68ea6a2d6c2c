"""A part of a source kept as a raster: the same ground, also once the source is gone."""

from __future__ import annotations

import io
import json
import zipfile
from pathlib import Path

import numpy as np
import pyproj
import pytest
import rasterio
from tiles import CRS, EMPTY, NORTH, SIZE, WEST, ground, write

from yardfall.cli.main import main
from yardfall.use_cases.source_window import _KEPT_AS

TO_MAP = pyproj.Transformer.from_crs(CRS, "OGC:CRS84", always_xy=True)


def bounds(left: float, top: float, right: float, low: float) -> list[float]:
    """West, south, east, north about columns and rows of the tiles' grid."""
    x, y = TO_MAP.transform([WEST + left, WEST + right] * 2, [NORTH - top] * 2 + [NORTH - low] * 2)
    return [min(x), min(y), max(x), max(y)]


@pytest.fixture
def valley(add, ground) -> Path:
    stated = ("--date", "2021-04-30", "--rmse", "0.1", "--licence", "CC0, the county")
    assert add("elevation", "valley", ground[0], *stated) == 0
    return ground[1]


@pytest.fixture
def keep(client, conforms):
    def call(area: list[float], status: int = 201, name: str = "valley", **more: str):
        answer = client.post(f"/api/v1/sources/{name}/windows", json={"bounds": area} | more)
        assert answer.status_code == status, answer.text
        if status == 201:
            conforms("POST /sources/{name}/windows", answer)
        return answer.json

    return call


def test_the_cells_are_those_of_one_file(valley, keep, client, tmp_path) -> None:
    kept = keep(bounds(200, 210, 300, 290))
    assert kept["name"] == "valley 2021-04-30"
    stated = {"name": "valley", "date": "2021-04-30", "licence": "CC0, the county"}
    assert kept["source"] == stated
    assert client.get(f"/api/v1/rasters/{kept['id']}").json == kept
    with (
        rasterio.open(tmp_path / "data" / "rasters" / f"{kept['id']}.tif") as its,
        rasterio.open(valley) as whole,
    ):
        window = whole.window(*its.bounds)
        assert np.array_equal(its.read(1), whole.read(1, window=window))
        assert its.dtypes == whole.dtypes
        assert its.crs == whole.crs


def test_a_plan_on_it_is_the_source_s_and_outlives_it(valley, keep, plan, tmp_path) -> None:
    line = [[WEST + 244.25, NORTH - 239.5], [WEST + 268.5, NORTH - 271.75]]
    body = {
        "units": "si",
        "route": {"line": {"type": "LineString", "coordinates": line}, "crs": CRS},
        "ground": {"kind": "source", "name": "valley"},
        "pipe": {"code": "corrugated-single-4"},
        "start": {"cover": 200},
        "outlet": {"kind": "tie_in", "depth": {"min": 200}},
    }
    first = plan(body)
    kept = keep(bounds(200, 210, 300, 310))
    command = ["source", "remove", "valley", "--data", str(tmp_path / "data")]
    assert main(command) == 0
    again = plan(body | {"ground": {"kind": "raster", "raster": kept["id"]}})
    for name in ("stations", "profile", "length"):
        assert again[name] == first[name]
    assert again["ground_source"] == first["ground_source"]


def test_holes_stay_holes_and_scaled_cells_are_scaled_once(add, tmp_path, keep, plan) -> None:
    z = (ground(SIZE, SIZE) * 100).astype(np.int32)
    z[40:50, 40:50] = -9999
    path = write(tmp_path / "t" / "a.tif", z, predictor=2)
    with rasterio.open(path, "r+") as out:
        out.scales = (0.01,)
    assert add("elevation", "valley", path) == 0
    kept = keep(bounds(10, 10, 90, 90))
    with rasterio.open(tmp_path / "data" / "rasters" / f"{kept['id']}.tif") as its:
        cells = its.read(1, masked=True) * its.scales[0]
    assert cells.mask.sum() == 100
    assert kept["elevation"]["max"] == pytest.approx(float(cells.max()))
    assert 240 < cells.min() < cells.max() < 251


def test_the_same_part_is_kept_once(valley, keep, client, add, ground) -> None:
    first = keep(bounds(200, 210, 300, 290))
    assert keep(bounds(200, 210, 300, 290)) == first
    own = [WEST + 200.2, NORTH - 289.8, WEST + 299.8, NORTH - 210.2]
    second = keep(own, crs=CRS)
    assert (second["width"], second["height"]) == (100, 80), "in its own system no cell more"
    inside = [own[0] - 0.1, own[1], own[2], own[3] + 0.1]
    assert keep(inside, crs=CRS) == second, "the same cells"
    assert keep(bounds(200, 210, 300, 292))["id"] != first["id"]
    kept = client.get("/api/v1/rasters").json["rasters"]
    assert len([one for one in kept if one["source"]]) == 3
    assert client.delete(f"/api/v1/rasters/{first['id']}").status_code == 204
    assert keep(bounds(200, 210, 300, 290))["id"] != first["id"], "what was deleted is kept anew"
    _KEPT_AS.clear()  # as another process, or this one begun anew, finds it
    assert keep(own, crs=CRS) == second


def test_a_source_that_changed_is_kept_beside(valley, keep, ground, tmp_path) -> None:
    first = keep(bounds(200, 210, 300, 290))
    for path in ground[0].glob("*.tif"):
        with rasterio.open(path, "r+") as tile:
            tile.write(tile.read(1) + 1, 1)
    assert main(["source", "refresh", "valley", "--data", str(tmp_path / "data")]) == 0
    second = keep(bounds(200, 210, 300, 290))
    assert second["id"] != first["id"]
    assert second["elevation"]["max"] == pytest.approx(first["elevation"]["max"] + 1)


def test_another_s_is_never_found(valley, keep, app) -> None:
    kept = keep(bounds(200, 210, 300, 290))
    store = app.extensions["rasters"]
    record = store.get(kept["id"])
    assert store.of(record.owner).find_same(record.path, record.name, record.facts) == record
    assert store.of("ann").find_same(record.path, record.name, record.facts) is None
    other = record.facts | {"named": record.facts["named"] | {"licence": "other"}}
    assert store.of(record.owner).find_same(record.path, record.name, other) is None


def test_a_line_s_width_of_nothing_is_refused(valley, keep) -> None:
    for area in ([5, 5, 4, 6], [5, 6, 6, 5], [5, 89, 6, 91]):
        assert keep(area, 422)["errors"][0]["pointer"] == "/bounds"
    for area, crs in (([5, 5, 4, 6], CRS), ([1e8, 1e8, 1.1e8, 1.1e8], CRS)):
        assert keep(area, 422, crs=crs)["errors"][0]["pointer"].startswith("/bounds")
    assert keep([5, 5, 6, 6], 422, crs="EPSG:4326")["errors"][0]["pointer"] == "/crs"
    assert keep([5, 5, 5.001, 5.001], 422)["errors"][0]["pointer"] == "/bounds"
    assert "no source named other" in keep(bounds(0, 0, 9, 9), 404, "other")["detail"]


def test_more_than_a_lot_can_be_searched_by_is_refused(add, keep, tmp_path) -> None:
    write(tmp_path / "t" / "a.tif", np.full((1500, 1500), 7, np.float32))
    assert add("elevation", "valley", tmp_path / "t") == 0
    assert "2,000,000" in keep(bounds(10, 10, 1490, 1490), 413)["detail"]


def test_what_is_empty_is_not_kept(add, keep, tmp_path) -> None:
    write(tmp_path / "t" / "a.tif", np.full((SIZE, SIZE), EMPTY, np.float32))
    assert add("elevation", "valley", tmp_path / "t") == 0
    assert "no ground here" in keep(bounds(10, 10, 90, 90), 422)["detail"]


def test_what_was_stated_moves_with_it(valley, keep, client) -> None:
    keep(bounds(200, 210, 300, 290))
    export = client.get("/api/v1/export").data

    def moved(change) -> int:
        out = io.BytesIO()
        with zipfile.ZipFile(io.BytesIO(export)) as old, zipfile.ZipFile(out, "w") as new:
            for name in old.namelist():
                content = old.read(name)
                if name == "rasters.jsonl":
                    line = json.loads(content)
                    content = json.dumps(line | change(line)).encode() + b"\n"
                new.writestr(name, content)
        sent = {"file": (io.BytesIO(out.getvalue()), "export.zip")}
        return client.post("/api/v1/imports", data=sent).status_code

    assert moved(lambda _line: {}) == 201
    rasters = client.get("/api/v1/rasters").json["rasters"]
    assert [one["source"]["licence"] for one in rasters] == ["CC0, the county"] * 2
    assert moved(lambda _line: {"named": None}) == 201
    for bad in (
        {"named": {"name": "x"}},
        {"named": 5},
    ):
        assert moved(lambda _line, bad=bad: bad) == 422
    for name, value in (("licence", 7), ("licence", "x" * 1001), ("rmse_m", -1), ("rmse_m", "1")):
        assert moved(lambda line, n=name, v=value: {"named": line["named"] | {n: v}}) == 422
