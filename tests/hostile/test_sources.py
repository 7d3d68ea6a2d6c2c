"""Sources that mislead, dawdle or lie, and requests that name what nobody named.

Every server records what it was asked, so a test sees that nothing else was.
"""

from __future__ import annotations

import json
import socket
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from flask import Flask
from flask.testing import FlaskClient
from tile_server import TileServer, serving
from tiles import CRS, NORTH, SIZE, WEST, four, ground, write

from yardfall.cli.main import main
from yardfall.geo.sources import block_cache
from yardfall.geo.sources.block_cache import BlockCache
from yardfall.geo.sources.far_blocks import FarBlocks
from yardfall.store.sources import SourceStore
from yardfall.use_cases import grounds

WAIT_S = 1.0
BODY: dict[str, Any] = {
    "units": "si",
    "route": {
        "line": {
            "type": "LineString",
            "coordinates": [[WEST + 20.5, NORTH - 20.5], [WEST + 40.5, NORTH - 30.5]],
        },
        "crs": CRS,
    },
    "ground": {"kind": "source", "name": "far"},
}


@pytest.fixture
def server(tmp_path: Path) -> Iterator[TileServer]:
    tiles, _ = four(tmp_path / "ground")
    names = "\n".join(sorted(f"tiles/{path.name}" for path in tiles.iterdir()))
    (tiles.parent / "list.txt").write_text(names)
    with serving(tiles.parent) as found:
        yield found


@pytest.fixture
def add(app: Flask, tmp_path: Path) -> Callable[..., int]:
    def call(*words: Any) -> int:
        return main(["source", "add", *map(str, words), "--data", str(tmp_path / "data")])

    return call


@pytest.fixture
def far(add: Callable[..., int], server: TileServer, monkeypatch: pytest.MonkeyPatch) -> TileServer:
    """The four tiles named as a source, with a short time to wait for them."""
    assert add("elevation", "far", f"{server.address}/list.txt") == 0
    server.asked.clear()
    made: dict[Path, FarBlocks] = {}

    def blocks(folder: Path) -> FarBlocks:
        return made.setdefault(folder, FarBlocks(BlockCache(folder / "blocks"), WAIT_S))

    monkeypatch.setattr(grounds, "far_blocks", blocks)
    return server


def refused(client: FlaskClient, status: int, body: dict[str, Any] = BODY) -> str:
    """The sentence of a profile that cannot be had."""
    answer = client.post("/api/v1/profile", json=body)
    assert answer.status_code == status, answer.text
    return str(answer.json["detail"])


@pytest.mark.parametrize(
    "name",
    [
        "/etc/passwd",
        "../rasters/x",
        "http://127.0.0.1:9/x.tif",
        "/vsicurl/http://127.0.0.1/x",
        "<VRTDataset/>",
        "far.sqlite",
        "Far",
        "far\n",
        "",
    ],
)
def test_a_request_names_only_what_was_named(name: str, far: TileServer, client) -> None:
    refused(client, 422, BODY | {"ground": {"kind": "source", "name": name}})
    assert far.asked == []


def test_a_source_takes_no_place_beside_its_name(far: TileServer, client) -> None:
    for more in ({"root": far.address}, {"vertical_unit": "m"}, {"raster": "0" * 32}):
        refused(client, 422, BODY | {"ground": BODY["ground"] | more})
    assert far.asked == []


def send_elsewhere(status: int) -> Callable[[Any], bool]:
    def behave(handler: Any) -> bool:
        if handler.path == "/secret.tif":
            return False
        handler.send_response(status)
        handler.send_header("Location", "/secret.tif")
        handler.send_header("Content-Length", "0")
        handler.end_headers()
        return True

    return behave


@pytest.mark.parametrize("status", [301, 302, 303, 307, 308])
def test_no_redirect_is_followed(status: int, far: TileServer, add, client) -> None:
    far.behave = send_elsewhere(status)
    assert "yardfall source check far" in refused(client, 503)
    for root in ("list.txt", "items.json", "tiles/0_0.tif"):
        assert add("elevation", f"b-{root[0]}", f"{far.address}/{root}") == 2
    assert add("lots", "lots", f"{far.address}/lots.geojson", "--id", "n") == 2
    assert "/secret.tif" not in {path for path, _ in far.asked}


@pytest.mark.parametrize(
    "named",
    [
        "{other}/x.tif",
        "../x.tif",
        "tiles/../../x.tif",
        "tiles/%2e%2e/%2E%2e/x.tif",
        "//127.0.0.1:{port}/x.tif",
        "file:///etc/passwd",
        "/vsicurl/{other}/x.tif",
        "user@127.0.0.1:{port}/../x.tif",
    ],
)
@pytest.mark.parametrize("kind", ["text", "stac", "link"])
@pytest.mark.parametrize("where", ["web", "here"])
def test_a_document_names_only_what_lies_below_it(
    named: str, kind: str, where: str, server: TileServer, add, tmp_path: Path
) -> None:
    write(tmp_path / "x.tif", ground(64, 64))
    below = server.folder / "below"
    below.mkdir()
    write(server.folder / "x.tif", ground(64, 64))
    with serving(tmp_path) as other:
        port = other.address.rpartition(":")[2]
        href = named.format(other=other.address, port=port)
        name = "list.txt" if kind == "text" else "items.json"
        asset = {"href": href, "type": "image/tiff"}
        item = {"type": "Feature", "properties": {}, "assets": {"dem": asset}, "links": []}
        linked = {"type": "Catalog", "links": [{"rel": "item", "href": href}]}
        text = href if kind == "text" else json.dumps(item if kind == "stac" else linked)
        (below / name).write_text(text)
        root = f"{server.address}/below/{name}" if where == "web" else below / name
        assert add("elevation", "trap", root) == 2
        assert other.asked == []
    assert [
        path for path, _ in server.asked if path.endswith("x.tif") and "below" not in path
    ] == []


def test_a_folder_s_links_lead_nowhere(add, tmp_path: Path, capsys) -> None:
    write(tmp_path / "secret" / "a.tif", ground(64, 64))
    write(tmp_path / "root" / "b.tif", ground(64, 64))
    (tmp_path / "root" / "a.tif").symlink_to(tmp_path / "secret" / "a.tif")
    (tmp_path / "root" / "more").symlink_to(tmp_path / "secret")
    assert add("elevation", "here", tmp_path / "root") == 0
    assert "elevation, 1 of" in capsys.readouterr().out


def test_documents_that_lead_in_a_circle_end(server: TileServer, add) -> None:
    for one, other in (("a", "b"), ("b", "a")):
        links = [{"rel": "child", "href": f"{other}.json"}, {"rel": "item", "href": f"{one}.json"}]
        (server.folder / f"{one}.json").write_text(json.dumps({"type": "Catalog", "links": links}))
    assert add("elevation", "circle", f"{server.address}/a.json") == 2
    assert len(server.asked) == 2


SIDE_FILES = ("aux.xml", "ovr", "msk", "tfw", "wld", "hdr", "prj", "IMD", "RPB")


def test_nothing_beside_a_tile_is_looked_at(server: TileServer, add, client) -> None:
    """A tile alone on the web, then here with files beside it that would change what it says."""
    assert add("elevation", "far", f"{server.address}/tiles/0_0.tif") == 0
    client.post("/api/v1/profile", json=BODY)
    assert {path for path, _ in server.asked} == {"/tiles/0_0.tif"}
    here = server.folder / "alone"
    path = write(here / "a.tif", ground(SIZE, SIZE))
    assert add("elevation", "here", here) == 0
    body = BODY | {"ground": {"kind": "source", "name": "here"}}
    plain = client.post("/api/v1/profile", json=body).json
    xml = (
        "<PAMDataset><GeoTransform>1,1,0,1,0,-1</GeoTransform><PAMRasterBand band='1'>"
        "<NoDataValue>240</NoDataValue><Scale>3</Scale><UnitType>ft</UnitType></PAMRasterBand>"
        "</PAMDataset>"
    )
    for end in SIDE_FILES:
        for name in (f"a.{end}", f"a.tif.{end}"):
            (here / name).write_text(xml if end == "aux.xml" else "1\n0\n0\n-1\n0\n0\n")
    assert client.post("/api/v1/profile", json=body).json == plain
    path.with_name("b.tif").write_text(f"<VRTDataset><SourceFilename>{path}</SourceFilename>")
    assert main(["source", "refresh", "here", "--data", str(here.parents[1] / "data")]) == 0


def test_the_environment_s_proxy_is_not_asked(
    far: TileServer, client, monkeypatch, tmp_path
) -> None:
    with serving(tmp_path) as proxy:
        for name in ("http_proxy", "HTTP_PROXY", "ALL_PROXY", "all_proxy"):
            monkeypatch.setenv(name, proxy.address)
        assert client.post("/api/v1/profile", json=BODY).status_code == 200
        assert proxy.asked == []
    assert far.asked


def dripping(what: str) -> Callable[[Any], bool]:
    """A byte every tenth of a second, of the header or of the body, or nothing at all."""

    def behave(handler: Any) -> bool:
        end_s = time.monotonic() + 20
        if what == "body":
            handler.send_response(206)
            handler.send_header("Content-Range", "bytes 0-999/1000")
            handler.send_header("Content-Length", "1000")
            handler.end_headers()
        while time.monotonic() < end_s:
            if what != "silence":
                handler.wfile.write(b"H" if what == "header" else b"x")
                handler.wfile.flush()
            time.sleep(0.1)
        return True

    return behave


@pytest.mark.parametrize("what", ["header", "body", "silence"])
def test_a_slow_source_costs_a_bounded_wait(what: str, far: TileServer, client) -> None:
    far.behave = dripping(what)
    began = time.monotonic()
    assert "does not answer in time" in refused(client, 503)
    assert time.monotonic() - began < WAIT_S + 1
    began = time.monotonic()
    assert "does not answer in time" in refused(client, 503)
    assert time.monotonic() - began < 0.5, "nobody else waits for it"
    answer = client.get("/api/v1/ground?lon=-93.9247&lat=46.5087")
    assert answer.status_code == 200
    assert "does not answer" in answer.json["ground"][0]["problem"]


def test_a_dead_source_is_said_to_be(add, far: TileServer, client, tmp_path: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        dead = f"http://127.0.0.1:{taken.getsockname()[1]}/list.txt"
        assert add("elevation", "dead", dead) == 2
    store = SourceStore(tmp_path / "data" / "sources")
    place, facts = next(iter(store.tiles("far")))
    header = store.header("far", place)
    moved = place.replace("127.0.0.1", "127.0.0.2")  # where nobody listens
    store.add_found("far", [(moved, facts, header)])
    store.finish("far", store.about("far"))
    assert "cannot be reached" in refused(client, 503)


@pytest.mark.parametrize("lie", ["more", "other", "whole", "short", "error", "changed", "garbage"])
def test_a_source_that_lies_is_not_believed(lie: str, far: TileServer, client) -> None:
    def behave(handler: Any) -> bool:
        start, stop = map(int, handler.headers["Range"].removeprefix("bytes=").split("-"))
        size = (far.folder / handler.path.lstrip("/")).stat().st_size
        length = stop - start + 1
        tag = f'"{(far.folder / handler.path.lstrip("/")).stat().st_mtime_ns:x}"'
        sent = {"more": length * 1000, "short": length // 2}.get(lie, length)
        handler.send_response({"whole": 200, "error": 404}.get(lie, 206))
        first = start + 1 if lie == "other" else start
        handler.send_header("Content-Range", f"bytes {first}-{first + length - 1}/{size}")
        handler.send_header("ETag", '"other"' if lie == "changed" else tag)
        handler.send_header("Content-Length", str(sent))
        handler.end_headers()
        handler.wfile.write(b"\x07" * sent)
        return True

    far.behave = behave
    told = refused(client, 503)
    assert "far" in told
    assert far.address not in told, "an address is the operator's, no user's"
    kept = list((far.folder.parent / "data" / "sources" / "blocks").glob("*"))
    assert lie == "garbage" or kept == []


def test_a_block_that_went_bad_on_the_disk_is_asked_for_anew(far: TileServer, client) -> None:
    first = client.post("/api/v1/profile", json=BODY).json
    blocks = list((far.folder.parent / "data" / "sources" / "blocks").iterdir())
    assert len(blocks) == len(far.asked) == 1
    content = bytearray(blocks[0].read_bytes())
    content[len(content) // 2] ^= 0xFF
    blocks[0].write_bytes(bytes(content))
    assert client.post("/api/v1/profile", json=BODY).json == first
    assert len(far.asked) == 2


def test_the_cache_keeps_within_its_bound(tmp_path: Path) -> None:
    cache = BlockCache(tmp_path / "blocks", most_bytes=100_000)
    rng = np.random.default_rng(3)
    for at in range(200):
        cache.keep("http://x/a.tif", "1", at, rng.bytes(2_000))
        held = sum(path.stat().st_size for path in (tmp_path / "blocks").iterdir())
        assert held <= 100_000 + block_cache.DIGEST_BYTES
    assert cache.get("http://x/a.tif", "1", 199) is not None
    assert cache.get("http://x/a.tif", "2", 199) is None, "another state of the file"
