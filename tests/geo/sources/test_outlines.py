"""Lots and buildings of each kind of file, and files that are not what their names say."""

from __future__ import annotations

import io
import json
import sqlite3
import zipfile
from pathlib import Path
from typing import Any

import geopandas
import pandas
import pyogrio
import pytest
import shapely

from yardfall.core.errors import FileRefusedError, InputError
from yardfall.geo.sources.outlines import read_outlines
from yardfall.geo.sources.web_file import WebFiles

LOTS = {
    "12-034": shapely.box(429_000, 5_150_900, 429_020, 5_150_940),
    "12-035": shapely.box(429_020, 5_150_900, 429_045, 5_150_940),
}
UTM = "EPSG:26915"


def frame(crs: str | None = UTM, **more: object) -> geopandas.GeoDataFrame:
    columns = {"parcel": list(LOTS), "owner": ["A", "B"]} | more
    return geopandas.GeoDataFrame(columns, geometry=list(LOTS.values()), crs=crs)


def zipped(folder: Path, path: Path, lots: geopandas.GeoDataFrame) -> Path:
    lots.to_file(folder / "lots.shp")
    with zipfile.ZipFile(path, "w") as packed:
        for part in folder.glob("lots.*"):
            packed.write(part, f"county/{part.name}")
    return path


def write(folder: Path, kind: str) -> Path:
    path = folder / f"lots{kind}"
    if kind == ".zip":
        inside = folder / "inside"
        inside.mkdir()
        return zipped(inside, path, frame())
    if kind == ".geojson":
        path.write_text(frame().to_crs("OGC:CRS84").drop(columns="owner").to_json())
        return path
    if kind == ".parquet":
        frame().to_parquet(path)
        return path
    frame().to_file(path)
    return path


def read(path: Path, field: str = "parcel", layer: str | None = None) -> dict[str, Any]:
    """Every outline by its id."""
    found = read_outlines(str(path), field, layer, WebFiles())
    return {key: shapely.from_wkb(wkb) for key, wkb, _ in found}


@pytest.mark.parametrize("kind", [".gpkg", ".fgb", ".geojson", ".zip", ".parquet"])
def test_each_kind_of_file_is_read(tmp_path: Path, kind: str) -> None:
    """Against geopandas' own reading and its own change of system, to a millionth of a degree's
    hundredth (a millimetre)."""
    found = read(write(tmp_path, kind))
    known = frame().to_crs("OGC:CRS84").set_index("parcel").geometry
    assert found.keys() == LOTS.keys()
    for key, shape in found.items():
        assert shapely.hausdorff_distance(shape, known[key]) < 1e-8


def test_what_a_file_is_its_first_bytes_say(tmp_path: Path) -> None:
    path = write(tmp_path, ".gpkg")
    assert list(read(path.rename(tmp_path / "lots.shp"))) == list(LOTS)


def test_a_whole_number_is_an_id_without_a_point(tmp_path: Path) -> None:
    frame(number=[7.0, 8.0]).to_file(tmp_path / "lots.gpkg")
    assert list(read(tmp_path / "lots.gpkg", "number")) == ["7", "8"]


def test_what_is_missing_is_named(tmp_path: Path) -> None:
    path = write(tmp_path, ".gpkg")
    with pytest.raises(InputError, match="parcel, owner") as refused:
        read(path, "number")
    assert refused.value.problems[0].pointer == "/id"
    with pytest.raises(InputError, match="Its fields: parcel"):
        read(write(tmp_path, ".geojson"), "number")
    frame().to_file(path, layer="second")
    with pytest.raises(FileRefusedError, match=r"lots, second.*--layer"):
        read(path)
    assert list(read(path, layer="second")) == list(LOTS)
    no_crs = tmp_path / "no.fgb"
    with pytest.warns(UserWarning, match="crs"):
        frame(None).to_file(no_crs)
    with pytest.raises(FileRefusedError, match="coordinate system"):
        read(no_crs)


def test_what_is_missing_in_a_parquet_is_named(tmp_path: Path) -> None:
    path = write(tmp_path, ".parquet")
    with pytest.raises(InputError, match=r"Its fields: parcel, owner\."):
        read(path, "number")
    with pytest.raises(InputError, match=r"Its fields: parcel, owner\."):
        read(path, "geometry")
    frame(None).to_parquet(path)
    with pytest.raises(FileRefusedError, match="coordinate system"):
        read(path)
    pandas.DataFrame({"parcel": [1]}).to_parquet(path)
    with pytest.raises(FileRefusedError, match="none of these"):
        read(path)


def test_a_parquet_that_names_another_file_opens_none(tmp_path: Path) -> None:
    """Column chunks may be said to lie elsewhere (`file_path`, parquet.thrift)."""
    import pyarrow.parquet

    told: list[Any] = []
    table = pyarrow.parquet.read_table(write(tmp_path, ".parquet"))
    secret = tmp_path / "secret.parquet"
    pyarrow.parquet.write_table(table, secret, metadata_collector=told)
    told[0].set_file_path(str(secret))
    trap = tmp_path / "trap"
    pyarrow.parquet.write_metadata(table.schema, trap, metadata_collector=told)
    assert str(secret).encode() in trap.read_bytes()
    with pytest.raises(FileRefusedError):
        read(trap)


def test_without_pyarrow_a_parquet_is_refused(tmp_path: Path, monkeypatch) -> None:
    path = write(tmp_path, ".parquet")
    monkeypatch.setattr("yardfall.geo.sources.outlines.find_spec", lambda _name: None)
    with pytest.raises(FileRefusedError, match=r"yardfall\[parquet\]"):
        read(path)


VRT = (
    '<OGRVRTDataSource><OGRVRTLayer name="lots"><SrcDataSource>{file}</SrcDataSource>'
    "</OGRVRTLayer></OGRVRTDataSource>"
)


@pytest.mark.parametrize("kind", [".geojson", ".gpkg", ".fgb", ".vrt", ".shp", ".zip"])
def test_a_text_that_names_another_file_opens_none(tmp_path: Path, kind: str) -> None:
    """GDAL's virtual format, under any name: pyogrio itself follows it, which shows that the
    danger is real; we refuse it."""
    secret = write(tmp_path, ".fgb").rename(tmp_path / "secret.fgb")
    text = VRT.format(file=secret).replace('name="lots"', 'name="lots"')
    path = tmp_path / f"trap{kind}"
    path.write_text(text)
    if kind == ".geojson":
        assert len(pyogrio.read_dataframe(path)) == 2
    with pytest.raises(FileRefusedError):
        read(path)


def test_a_virtual_file_inside_a_true_one_opens_none(tmp_path: Path) -> None:
    """The text in the unused bytes at a GeoPackage's start, where GDAL looks for it."""
    secret = write(tmp_path, ".fgb")
    path = tmp_path / "both.gpkg"
    frame().iloc[:1].to_file(path)
    content = bytearray(path.read_bytes())
    text = VRT.format(file=secret).encode()
    at = content.find(bytes(len(text)), 100, 1024)
    assert at > 0, "the first page has room"
    content[at : at + len(text)] = text
    path.write_bytes(bytes(content))
    assert sqlite3.connect(path).execute("select count(*) from both").fetchone() == (1,)
    assert list(read(path)) == ["12-034"], "the file's own lot, not the other file's two"


def test_a_zip_gives_its_shapefile_alone(tmp_path: Path) -> None:
    path = write(tmp_path, ".zip")
    with zipfile.ZipFile(path, "a") as packed:
        packed.writestr("county/lots.shp.xml", "<metadata/>")
        packed.writestr("../escape.txt", "out")
        packed.writestr("county/lots.qix", b"side file")
    assert list(read(path)) == list(LOTS)
    assert not (tmp_path.parent / "escape.txt").exists()
    trap = tmp_path / "trap.zip"
    with zipfile.ZipFile(trap, "w") as packed:
        packed.writestr("lots.shp", VRT.format(file=write(tmp_path, ".fgb")))
    with pytest.raises(FileRefusedError):
        read(trap)


def test_geojson_in_another_system_is_refused(tmp_path: Path) -> None:
    document = json.loads(frame().to_json())
    document["crs"] = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::26915"}}
    (tmp_path / "lots.json").write_text(json.dumps(document))
    with pytest.raises(FileRefusedError, match="RFC 7946"):
        read(tmp_path / "lots.json")


@pytest.mark.parametrize(
    "content", [b"", b"PAR1", b"{", b'{"type":"FeatureCollection"}', b"PK\x03\x04"]
)
def test_what_is_none_of_them_is_refused(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "lots").write_bytes(content)
    with pytest.raises(FileRefusedError):
        read(tmp_path / "lots")


def test_only_areas_are_taken(tmp_path: Path) -> None:
    shapes = [
        shapely.Point(1, 2),
        shapely.LineString([(0, 0), (1, 1)]),
        shapely.box(0, 0, 1, 1),
        None,
    ]
    drawn = [shape and json.loads(shapely.to_geojson(shape)) for shape in shapes]
    features = [
        {"type": "Feature", "properties": {"n": i}, "geometry": shape}
        for i, shape in enumerate(drawn)
    ]
    text = io.StringIO()
    json.dump({"type": "FeatureCollection", "features": features}, text)
    (tmp_path / "lots.json").write_text(text.getvalue())
    assert list(read(tmp_path / "lots.json", "n")) == ["2"]
