"""Sampling elevation rasters, against values computed by other programs.

`dem.tif` and `sink.tif` are in PyPI's `lidar` 0.8.4 (MIT licence): a 1 m raster of Minnesota,
EPSG:26915, downloaded by tests/run.py.
"""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
import rasterio
from affine import Affine
from PIL import Image
from rasterio.transform import from_origin
from rasterio.warp import Resampling, calculate_default_transform, reproject
from scipy.ndimage import map_coordinates

from yardfall.core.errors import FileRefusedError, GroundGap, InputError, TooLargeError
from yardfall.core.ground.route import drawn
from yardfall.core.units import UnitName
from yardfall.geo.crs import find_crs, leg_lengths_m, transform
from yardfall.geo.raster import bilinear, inspect_raster, open_raster
from yardfall.geo.raster_ground import ground_from_raster
from yardfall.geo.relief import contour_interval, draw_relief

# Computed with scipy.ndimage.map_coordinates, order 1, pixel centres corrected for.
LINES = [
    ((429300, 5150800), (1, 0), [400.40573, 400.37039, 399.63054, 398.59935, 396.97090]),
    ((429450, 5150600), (0, 1), [389.44492, 389.79042, 391.80369, 393.56991, 394.90006]),
    (
        (429400, 5150700),
        (0.5**0.5, 0.5**0.5),
        [395.53812, 397.80981, 398.98054, 399.47732, 399.17290],
    ),
]


@pytest.mark.parametrize(("start", "way", "expected"), LINES)
def test_three_lines_of_a_real_raster(open_data: Path, start, way, expected) -> None:
    path = open_data / "dem.tif"
    steps = np.linspace(0, 30.48, 5)
    line = np.array(start) + np.outer([0, 30.48], way)
    route = drawn(line, np.array([30.48]))
    ground, _ = ground_from_raster(
        path, inspect_raster(path), route, find_crs("EPSG:26915"), steps, "m"
    )
    assert ground.elevation(steps) == pytest.approx(expected, abs=1e-4)
    assert np.max(np.diff(ground.at_m)) <= 1.0 + 1e-9, "no more than a cell's spacing"


def test_facts_of_a_real_raster(open_data: Path) -> None:
    facts = inspect_raster(open_data / "dem.tif")
    assert (facts.width, facts.height, facts.crs) == (400, 400, "EPSG:26915")
    assert facts.cell_m == (1.0, 1.0)
    assert facts.bounds[0] == pytest.approx(429252.313370022)
    assert facts.bounds[3] == pytest.approx(5150885.424942633)
    assert (facts.lowest, facts.highest) == pytest.approx((379.659, 410.759), abs=5e-4)
    assert facts.vertical_unit is None


def test_a_copy_in_degrees_agrees(open_data: Path, tmp_path: Path) -> None:
    """Reprojected to EPSG:4326 (bilinear): 0.0115 m rms and 0.073 m at most over 2,000 points.

    Those figures were measured by another program on its own 2,000 points; ours are others.
    """
    copy = tmp_path / "degrees.tif"
    with rasterio.open(open_data / "dem.tif") as source:
        to, width, height = calculate_default_transform(
            source.crs, "EPSG:4326", source.width, source.height, *source.bounds
        )
        profile = source.profile | {
            "crs": "EPSG:4326",
            "transform": to,
            "width": width,
            "height": height,
            "nodata": -9999.0,
        }
        with rasterio.open(copy, "w", **profile) as out:
            reproject(
                rasterio.band(source, 1),
                rasterio.band(out, 1),
                resampling=Resampling.bilinear,
                dst_nodata=-9999.0,
            )
    rng = np.random.default_rng(1)
    xy = rng.uniform([429272, 5150505], [429632, 5150865], (2000, 2))
    utm = find_crs("EPSG:26915")
    lonlat = transform(xy, utm, find_crs("OGC:CRS84"))
    with open_raster(open_data / "dem.tif") as one, open_raster(copy) as two:
        off = bilinear(one, xy) - bilinear(two, lonlat)
    assert np.sqrt(np.mean(off**2)) == pytest.approx(0.0115, abs=0.002)
    assert np.max(np.abs(off)) < 0.11
    facts = inspect_raster(copy)
    assert facts.geographic
    assert facts.crs == "OGC:CRS84"
    # A degree of longitude is 76.8 km and of latitude 111 km at 46.5° N.
    assert facts.metres_per_unit == pytest.approx((76_800, 111_150), rel=3e-3)
    line = lonlat[:2]
    route = drawn(line, leg_lengths_m(line, find_crs("OGC:CRS84"), 1.0))
    ends = np.array([0.0, route.length_m])
    here, _ = ground_from_raster(copy, facts, route, find_crs("OGC:CRS84"), ends, "m")
    with open_raster(open_data / "dem.tif") as one:
        assert here.elevation(ends) == pytest.approx(bilinear(one, xy[:2]), abs=0.11)


def test_holes_that_look_like_elevations_are_refused(open_data: Path) -> None:
    """`sink.tif`: NODATA is 0, and 88,114 of its cells are empty."""
    path = open_data / "sink.tif"
    facts = inspect_raster(path)
    assert facts.empty_share * facts.width * facts.height == pytest.approx(88_114)
    line = np.array([[429300.0, 5150800.0], [429330.0, 5150800.0]])
    stations = np.array([0.0, 10, 20, 30])
    with pytest.raises(GroundGap) as caught:
        ground_from_raster(
            path, facts, drawn(line, np.array([30.0])), find_crs("EPSG:26915"), stations, "m"
        )
    assert caught.value.gaps_m == ((0.0, 30.0),)


def write(path: Path, z: np.ndarray, **options) -> Path:
    """A small raster of our own."""
    profile = {
        "driver": "GTiff",
        "width": z.shape[1],
        "height": z.shape[0],
        "count": 1,
        "dtype": z.dtype.name,
        "crs": "EPSG:26915",
        "transform": from_origin(500000.3, 5000020.7, 0.5, 0.5),
    } | options
    with rasterio.open(path, "w", **profile) as out:
        out.write(z, 1)
    return path


def plane(rows: int = 40, columns: int = 60) -> np.ndarray:
    rng = np.random.default_rng(5)
    return (100 + rng.normal(0, 0.3, (rows, columns))).astype(np.float32)


@pytest.mark.parametrize(
    "options",
    [
        {},
        {"tiled": True, "blockxsize": 16, "blockysize": 16},
        {"transform": from_origin(500000.3, 5000020.7, 0.5, 0.5) * Affine.rotation(23)},
        {"compress": "deflate", "predictor": 3},
    ],
    ids=["striped", "tiled", "rotated", "compressed"],
)
def test_every_layout_samples_as_scipy_does(tmp_path: Path, options: dict) -> None:
    """Against scipy.ndimage.map_coordinates (order 1) at random points."""
    z = plane()
    path = write(tmp_path / "z.tif", z, **options)
    rng = np.random.default_rng(8)
    column, row = rng.uniform(0.5, 58.5, 300), rng.uniform(0.5, 38.5, 300)
    with open_raster(path) as dataset:
        x, y = dataset.transform * (column + 0.5, row + 0.5)
        got = bilinear(dataset, np.column_stack([x, y]))
    assert got == pytest.approx(map_coordinates(z.astype(float), [row, column], order=1), abs=1e-8)


def test_scale_offset_and_feet_count(tmp_path: Path) -> None:
    z = np.full((20, 20), 1234, dtype=np.int16)
    path = write(tmp_path / "z.tif", z, nodata=-1)
    with rasterio.open(path, "r+") as out:
        out.scales, out.offsets, out.units = (0.01,), (300.0,), ("ft",)
    facts = inspect_raster(path)
    assert facts.vertical_unit == "ft"
    line = np.array([[500002.0, 5000018.0], [500008.0, 5000012.0]])
    route = drawn(line, np.array([72**0.5]))
    ground, _ = ground_from_raster(
        path, facts, route, find_crs("EPSG:26915"), np.array([0.0]), None
    )
    assert ground.elevation_m == pytest.approx((300 + 12.34) * 0.3048)
    with pytest.raises(InputError, match="states its elevations in ft"):
        ground_from_raster(path, facts, route, find_crs("EPSG:26915"), np.array([0.0]), "m")


def test_a_unit_is_never_guessed(tmp_path: Path) -> None:
    path = write(tmp_path / "z.tif", plane())
    line = np.array([[500002.0, 5000018.0], [500008.0, 5000012.0]])
    with pytest.raises(InputError, match="vertical unit"):
        ground_from_raster(
            path,
            inspect_raster(path),
            drawn(line, np.array([8.0])),
            find_crs("EPSG:26915"),
            np.array([0.0]),
            None,
        )


def test_one_missing_neighbour_makes_the_point_missing(tmp_path: Path) -> None:
    z = plane()
    z[10, 10] = -9999
    path = write(tmp_path / "z.tif", z, nodata=-9999)
    with open_raster(path) as dataset:
        near = dataset.transform * (10.0, 10.0)  # the corner between cells 9 and 10
        clear = dataset.transform * (9.4, 9.4)
        outside = dataset.transform * (0.2, 5.0)  # within half a cell of the edge
        got = bilinear(dataset, np.array([near, clear, outside]))
    assert np.isnan(got).tolist() == [True, False, True]


@pytest.mark.parametrize(
    ("options", "error", "words"),
    [
        ({"crs": None}, FileRefusedError, "coordinate system"),
        ({"transform": Affine.identity()}, FileRefusedError, "no position"),
        ({"tiled": True, "blockxsize": 4096, "blockysize": 4096}, TooLargeError, "blocks"),
    ],
)
@pytest.mark.filterwarnings("ignore::rasterio.errors.NotGeoreferencedWarning")
def test_files_that_cannot_serve_are_refused(tmp_path: Path, options, error, words) -> None:
    with pytest.raises(error, match=words):
        inspect_raster(write(tmp_path / "z.tif", plane(), **options))


def test_other_formats_under_a_tif_name_are_refused(tmp_path: Path) -> None:
    vrt = tmp_path / "z.tif"
    vrt.write_text("<VRTDataset rasterXSize='1' rasterYSize='1'></VRTDataset>")
    with pytest.raises(FileRefusedError, match="not a TIFF"):
        inspect_raster(vrt)
    cut = tmp_path / "cut.tif"
    cut.write_bytes(b"II*\0" + b"\0" * 20)
    with pytest.raises(FileRefusedError, match="damaged"):
        inspect_raster(cut)


@pytest.mark.parametrize(
    "options", [{}, {"transform": from_origin(500000.3, 5000020.7, 0.5, 0.5) * Affine.rotation(23)}]
)
def test_relief_covers_the_bounds(tmp_path: Path, options: dict) -> None:
    path = write(tmp_path / "z.tif", plane(), **options)
    facts = inspect_raster(path)
    png = tmp_path / "relief.png"
    png.write_bytes(draw_relief(path, facts))
    xmin, ymin, xmax, ymax = facts.bounds
    with Image.open(png) as picture:
        assert picture.width / picture.height == pytest.approx(
            (xmax - xmin) / (ymax - ymin), rel=0.01
        )


@pytest.mark.parametrize(("units", "lines"), [(None, 15), ("si", 15), ("us", 20)])
def test_contours_in_the_unit_of_the_reader(
    tmp_path: Path, units: UnitName | None, lines: int
) -> None:
    """A plane that falls 3.048 m, which is 10 ft: every 0.2 m is 15 contours, every 0.5 ft 20."""
    fall = np.tile(np.linspace(100.01, 100.01 + 3.047, 200), (40, 1))
    path = write(tmp_path / "z.tif", fall, crs="EPSG:26915+5703")
    facts = inspect_raster(path)
    assert facts.vertical_unit == "m"
    with Image.open(io.BytesIO(draw_relief(path, facts, units))) as picture:
        light = np.median(np.asarray(picture.convert("RGBA").convert("L"), dtype=float), axis=0)
    ink = light[1:-1] < np.minimum(light[:-2], light[2:]) - 8
    assert int(ink.sum()) == pytest.approx(lines, abs=1)


@pytest.mark.parametrize(("span", "interval"), [(31, 2), (1.4, 0.1), (0, 1), (250, 20)])
def test_contours_at_round_intervals(span: float, interval: float) -> None:
    assert contour_interval(span) == pytest.approx(interval)


def test_a_compound_system_states_its_vertical_unit(tmp_path: Path) -> None:
    """EPSG:2264 (feet) with EPSG:6360, NAVD88 height in US survey feet."""
    path = write(tmp_path / "z.tif", plane(), crs="EPSG:2264+6360")
    facts = inspect_raster(path)
    assert facts.vertical_unit == "us-ft"
    assert facts.cell_m == pytest.approx((0.5 * 1200 / 3937, 0.5 * 1200 / 3937))
