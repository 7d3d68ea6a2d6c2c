"""The raster calls: send, list, look at, draw, plan on, delete. Refused files leave nothing."""

from __future__ import annotations

import io
import threading
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from rasterio.transform import from_origin

from yardfall.store.uploads import rasters
from yardfall.use_cases import uploads


def kept(tmp_path: Path) -> list[str]:
    """Names of what lies in the raster folder."""
    return sorted(path.name for path in (tmp_path / "data" / "rasters").iterdir())


def test_a_raster_from_upload_to_deletion(client, conforms, tiff, upload, tmp_path) -> None:
    answer = upload(tiff(), name="my yard.tif")
    assert answer.status_code == 201
    conforms("POST /rasters", answer)
    facts = answer.json
    assert len(facts["id"]) == 32
    assert facts["name"] == "my yard.tif"
    assert facts["crs"] == "EPSG:26915"
    assert facts["geographic"] is False
    assert facts["bounds"] == pytest.approx([511995.2, 4705000.7, 512045.2, 4705040.7])
    assert (facts["width"], facts["height"]) == (100, 80)
    assert facts["cell"] == pytest.approx([0.5, 0.5])
    assert facts["vertical_unit"] is None
    assert facts["elevation"] == pytest.approx({"min": 298.22, "max": 300}, abs=1e-4)
    assert facts["empty_share"] == 0
    assert facts["size_bytes"] == len(tiff())

    one = client.get(f"/api/v1/rasters/{facts['id']}")
    conforms("GET /rasters/{id}", one)
    assert one.json == facts

    relief = client.get(facts["relief"])
    conforms("GET /rasters/{id}/relief.png", relief)
    assert (relief.status_code, relief.mimetype) == (200, "image/png")
    assert "immutable" in relief.headers["Cache-Control"]
    with Image.open(io.BytesIO(relief.data)) as picture:
        assert picture.format == "PNG"
        assert picture.width / picture.height == pytest.approx(50 / 40, rel=0.01)
    assert client.get(facts["relief"]).data == relief.data
    assert kept(tmp_path) == [f"{facts['id']}.png", f"{facts['id']}.tif"]
    # The file states no vertical unit: its contours stay in its own, whatever is asked for.
    in_feet = client.get(f"{facts['relief']}?units=us")
    conforms("GET /rasters/{id}/relief.png", in_feet)
    assert in_feet.data == relief.data
    refused = client.get(f"{facts['relief']}?units=cubits")
    assert (refused.status_code, refused.mimetype) == (422, "application/problem+json")
    assert len(kept(tmp_path)) == 3

    gone = client.delete(f"/api/v1/rasters/{facts['id']}")
    conforms("DELETE /rasters/{id}", gone)
    assert (gone.status_code, gone.data) == (204, b"")
    assert kept(tmp_path) == []
    for path in (f"/api/v1/rasters/{facts['id']}", facts["relief"]):
        answer = client.get(path)
        assert (answer.status_code, answer.mimetype) == (404, "application/problem+json")
        conforms("GET /rasters/{id}", answer)
    assert client.delete(f"/api/v1/rasters/{facts['id']}").status_code == 404


def test_a_plan_on_a_raster_that_is_gone(client, examples, refused, tiff, upload) -> None:
    body = examples["raster"]
    body["ground"]["raster"] = key = upload(tiff()).json["id"]
    assert client.post("/api/v1/plan", json=body).status_code == 200
    client.delete(f"/api/v1/rasters/{key}")
    (error,) = refused("/plan", json=body)["errors"]
    assert error["pointer"] == "/ground/raster"


def test_the_list_is_paged_newest_first(client, conforms, tiff, upload) -> None:
    assert client.get("/api/v1/rasters").json == {
        "rasters": [],
        "page": {"number": 1, "size": 50, "total": 0},
    }
    content = tiff()
    ids = [upload(content, name=f"{i}.tif").json["id"] for i in range(5)][::-1]
    pages = [client.get(f"/api/v1/rasters?page={n}&page_size=2") for n in (1, 2, 3, 4)]
    for page in pages:
        conforms("GET /rasters", page)
        assert page.json["page"]["total"] == 5
    assert [[r["id"] for r in page.json["rasters"]] for page in pages] == [
        ids[:2],
        ids[2:4],
        ids[4:],
        [],
    ]


def test_ground_from_a_raster_in_feet_and_metres(examples, plan, tiff, upload) -> None:
    """The raster falls 0.01 a cell of 0.5 m down and across, whatever unit its heights have.

    The raster example's line starts at column 22.1 and row 18.9 of cell centres: 300 less 0.41.
    """
    body = examples["raster"]
    body["ground"]["raster"] = upload(tiff()).json["id"]
    elevation = 300 - 0.01 * ((512006.5 - 511995.2) / 0.5 - 0.5 + (4705040.7 - 4705031) / 0.5 - 0.5)
    metres = plan(body)["stations"][0]
    assert metres["ground"] == pytest.approx(elevation / 0.3048, abs=1e-4)
    assert metres["source"] == "raster"
    body["ground"]["vertical_unit"] = "ft"
    assert plan(body)["stations"][0]["ground"] == pytest.approx(elevation, abs=1e-4)
    body["ground"]["vertical_unit"] = "us-ft"  # 1200/3937 m
    assert plan(body)["stations"][0]["ground"] == pytest.approx(
        elevation * (1200 / 3937) / 0.3048, abs=1e-4
    )


def test_a_system_with_heights_serves_its_map_and_states_its_unit(tiff, upload) -> None:
    """EPSG:26915 with NAVD88 heights in US survey feet (EPSG:6360)."""
    facts = upload(tiff(crs="EPSG:26915+6360")).json
    assert (facts["crs"], facts["vertical_unit"]) == ("EPSG:26915", "us-ft")


def test_a_raster_needs_its_unit_and_its_ground(examples, refused, tiff, upload) -> None:
    body = examples["raster"]
    body["ground"]["raster"] = upload(tiff()).json["id"]
    del body["ground"]["vertical_unit"]
    (error,) = refused("/plan", json=body)["errors"]
    assert error["pointer"] == "/ground/vertical_unit"
    body["ground"]["vertical_unit"] = "m"
    body["route"]["line"]["coordinates"][-1] = [512060, 4705011]
    (error,) = refused("/plan", json=body)["errors"]
    assert error["pointer"] == "/ground"
    assert "1+40.33 to 1+91.07" in error["detail"], "the stations off the raster are named"
    body["route"] = {"length": 100}
    (error,) = refused("/plan", json=body)["errors"]
    assert error["pointer"] == "/ground/kind"


def damaged(tiff) -> bytes:
    """A file whose header is whole and whose cells are cut off."""
    content = tiff(np.ones((400, 400), dtype=np.float32))
    return content[: len(content) // 2]


def undeclared(tiff) -> bytes:
    """A hole at -9999 in a file that does not say that -9999 stands for a hole."""
    z = np.full((20, 20), 300, dtype=np.float32)
    z[:5, :5] = -9999
    return tiff(z)


REFUSED = {
    "nothing": lambda tiff: b"",
    "text": lambda tiff: b"Elevation, in feet\n100\n",
    "picture": lambda tiff: b"\x89PNG\r\n\x1a\n" + b"\0" * 64,
    "a header alone": lambda tiff: b"II*\0" + b"\0" * 60,
    "another format by name": lambda tiff: b"<VRTDataset rasterXSize='1' rasterYSize='1'/>",
    "damaged": damaged,
    "no coordinate system": lambda tiff: tiff(crs=None),
    "complex cells": lambda tiff: tiff(np.ones((9, 9), dtype=np.complex64)),
    "latitudes past the pole": lambda tiff: tiff(crs="EPSG:4326"),
    "a hole not declared": undeclared,
    "cells of no size": lambda tiff: tiff(transform=from_origin(511995.2, 4705040.7, 1e-9, 1e-9)),
}


@pytest.mark.parametrize("make", REFUSED.values(), ids=REFUSED)
@pytest.mark.filterwarnings("ignore::rasterio.errors.NotGeoreferencedWarning")
def test_refused_files_leave_nothing(make, client, conforms, tiff, upload, tmp_path) -> None:
    answer = upload(make(tiff))
    assert (answer.status_code, answer.mimetype) == (422, "application/problem+json")
    conforms("POST /rasters", answer)
    assert answer.json["detail"]
    assert kept(tmp_path) == []
    assert client.get("/api/v1/rasters").json["page"]["total"] == 0


def test_a_file_too_large_leaves_nothing(monkeypatch, tiff, upload, tmp_path) -> None:
    content = tiff()
    monkeypatch.setattr(rasters, "MAX_UPLOAD_BYTES", len(content) - 1)
    assert upload(content).status_code == 413
    assert kept(tmp_path) == []
    monkeypatch.setattr(rasters, "MAX_UPLOAD_BYTES", len(content))
    assert upload(content).status_code == 201


def test_a_body_too_large_is_not_read(app, tiff, upload, tmp_path) -> None:
    app.config["MAX_CONTENT_LENGTH"] = 1000
    answer = upload(tiff())
    assert (answer.status_code, answer.mimetype) == (413, "application/problem+json")
    assert kept(tmp_path) == []


@pytest.mark.parametrize(
    "parts",
    [
        {},
        {"raster": (io.BytesIO(b"II*\0"), "yard.tif")},
        {"file": "a form field and no file"},
    ],
    ids=["none", "another name", "no file"],
)
def test_the_file_part_is_asked_for(parts: dict, client) -> None:
    answer = client.post("/api/v1/rasters", data=parts, content_type="multipart/form-data")
    assert answer.status_code == 422
    assert "/file" in [error["pointer"] for error in answer.json["errors"]]


def test_a_surplus_part_is_refused_by_name(client, tiff) -> None:
    parts = {name: (io.BytesIO(tiff()), "yard.tif") for name in ("file", "second")}
    answer = client.post("/api/v1/rasters", data=parts)
    assert answer.status_code == 422
    assert [error["pointer"] for error in answer.json["errors"]] == ["/second"]


@pytest.mark.parametrize(
    "name", ["../../yard.tif", "/etc/passwd", "<script>.tif", "\u7530.tif", "a" * 500]
)
def test_names_never_become_paths(name: str, client, tiff, upload, tmp_path) -> None:
    facts = upload(tiff(), name=name).json
    assert kept(tmp_path) == [f"{facts['id']}.tif"]
    assert facts["name"] == name[:200]


@pytest.mark.parametrize("shape", [(1, 3000), (3000, 1), (1, 1), (2, 2), (3, 2000)])
def test_a_relief_of_any_shape(shape: tuple[int, int], client, tiff, upload) -> None:
    rng = np.random.default_rng(3)
    facts = upload(tiff(rng.normal(100, 0.2, shape).astype(np.float32))).json
    relief = client.get(facts["relief"])
    assert (relief.status_code, relief.mimetype) == (200, "image/png")


@pytest.mark.parametrize("cells", [np.nan, -9999.0, 100.0], ids=["not numbers", "empty", "flat"])
def test_a_relief_of_nothing_and_of_a_floor(cells: float, client, tiff, upload) -> None:
    facts = upload(tiff(np.full((20, 30), cells, dtype=np.float32), nodata=-9999.0)).json
    assert facts["empty_share"] == (0 if cells == 100 else 1)
    assert (facts["elevation"] is None) == (cells != 100)
    assert client.get(facts["relief"]).mimetype == "image/png"


def test_a_relief_asked_for_by_many_at_once(app, monkeypatch, tiff, upload, tmp_path) -> None:
    """All draw at the same moment; each must answer with the whole picture."""
    facts = upload(tiff()).json
    for step in ("take", "give_back"):  # more at once than have a turn
        monkeypatch.setattr(f"yardfall.web.http.watch.turns.Turns.{step}", lambda *_: None)
    together = threading.Barrier(6)
    picture = b"\x89PNG" + bytes(20_000_000)

    def draw(*_: object) -> bytes:
        together.wait(20)
        return picture

    monkeypatch.setattr(uploads, "draw_relief", draw)
    answers: list[tuple[int, bytes]] = []

    def fetch() -> None:
        answer = app.test_client().get(facts["relief"])
        answers.append((answer.status_code, answer.data))

    threads = [threading.Thread(target=fetch) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [status for status, _ in answers] == [200] * 6
    assert all(data == picture for _, data in answers)
    assert kept(tmp_path) == [f"{facts['id']}.png", f"{facts['id']}.tif"]
