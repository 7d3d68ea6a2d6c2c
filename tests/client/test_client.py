"""The client against a live planner, and its types against the contract."""

from __future__ import annotations

import json
import socket
import subprocess
import sys
import threading
import types
from pathlib import Path
from typing import Any, Union, get_args, get_origin, get_type_hints, is_typeddict

import numpy as np
import pytest
import rasterio
from rasterio.transform import from_origin

from yardfall import client
from yardfall.client import Planner, PlannerError, Refused, Unreachable, Unsendable

ROOT = Path(__file__).resolve().parents[2]
CONTRACT = json.loads((ROOT / "openapi" / "openapi.json").read_text("utf-8"))
FLOW = {
    "units": "us",
    "pipe": {"code": "pvc-sdr35-4"},
    "grade": {"percent": 1},
    "inflows": [{"kind": "pump", "rate": 30}],
}


def test_every_call_answers(planner: Planner, yard_request: dict) -> None:
    assert "pvc-sdr35-4" in [pipe["code"] for pipe in planner.pipes()["pipes"]]
    assert planner.pipes("si")["units"] == "si"
    ground = {key: yard_request[key] for key in ("units", "route", "ground")}
    assert planner.profile(ground)["overall_fall"] == pytest.approx(13)
    plan = planner.plan(yard_request)
    assert plan["answer"]["verdict"] == "yes"
    assert planner.flow(FLOW)["carries"] is True
    dug = [{"at": s["at"], "depth": s["dig_depth"]} for s in plan["stations"]]
    assert planner.grade_check({"plan": yard_request, "as_dug": dug})["verdict"] == "pass"
    two = [{"name": name, "plan": yard_request} for name in "ab"]
    assert len(planner.compare({"plans": two})["alternatives"]) == 2
    points = [{"at": 0, "invert": 10.0}, {"at": 20, "invert": 9.5}, {"at": 40, "invert": 9.6}]
    old = planner.pipe_check({"units": "us", "points": points})
    assert [belly["deepest_at"] for belly in old["standing_water"]] == [20]


def test_what_sources_have_at_a_place(planner: Planner) -> None:
    assert planner.sources("si")["units"] == "si"
    assert planner.ground_at(-93.5, 1e-7)["lat"] == 1e-7
    assert planner.lot_at(-93.5, 45)["features"] == []
    utm = "EPSG:32615"  # whose middle is at 93 degrees west, where x is 500,000 m
    assert planner.ground_at(500_000, 1e-3, crs=utm)["lon"] == pytest.approx(-93, abs=1e-9)
    assert planner.lot_at(500_000, 5e6, crs=utm)["crs"] == utm
    with pytest.raises(Refused, match="no source named a") as refused:
        planner.keep_window("a", (0, 0, 1, 1))
    assert refused.value.status == 404


def test_a_raster_goes_up_and_is_planned_on(planner: Planner, tmp_path: Path) -> None:
    path = tmp_path / 'the "yard"\r\n.tif'
    down, across = np.mgrid[0:80, 0:100]
    profile = {"driver": "GTiff", "width": 100, "height": 80, "count": 1, "dtype": "float32"}
    place = {"crs": "EPSG:26915", "transform": from_origin(511995.2, 4705040.7, 0.5, 0.5)}
    with rasterio.open(path, "w", **profile, **place) as out:
        out.write((300 - 0.01 * (down + across)).astype(np.float32), 1)
    raster = planner.add_raster(path)
    assert (raster["width"], raster["crs"]) == (100, "EPSG:26915")
    assert raster["name"] == "the _yard___.tif"
    body = json.loads((ROOT / "openapi" / "examples" / "raster.json").read_text("utf-8"))
    body["ground"]["raster"] = raster["id"]
    assert planner.plan(body)["length"] > 0


def test_a_refusal_says_what_is_wrong_and_where(planner: Planner, yard_request: dict) -> None:
    with pytest.raises(Refused) as refused:
        planner.plan(yard_request | {"route": {"length": 60}})
    error = refused.value
    assert (error.status, error.title) == (422, "Unprocessable Entity")
    assert [fault.pointer for fault in error.faults] == ["/ground"]
    assert "0+52 to 0+60" in error.faults[0].detail
    assert "0+52 to 0+60" in str(error)


def test_a_file_that_is_no_raster_is_refused(planner: Planner, tmp_path: Path) -> None:
    (tmp_path / "notes.tif").write_text("not a raster")
    with pytest.raises(Refused) as refused:
        planner.add_raster(tmp_path / "notes.tif")
    assert refused.value.status == 422


def test_another_server_at_that_address_is_told_apart() -> None:
    """A server that speaks HTTP but is no planner, and one that closes at once."""
    answers = [
        b"HTTP/1.0 502 Bad Gateway\r\n\r\n<html>",
        b"HTTP/1.0 200 OK\r\n\r\n<html>",
        b"",
    ]
    with socket.create_server(("127.0.0.1", 0)) as server:

        def serve() -> None:
            for answer in answers:
                peer, _ = server.accept()
                with peer:
                    peer.recv(65536)
                    peer.sendall(answer)

        thread = threading.Thread(target=serve)
        thread.start()
        there = Planner(f"http://127.0.0.1:{server.getsockname()[1]}", timeout_s=5)
        with pytest.raises(Refused) as refused:
            there.pipes()
        assert (refused.value.status, refused.value.faults) == (502, ())
        for _ in range(2):
            with pytest.raises(Unreachable):
                there.pipes()
        thread.join(5)


def test_nobody_there() -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
    with pytest.raises(Unreachable, match="No answer from"):
        Planner(f"http://127.0.0.1:{port}", timeout_s=2).pipes()


def endless() -> dict:
    request: dict = {}
    request["request"] = request
    return request


@pytest.mark.parametrize(
    "request_",
    [{"a": float("nan")}, {"a": {1, 2}}, {"a": object()}, {(1, 2): 3}, endless(), {"a": b"x"}],
    ids=["nan", "set", "object", "key", "endless", "bytes"],
)
def test_what_is_no_json_is_not_sent(request_: dict) -> None:
    with pytest.raises(Unsendable, match="no JSON"):
        Planner("http://127.0.0.1:9").plan(request_)
    assert issubclass(Unsendable, PlannerError)


@pytest.mark.parametrize("name", ["missing.tif", ".", "a\0b"])
def test_a_file_that_cannot_be_read_is_not_sent(name: str, tmp_path: Path) -> None:
    with pytest.raises(Unsendable, match="cannot be read"):
        Planner("http://127.0.0.1:9").add_raster(tmp_path / name)


def test_units_of_any_text_raise_one_of_ours(planner: Planner) -> None:
    for units in ("furlong", "a b\r\nX: y", "é"):
        with pytest.raises(Refused):
            planner.pipes(units)


def test_a_key_goes_to_its_address_alone() -> None:
    """Also where that address sends the call on: to another host, the key must not go."""
    heard: list[bytes] = []
    with (
        socket.create_server(("127.0.0.1", 0)) as first,
        socket.create_server(("127.0.0.1", 0)) as second,
    ):
        there = f"http://localhost:{second.getsockname()[1]}/"

        def serve(server: socket.socket, answer: bytes) -> None:
            peer, _ = server.accept()
            with peer:
                heard.append(peer.recv(65536))
                peer.sendall(answer)

        moved = f"HTTP/1.0 302 Found\r\nLocation: {there}\r\n\r\n".encode()
        given = [(first, moved), (second, b"HTTP/1.0 200 OK\r\n\r\n{}")]
        threads = [threading.Thread(target=serve, args=one) for one in given]
        for thread in threads:
            thread.start()
        address = f"http://127.0.0.1:{first.getsockname()[1]}"
        assert Planner(address, timeout_s=5, key="yard_x").pipes() == {}
        for thread in threads:
            thread.join(5)
    assert b"Authorization: Bearer yard_x\r\n" in heard[0]
    assert b"yard_x" not in heard[1]


@pytest.mark.parametrize("key", ["", "a b", "a\r\nX: y", "é"])
def test_what_can_be_no_key_is_refused(key: str) -> None:
    with pytest.raises(ValueError, match="key"):
        Planner("http://127.0.0.1:8000", key=key)


@pytest.mark.parametrize("address", ["file:///etc/passwd", "ftp://host", "localhost:8000"])
def test_only_http_is_called(address: str) -> None:
    with pytest.raises(ValueError, match="http"):
        Planner(address)


def test_it_needs_nothing_but_the_standard_library() -> None:
    said = "import sys, yardfall.client; print(*{m.split('.')[0] for m in sys.modules})"
    loaded = subprocess.run(
        [sys.executable, "-c", said], capture_output=True, text=True, check=True
    )
    others = set(loaded.stdout.split()) - set(sys.stdlib_module_names) - {"yardfall", "__main__"}
    assert not others & {"flask", "numpy", "marshmallow", "rasterio", "scipy", "requests"}


SCHEMAS = {
    client.Catalogue: "Catalogue",
    client.Profile: "ProfileAnswer",
    client.Plan: "TreeAnswer",
    client.Flow: "FlowAnswer",
    client.GradeCheck: "GradeCheckAnswer",
    client.PipeCheck: "PipeCheckAnswer",
    client.Comparison: "Comparison",
    client.Raster: "Raster",
}
JSON_TYPES = {str: "string", float: "number", int: "integer", bool: "boolean"}


def resolved(schema: dict[str, Any]) -> dict[str, Any]:
    while "$ref" in schema:
        schema = CONTRACT["components"]["schemas"][schema["$ref"].rsplit("/", 1)[1]]
    return schema


def departures(hint: Any, schema: dict[str, Any], where: str) -> list[str]:
    """Where a type says other than the contract's schema."""
    schema = resolved(schema)
    if get_origin(hint) in (Union, types.UnionType):
        (hint,) = (part for part in get_args(hint) if part is not type(None))
        forms = [resolved(part) for part in schema.get("anyOf", [])]
        if "null" not in schema.get("type", []) and {"type": "null"} not in forms:
            return [f"{where} is never null"]
        if forms:
            schema = next(form for form in forms if form != {"type": "null"})
    elif {"type": "string"} in schema.get("anyOf", []):  # words that may grow
        schema = {"type": "string"}
    kinds = schema.get("type", [])
    kinds = [kinds] if isinstance(kinds, str) else [kind for kind in kinds if kind != "null"]
    if get_origin(hint) is list:
        return departures(get_args(hint)[0], schema["items"], where + "/0")
    if is_typeddict(hint):
        found = []
        for name, part in get_type_hints(hint).items():
            inner = schema["properties"].get(name)
            if inner is None or name not in schema["required"]:
                found.append(f"{where}/{name} is not always there")
            else:
                found += departures(part, inner, f"{where}/{name}")
        return found
    wanted = "object" if get_origin(hint) is dict else JSON_TYPES[hint]
    return [] if kinds == [wanted] else [f"{where} is {kinds}, not {wanted}"]


@pytest.mark.parametrize("kind", SCHEMAS, ids=lambda kind: kind.__name__)
def test_the_types_are_the_contracts(kind: type) -> None:
    assert departures(kind, {"$ref": f"#/x/{SCHEMAS[kind]}"}, "") == []


def test_a_type_off_the_contract_is_caught() -> None:
    class Wrong(client.Flow):
        lid: str

    assert departures(Wrong, {"$ref": "#/x/FlowAnswer"}, "") == ["/lid is not always there"]
    assert departures(float, {"type": "string"}, "/x") == ["/x is ['string'], not number"]
