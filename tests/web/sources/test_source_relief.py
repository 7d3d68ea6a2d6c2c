"""The ground of a source as a picture of what is in view."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pyproj
import pytest
import rasterio
from flask.testing import FlaskClient
from PIL import Image
from scipy.interpolate import RegularGridInterpolator
from tile_server import TileServer
from tiles import CRS, EMPTY, NORTH, SIZE, WEST, ground, write

from yardfall.geo.raster import inspect_raster
from yardfall.geo.relief import draw_relief
from yardfall.use_cases import source_relief, source_window

SIDES = ("west", "south", "east", "north")
MIDDLE = [WEST + 200, NORTH - 300, WEST + 320, NORTH - 220]
"""Over all four tiles, in their own system."""


@pytest.fixture
def valley(add: Callable[..., int], ground: tuple[Path, Path]) -> Path:
    assert add("elevation", "valley", ground[0]) == 0
    return ground[1]


@pytest.fixture
def draw(client: FlaskClient) -> Callable[..., Any]:
    def call(bounds: list[float], status: int = 200, crs: str = CRS, name: str = "valley") -> Any:
        query = dict(zip(SIDES, bounds, strict=True)) | {"crs": crs, "units": "si"}
        answer = client.get(f"/api/v1/sources/{name}/relief.png", query_string=query)
        assert answer.status_code == status, answer.text
        return answer

    return call


@pytest.fixture
def seen(monkeypatch: pytest.MonkeyPatch) -> list[np.ndarray]:
    """The elevations of each picture that is drawn."""
    found: list[np.ndarray] = []

    def noting(z: np.ndarray, own: str, units: str) -> tuple[bytes, str]:
        found.append(z)
        return b"", ""

    monkeypatch.setattr(source_relief, "relief_of", noting)
    return found


def by_scipy(whole: Path, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Elevations between the centres of the one file's cells."""
    with rasterio.open(whole) as its:
        z = its.read(1).astype(float)
    centres = np.arange(2 * SIZE) + 0.5
    between = RegularGridInterpolator((centres, centres), z, bounds_error=False)
    return between(np.column_stack([NORTH - y, x - WEST]))


@pytest.mark.parametrize("system", [CRS, "OGC:CRS84"])
def test_each_pixel_has_the_ground_of_its_place(valley, draw, seen, system: str) -> None:
    """Held against pyproj and scipy over the one file of the same ground."""
    west, south, east, north = MIDDLE
    to_map = pyproj.Transformer.from_crs(CRS, system, always_xy=True)
    if system != CRS:
        (west, east), (south, north) = to_map.transform([west, east], [south, north])
    draw([west, south, east, north], crs=system)
    (z,) = seen
    assert max(z.shape) == 1000
    rows, columns = (np.linspace(0, size - 1, 23).astype(int) for size in z.shape)
    lon = west + (columns + 0.5) / z.shape[1] * (east - west)
    lat = north + (rows + 0.5) / z.shape[0] * (south - north)
    lon, lat = (side.ravel() for side in np.meshgrid(lon, lat))
    x, y = to_map.transform(lon, lat, direction="INVERSE")
    its = z[np.ix_(rows, columns)].ravel()
    assert its == pytest.approx(by_scipy(valley, x, y), abs=1e-4)


def test_it_is_drawn_as_a_kept_raster_is(valley, draw) -> None:
    answer = draw([WEST, NORTH - 2 * SIZE, WEST + 2 * SIZE, NORTH])
    drawn = np.asarray(Image.open(io.BytesIO(answer.data)).convert("RGBA"))
    kept = draw_relief(valley, inspect_raster(valley), "si")
    other = np.asarray(Image.open(io.BytesIO(kept)).convert("RGBA"))
    assert drawn.shape == other.shape
    same = (np.abs(drawn.astype(int) - other) <= 24).all(axis=2).mean()
    assert same > 0.97, "but for the note in its corner, and where the two are rounded otherwise"
    assert answer.headers["Contour-Interval"] == "1 m"
    assert answer.mimetype == "image/png"


def test_where_there_is_no_ground_nothing_is_drawn(add, tmp_path: Path, draw) -> None:
    z = ground()
    z[100:140, 100:140] = EMPTY
    write(tmp_path / "t" / "a.tif", z)
    assert add("elevation", "valley", tmp_path / "t") == 0
    bounds = [WEST - 50, NORTH - 150, WEST + 150, NORTH + 50]
    picture = Image.open(io.BytesIO(draw(bounds).data)).convert("RGBA")
    clear = np.asarray(picture)[..., 3] == 0
    assert clear.shape == (1000, 1000)
    above, left, hole = clear[:247], clear[:, :247], clear[755:945, 755:945]
    for empty in (above, left, hole):
        assert empty.mean() > 0.98, "but for a contour's name that reaches over the edge"
    assert not clear[300:700, 300:700].any()


@pytest.mark.parametrize(
    ("bounds", "crs", "status", "said"),
    [
        ([WEST + 9000, NORTH, WEST + 9100, NORTH + 100], CRS, 422, "no ground here"),
        ([WEST + 90, NORTH, WEST + 10, NORTH + 100], CRS, 422, "in that order"),
        ([0, 0, 1, 1], "EPSG:4326", 422, ""),
    ],
)
def test_what_cannot_be_drawn_is_said(valley, draw, bounds, crs, status, said) -> None:
    answer = draw(bounds, status, crs)
    assert answer.mimetype == "application/problem+json"
    assert said in answer.json["detail"]


def test_another_name_is_not_found(valley, draw) -> None:
    assert "no source named other" in draw(MIDDLE, 404, name="other").json["detail"]


def test_too_large_a_part_is_refused_before_it_is_read(valley, draw, monkeypatch) -> None:
    monkeypatch.setattr(source_window, "MOST_CELLS", 5000)
    said = draw(MIDDLE, 413).json["detail"]
    assert (
        said
        == "This is 10,004 cells of the source; at most 5,000 are drawn. Ask for a smaller part."
    )


def test_far_away_each_block_is_asked_for_once(add, server: TileServer, draw) -> None:
    assert add("elevation", "valley", f"{server.address}/list.txt") == 0
    server.asked.clear()
    first = draw(MIDDLE).data
    asked = len(server.asked)
    assert 0 < asked <= 16, "the blocks of 64 cells that 120 by 80 m touch"
    assert draw(MIDDLE).data == first
    assert len(server.asked) == asked
