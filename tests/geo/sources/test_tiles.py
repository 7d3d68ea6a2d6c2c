"""Tiles that meet and overlap: which are read, and what is refused."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import rasterio
from rasterio.transform import from_origin
from tiles import CRS, EMPTY, NORTH, SIZE, WEST, ground, write

from yardfall.core.arrays import Floats
from yardfall.core.errors import FileRefusedError, InputError, UnavailableError
from yardfall.geo.crs import find_crs
from yardfall.geo.raster import bilinear, open_raster
from yardfall.store.sources import SourceStore
from yardfall.use_cases.grounds import source_elevations
from yardfall.use_cases.sources import Stated, look_over, name_elevations, read_again

MIDDLE = np.array([[WEST + SIZE + 0.3, NORTH - 100.4]])
"""Where two tiles side by side meet."""


@pytest.fixture
def store(tmp_path: Path) -> SourceStore:
    return SourceStore(tmp_path / "data" / "sources")


def quiet(_done: int, _total: int) -> None:
    pass


def name(store: SourceStore, *roots: Path, key: str = "valley", **stated: object) -> None:
    name_elevations(store, key, [str(root) for root in roots], Stated(**stated), quiet)


def seen(store: SourceStore, xy: Floats, crs: str = CRS) -> Floats:
    """The ground at points, in metres."""
    with source_elevations("valley", store)(xy, find_crs(crs), 0.0) as its:
        found: Floats = bilinear(its.dataset, xy) * its.unit_m
        return found


def two(folder: Path, **more: object) -> np.ndarray:
    """Two tiles side by side; the second with what is given."""
    z = ground(SIZE, 2 * SIZE)
    write(folder / "west.tif", z[:, :SIZE])
    write(folder / "east.tif", z[:, SIZE:], SIZE, **more)
    return z


def test_every_cell_about_a_seam_is_that_of_one_file(store, tmp_path) -> None:
    z = two(tmp_path / "t")
    whole = write(tmp_path / "whole.tif", z)
    name(store, tmp_path / "t")
    rng = np.random.default_rng(4)
    xy = np.column_stack(
        [WEST + SIZE + rng.uniform(-3, 3, 500), NORTH - rng.uniform(0.6, SIZE - 0.6, 500)]
    )
    with open_raster(whole) as dataset:
        assert np.array_equal(seen(store, xy), bilinear(dataset, xy))
    with rasterio.open(whole) as dataset:  # rasterio's own window, to the cell
        cells = dataset.read(1)[50:60, SIZE - 5 : SIZE + 5].astype(float)
    with source_elevations("valley", store)(xy, find_crs(CRS), 0.0) as its:
        window = rasterio.windows.Window(SIZE - 5, 50, 10, 10)
        assert np.array_equal(its.dataset.read(1, window=window), cells)


@pytest.mark.parametrize("scaled", ["one", "all"])
def test_scaled_cells_are_told_in_metres(store, tmp_path, scaled: str) -> None:
    z = ground(SIZE, 2 * SIZE)
    whole = (z * 100).astype(np.int32)
    sides = {"west": (whole[:, :SIZE], 0), "east": (whole[:, SIZE:], SIZE)}
    for side, (cells, column) in sides.items():
        as_metres = scaled == "one" and side == "west"
        cells = z[:, :SIZE] if as_metres else cells
        predictor = {} if as_metres else {"predictor": 2}
        path = write(tmp_path / "t" / f"{side}.tif", cells, column, **predictor)
        if not as_metres:
            with rasterio.open(path, "r+") as out:
                out.scales = (0.01,)
    name(store, tmp_path / "t")
    assert seen(store, MIDDLE)[0] == pytest.approx(float(z[100, SIZE]), abs=0.05)


def test_where_tiles_overlap_the_newer_is_taken_and_its_holes(store, tmp_path) -> None:
    z = ground(SIZE, SIZE)
    write(tmp_path / "old" / "a.tif", z + 5)
    newer = z.copy()
    newer[40:50, 40:50] = EMPTY
    write(tmp_path / "new" / "b.tif", newer)
    items = [
        {
            "type": "Feature",
            "stac_version": "1.0.0",
            "id": day,
            "geometry": None,
            "properties": {"datetime": f"{day}T12:00:00Z"},
            "assets": {"dem": {"href": href, "type": "image/tiff; application=geotiff"}},
            "links": [],
        }
        for day, href in (("2011-03-01", "old/a.tif"), ("2019-11-30", "new/b.tif"))
    ]
    import json

    document = tmp_path / "items.json"
    document.write_text(json.dumps({"type": "FeatureCollection", "features": items}))
    name(store, document)
    at = np.array([[WEST + 20.5, NORTH - 20.5], [WEST + 45.5, NORTH - 45.5]])
    known, hole = seen(store, at)
    assert known == pytest.approx(float(z[20, 20]))
    assert np.isnan(hole), "the older ground may be gone there"
    with source_elevations("valley", store)(at, find_crs(CRS), 0.0) as its:
        assert its.source.date == "2011-03-01/2019-11-30"


def test_of_one_date_a_tile_fills_another_s_holes(store, tmp_path) -> None:
    z = ground(SIZE, SIZE)
    west, east = z.copy(), z.copy()
    west[:, 128:], east[:, :128] = EMPTY, EMPTY
    write(tmp_path / "t" / "west.tif", west)
    write(tmp_path / "t" / "east.tif", east)
    name(store, tmp_path / "t")
    at = np.array([[WEST + x, NORTH - 60.5] for x in (100.5, 128.0, 150.5)])
    with open_raster(write(tmp_path / "whole.tif", z)) as dataset:
        assert np.array_equal(seen(store, at), bilinear(dataset, at))


def test_of_two_grids_the_finer_that_has_it_all_is_taken(store, tmp_path) -> None:
    write(tmp_path / "t" / "coarse.tif", np.full((100, 100), 80, np.float32), cell=10.0)
    write(tmp_path / "t" / "fine.tif", np.full((SIZE, SIZE), 70, np.float32))
    name(store, tmp_path / "t")
    assert seen(store, np.array([[WEST + 50.0, NORTH - 50]])) == [70]
    both = np.array([[WEST + SIZE - 20.0, NORTH - 50], [WEST + SIZE + 20, NORTH - 50]])
    assert seen(store, both).tolist() == [80, 80], "the grid that has all of it, never both"


@pytest.mark.parametrize(
    ("more", "code"),
    [
        ({"cell": 2.0, "corner": (WEST - SIZE, NORTH)}, "different sizes or places"),
        ({"corner": (WEST + 0.5, NORTH)}, "different sizes or places"),
        ({"unit": "ft"}, "different units"),
        ({"crs": "EPSG:26915+5703"}, "different coordinate systems"),
    ],
    ids=["cell", "shift", "unit", "crs"],
)
def test_tiles_that_do_not_fit_are_not_put_together(store, tmp_path, more, code) -> None:
    two(tmp_path / "t", **more)
    name(store, tmp_path / "t")
    across = np.array([[WEST + SIZE - 9.0, NORTH - 50], [WEST + SIZE + 9, NORTH - 50]])
    with pytest.raises(InputError, match=code) as refused:
        seen(store, across)
    assert refused.value.problems[0].pointer == "/name"
    assert np.isfinite(seen(store, across[:1] - [9, 0])), "on one side all is well"


def test_heights_by_another_datum_are_not_put_together(store, tmp_path) -> None:
    z = two(tmp_path / "t", crs="EPSG:6344+5703")
    write(tmp_path / "t" / "west.tif", z[:, :SIZE], crs="EPSG:6344+8228")  # NAVD88 in feet
    name(store, tmp_path / "t")
    with pytest.raises(InputError, match="different datums meet"):
        seen(store, np.array([[WEST + SIZE - 9.0, NORTH - 50], [WEST + SIZE + 9, NORTH - 50]]))


def test_a_value_that_no_land_has_is_a_hole(store, tmp_path) -> None:
    z = ground(SIZE, SIZE)
    z[:30] = EMPTY
    write(tmp_path / "t" / "a.tif", z, nodata=None)
    name(store, tmp_path / "t")
    assert np.isnan(seen(store, np.array([[WEST + 20.5, NORTH - 20.5]])))


def test_the_unit_is_stated_or_read_and_never_guessed(store, tmp_path) -> None:
    write(tmp_path / "t" / "a.tif", ground(SIZE, SIZE), unit="")
    with pytest.raises(InputError, match="--unit"):
        name(store, tmp_path / "t")
    name(store, tmp_path / "t", unit="us-ft")
    metres = seen(store, np.array([[WEST + 20.5, NORTH - 20.5]]))[0]
    assert metres == pytest.approx(float(ground()[20, 20]) * 1200 / 3937)  # 39.37 in to the metre
    write(tmp_path / "u" / "a.tif", ground(SIZE, SIZE), unit="ft")
    with pytest.raises(InputError, match="in ft, not m"):
        name(store, tmp_path / "u", key="other", unit="m")


def test_a_tile_that_changed_is_not_read_until_it_is_listed_anew(store, tmp_path) -> None:
    path = write(tmp_path / "t" / "a.tif", ground(SIZE, SIZE))
    name(store, tmp_path / "t")
    write(path, ground(SIZE, SIZE) + 1)
    at = np.array([[WEST + 20.5, NORTH - 20.5]])
    with pytest.raises(UnavailableError, match="yardfall source refresh valley"):
        seen(store, at)
    assert [place for place, _ in look_over(store, "valley", quiet).changed] == [str(path)]
    read_again(store, "valley", quiet)
    assert seen(store, at)[0] == pytest.approx(float(ground()[20, 20]) + 1)
    path.unlink()
    with pytest.raises(UnavailableError):
        seen(store, at)


@pytest.mark.parametrize("what", ["picture", "turned", "no_crs", "text"])
def test_what_is_no_tile_of_elevations_is_left_out(store, tmp_path, what: str) -> None:
    write(tmp_path / "t" / "a.tif", ground(SIZE, SIZE))
    path = tmp_path / "t" / "b.tif"
    z = ground(64, 64)
    if what == "text":
        path.write_text("<VRTDataset/>")
    elif what == "picture":
        shape = {"width": 8, "height": 8, "count": 3, "dtype": "uint8"}
        place = {"crs": CRS, "transform": from_origin(WEST, NORTH, 1, 1)}
        with rasterio.open(path, "w", driver="GTiff", **shape, **place):
            pass
    elif what == "no_crs":
        write(path, z, crs=None)
    else:
        write(path, z, transform=rasterio.Affine(0.8, 0.6, WEST, 0.6, -0.8, NORTH))
    reading = name_elevations(store, "valley", [str(tmp_path / "t")], Stated(), quiet)
    assert (reading.count, [place for place, _ in reading.left_out]) == (1, [str(path)])


def test_what_was_read_of_other_roots_is_not_taken(store, tmp_path) -> None:
    """A reading that was stopped, then begun anew with another root and another date."""
    write(tmp_path / "one" / "a.tif", ground(64, 64))
    write(tmp_path / "one" / "b.tif", ground(64, 64), unit="")
    with pytest.raises(InputError, match="--unit"):
        name(store, tmp_path / "one")
    rows = [(str(tmp_path / "one" / "a.tif"), {"tag": "x"}, None)]
    store.add_found("valley", rows)
    write(tmp_path / "two" / "c.tif", ground(64, 64))
    name(store, tmp_path / "two", date="2020-02-01")
    assert [(Path(place).name, facts["date"]) for place, facts in store.tiles("valley")] == [
        ("c.tif", "2020-02-01")
    ]


def test_a_root_without_tiles_is_refused(store, tmp_path) -> None:
    (tmp_path / "t").mkdir()
    with pytest.raises(FileRefusedError, match="GeoTIFF"):
        name(store, tmp_path / "t")
