"""`yardfall source`: what an operator sees, and a reading that was stopped."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from tile_server import serving
from tiles import four, ground, write

from yardfall.cli.main import main
from yardfall.store.sources import SourceStore


@pytest.fixture
def run(tmp_path: Path, capsys):
    """Run a command: exit code, what it printed, what it complained."""

    def call(*words: object) -> tuple[int, str, str]:
        code = main(["source", *map(str, words), "--data", str(tmp_path / "data")])
        printed = capsys.readouterr()
        return code, printed.out, printed.err

    return call


def test_a_source_from_its_naming_to_its_end(run, tmp_path: Path) -> None:
    tiles, _ = four(tmp_path)
    code, out, err = run(
        "add", "elevation", "valley", tiles, "--rmse", "0.1", "--date", "2020-02-01"
    )
    assert code == 0
    assert f"valley  elevation, 4 of {tiles}" in out
    assert "vertical error: 0.1 m RMSE" in out
    assert "Users are told that nobody stated its licence." in out
    assert "4 of 4 tiles" in err
    assert run("list")[1] == out
    code, out, _ = run("check", "valley")
    assert code == 0
    assert "cell: 1 × 1 (4)" in out
    write(tiles / "new.tif", ground(64, 64), 600)
    (tiles / "0_0.tif").unlink()
    code, _, err = run("check", "valley")
    assert code == 2
    assert "new.tif" in err
    assert "0_0.tif" in err
    code, out, _ = run("refresh", "valley")
    assert (code, "elevation, 4 of" in out) == (0, True)
    assert run("check", "valley")[0] == 0
    assert run("remove", "valley")[0] == 0
    assert run("list") == (0, "", "")
    assert (tiles / "new.tif").exists()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("check", "none"), "no source named none"),
        (("refresh", "../x"), "no source named ../x"),
        (("remove", "none"), "no source named none"),
        (("add", "elevation", "Valley", "{}"), "small letters"),
        (("add", "elevation", "valley", "{}"), "is a GeoTIFF of elevations"),
        (("add", "elevation", "valley", "{}/none"), "no folder"),
        (("add", "elevation", "valley", "http://127.0.0.1:1/dem/"), "no standard way"),
        (("add", "elevation", "valley", "{}", "--date", "2020"), "no date"),
        (("add", "lots", "lots", "{}/none.gpkg", "--id", "n"), "No such file"),
    ],
)
def test_what_cannot_be_done_is_said(run, tmp_path: Path, words, told: str) -> None:
    code, out, err = run(*(word.format(tmp_path) for word in words))
    assert (code, out) == (2, "")
    assert told in err
    assert run("list") == (0, "", ""), "nothing is left of what cannot be"


def test_a_name_is_taken_once(run, tmp_path: Path) -> None:
    tiles, _ = four(tmp_path)
    assert run("add", "elevation", "valley", tiles)[0] == 0
    code, _, err = run("add", "elevation", "valley", tiles)
    assert (code, "Remove it first" in err) == (2, True)


def test_lots_that_cannot_be_read_leave_no_source(run, tmp_path: Path) -> None:
    (tmp_path / "lots.json").write_text("{}")
    assert run("add", "lots", "lots", tmp_path / "lots.json", "--id", "n")[0] == 2
    assert run("list") == (0, "", "")


def test_a_reading_that_was_stopped_goes_on(run, tmp_path: Path, monkeypatch) -> None:
    """The server goes away after some tiles; what was read is not read again."""
    from yardfall.geo.sources import web_file
    from yardfall.use_cases import sources

    monkeypatch.setattr(web_file, "PAUSE_S", 0.001)
    monkeypatch.setattr(sources, "BATCH", 4)
    tiles = tmp_path / "tiles"
    for number in range(12):
        write(tiles / f"{number:02}.tif", ground(64, 64), 64 * number)
    with serving(tmp_path) as server:
        (tmp_path / "list.txt").write_text("\n".join(f"tiles/{n:02}.tif" for n in range(12)))

        def die(handler) -> bool:
            if len({path for path, _ in server.asked}) <= 8:
                return False
            handler.close_connection = True
            handler.connection.close()
            return True

        server.behave = die
        code, _, err = run("add", "elevation", "far", f"{server.address}/list.txt")
        assert code == 2
        assert "yardfall source refresh far" in err
        assert "not read to its end" in run("list")[1]
        done = {
            place
            for place, _ in SourceStore(tmp_path / "data" / "sources").tiles("far", found=True)
        }
        assert 4 <= len(done) < 12
        server.behave = None
        server.asked.clear()
        assert run("refresh", "far")[0] == 0
        again = {f"{server.address}{path}" for path, _ in server.asked}
        assert not again & done
        assert "elevation, 12 of" in run("list")[1]
        server.asked.clear()
        assert run("refresh", "far")[0] == 0
        assert {asked for _, asked in server.asked} == {"", "bytes=0-0"}, "nothing changed"


def test_a_stac_catalogue_is_read(run, tmp_path: Path) -> None:
    """STAC 1.0: a Collection that links to Items, each with a thumbnail, metadata and a raster."""
    tiles, _ = four(tmp_path)
    names = sorted(path.name for path in tiles.iterdir())
    for number, name in enumerate(names):
        item = {
            "type": "Feature",
            "stac_version": "1.0.0",
            "id": name,
            "geometry": None,
            "properties": {"datetime": None, "start_datetime": "2019-05-01T00:00:00Z"}
            | {"end_datetime": f"2019-05-0{number + 2}T00:00:00Z"},
            "assets": {
                "thumbnail": {"href": f"./{name}.png", "type": "image/png", "roles": ["thumbnail"]},
                "overview": {"href": f"./{name}", "type": "image/tiff", "roles": ["overview"]},
                "dem": {"href": f"./{name}", "type": "image/tiff; application=geotiff"}
                | {"roles": ["data"]},
            },
            "links": [{"rel": "collection", "href": "../collection.json"}],
        }
        (tiles / f"{name}.json").write_text(json.dumps(item))
    links = [{"rel": "item", "href": f"./tiles/{name}.json"} for name in names]
    collection = {
        "type": "Collection",
        "stac_version": "1.0.0",
        "license": "CC0-1.0",
        "links": links,
    }
    (tmp_path / "collection.json").write_text(json.dumps(collection))
    with serving(tmp_path) as server:
        for name, root in (("here", tmp_path), ("far", server.address)):
            code, out, _ = run("add", "elevation", name, f"{root}/collection.json")
            assert code == 0
            assert "licence: CC0-1.0" in out
            store = SourceStore(tmp_path / "data" / "sources")
            days = [facts["date"] for _, facts in store.tiles(name)]
            assert days == ["2019-05-02", "2019-05-03", "2019-05-04", "2019-05-05"]
