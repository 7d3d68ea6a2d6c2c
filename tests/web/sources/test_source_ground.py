"""A named source as the ground of a plan, a profile and a reach."""

from __future__ import annotations

import io
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from flask.testing import FlaskClient
from tile_server import TileServer
from tiles import CRS, EMPTY, NORTH, SIZE, WEST, ground, write

LINE = [[WEST + 244.3, NORTH - 239.6], [WEST + 258.1, NORTH - 251.2], [WEST + 268.4, NORTH - 271.9]]
"""Over all four tiles, bent near the corner where they meet."""
PLAN: dict[str, Any] = {
    "units": "si",
    "route": {"line": {"type": "LineString", "coordinates": LINE}, "crs": CRS},
    "accuracy": {"lidar": "usual", "lawn": "ordinary"},
    "pipe": {"code": "corrugated-single-4"},
    "start": {"cover": 200},
    "outlet": {"kind": "daylight"},
}
NAMED = {"kind": "source", "name": "valley"}
OWN = {"ground_source", "datum", "plan_request"}
"""What the answers may differ in."""


@pytest.fixture
def valley(add: Callable[..., int], ground: tuple[Path, Path]) -> Path:
    tiles, whole = ground
    stated = ("--date", "2021-04-30", "--rmse", "0.1", "--licence", "CC0, the county")
    assert add("elevation", "valley", tiles, "--datum", "NAVD88", *stated) == 0
    return whole


@pytest.fixture
def raster(client: FlaskClient, ground: tuple[Path, Path]) -> dict[str, str]:
    """The one file of the same ground, uploaded."""
    sent = {"file": (io.BytesIO(ground[1].read_bytes()), "whole.tif")}
    return {"kind": "raster", "raster": client.post("/api/v1/rasters", data=sent).json["id"]}


def differing(one: Any, other: Any, at: str = "") -> list[tuple[str, Any, Any]]:
    """Where two answers are not the same, bit for bit."""
    if isinstance(one, dict) and isinstance(other, dict) and one.keys() == other.keys():
        keys = [key for key in one if key not in OWN]
        return [d for key in keys for d in differing(one[key], other[key], f"{at}/{key}")]
    if isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        pairs = enumerate(zip(one, other, strict=True))
        return [d for i, (a, b) in pairs for d in differing(a, b, f"{at}/{i}")]
    named = "/ground/name" if at.endswith("/pointer") else None
    if named and str(one).endswith(named) and str(other) == one.replace(named, "/ground/raster"):
        return []
    return [] if one == other else [(at, one, other)]


def test_a_plan_over_four_tiles_is_that_over_one_file(valley, raster, plan) -> None:
    on_tiles = plan(PLAN | {"ground": NAMED})
    assert differing(on_tiles, plan(PLAN | {"ground": raster})) == []
    assert on_tiles["answer"]["chance"] is not None, "its errors are known too"
    assert len(on_tiles["profile"]["at"]) > 30


def test_a_branch_shares_the_errors_of_the_main_line(valley, raster, plan) -> None:
    def with_branch(its: dict[str, str]) -> dict[str, Any]:
        side = [[WEST + 270.2, NORTH - 240.3], LINE[1]]
        at = plan(PLAN | {"ground": its})["stations"][0]["at"]
        assert at == 0
        line = {"type": "LineString", "coordinates": side}
        branch = {
            "name": "side",
            "joins_at": float(np.hypot(*np.subtract(LINE[1], LINE[0]))),
            "route": {"line": line, "crs": CRS},
            "ground": its,
            "pipe": PLAN["pipe"],
            "start": {"cover": 200},
        }
        return plan(PLAN | {"ground": its, "branches": [branch]})

    on_tiles, on_file = with_branch(NAMED), with_branch(raster)
    assert differing(on_tiles, on_file) == []


READ = {
    "readings": [{"at": 4.0, "down": 1210}, {"at": 17.0, "down": 1275}, {"at": 31.0, "down": 1190}],
    "read_with": "builders_level",
}


def test_readings_over_four_tiles_pin_them_as_they_pin_one_file(
    valley, raster, client, plan
) -> None:
    side = {"type": "LineString", "coordinates": [[WEST + 270.2, NORTH - 240.3], LINE[1]]}
    told = []
    for its in (NAMED, raster):
        joins_at = float(np.hypot(*np.subtract(LINE[1], LINE[0])))
        branch = {"name": "side", "joins_at": joins_at, "route": {"line": side, "crs": CRS}}
        branch |= {"ground": its, "pipe": PLAN["pipe"], "start": {"cover": 200}}
        told.append(plan(PLAN | {"ground": its | READ, "branches": [branch]}))
    on_tiles = told[0]
    assert differing(*told) == []
    read = {one["at"] for one in on_tiles["stations"] if one["source"] == "reading"}
    assert read == {4.0, 17.0, 31.0}
    alone = {one["at"]: one["ground"] for one in plan(PLAN | {"ground": NAMED})["stations"]}
    moved = [s["ground"] - alone[s["at"]] for s in on_tiles["stations"] if s["at"] in alone]
    assert max(map(abs, moved)) > 0.005, "the readings move the ground"
    profiles = []
    for its in (NAMED, raster):
        body = {key: PLAN[key] for key in ("units", "route")} | {"ground": its | READ}
        profiles.append(client.post("/api/v1/profile", json=body).json)
    assert differing(*profiles) == []
    assert [s["source"] for s in profiles[0]["stations"]].count("reading") == 3


@pytest.mark.parametrize("said", [None, {"lawn": "ordinary"}])
def test_readings_over_a_source_ask_how_good_it_is(said, valley, refused) -> None:
    body = {key: value for key, value in PLAN.items() if key != "accuracy"}
    body |= {"ground": NAMED | READ} | ({"accuracy": said} if said else {})
    (error,) = refused("/plan", json=body)["errors"]
    assert error["pointer"] == "/accuracy"
    assert "how far off its elevations are" in error["detail"]


def test_a_reach_over_four_tiles_is_that_over_one_file(valley, raster, client, conforms) -> None:
    x, y = WEST + 250, NORTH - 250
    ring = [
        [x - 12, y - 15],
        [x + 22, y - 15],
        [x + 22, y + 12],
        [x - 12, y + 12],
        [x - 12, y - 15],
    ]
    body = {
        "units": "si",
        "crs": CRS,
        "start": {"point": [x, y], "cover": 200},
        "pipe": PLAN["pipe"],
        "outlet": {"kind": "daylight"},
        "accuracy": PLAN["accuracy"],
    }
    for lot in ({"within": {"type": "Polygon", "coordinates": [ring]}}, {"radius": 20}):
        told = []
        for its in (NAMED, raster):
            answer = client.post("/api/v1/reach", json=body | lot | {"ground": its})
            assert answer.status_code == 200, answer.text
            conforms("POST /reach", answer)
            told.append(answer.json)
        assert differing(*told) == []
        assert told[0]["ground_source"]["name"] == "valley"
        assert told[1]["ground_source"] is None


def test_each_answer_says_what_it_stands_on(valley, client, plan, conforms) -> None:
    said = plan(PLAN | {"ground": NAMED})
    body = {key: PLAN[key] for key in ("units", "route")} | {"ground": NAMED}
    profile = client.post("/api/v1/profile", json=body)
    conforms("POST /profile", profile)
    for source in (said["ground_source"], profile.json["ground_source"]):
        assert source == {
            "name": "valley",
            "date": "2021-04-30",
            "vertical_rmse": 100.0,
            "vertical_datum": "NAVD88",
            "lidar": "",
            "licence": "CC0, the county",
            "text": "The elevations are those of valley. They are of 2021-04-30. Their vertical "
            "datum is NAVD88. Their vertical error is 100 mm (RMSE), as stated. A plan's chance "
            "does not use that figure: it uses the plan's own accuracy, given or taken. License: "
            "CC0, the county.",
        }
    assert said["datum"] == "elevations of valley, NAVD88"


def test_what_nobody_stated_is_said(add, ground, plan) -> None:
    assert add("elevation", "valley", ground[0]) == 0
    source = plan(PLAN | {"ground": NAMED})["ground_source"]
    assert (source["date"], source["vertical_rmse"], source["licence"]) == ("", None, "")
    assert "Nobody stated how far off they are." in source["text"]
    assert "Nobody stated their vertical datum." in source["text"]
    body = {key: value for key, value in PLAN.items() if key != "accuracy"}
    answer = plan(body | {"ground": NAMED})["answer"]
    assert answer["chance"] is None, "how good the elevations are is never guessed"


def test_a_hole_is_a_hole(add, tmp_path: Path, refused) -> None:
    z = ground()
    z[250:253, 250:260] = EMPTY
    for column in (0, SIZE):
        write(tmp_path / "t" / f"{column}.tif", z[:, column : column + SIZE], column)
    assert add("elevation", "valley", tmp_path / "t") == 0
    told = refused("/plan", json=PLAN | {"ground": NAMED})
    assert [one["pointer"] for one in told["errors"]] == ["/ground"]
    assert "not known" in told["detail"]


def test_off_its_tiles_the_ground_is_not_known(valley, refused) -> None:
    far = {"type": "LineString", "coordinates": [[WEST - 90, NORTH], [WEST - 80, NORTH]]}
    told = refused("/plan", json=PLAN | {"ground": NAMED, "route": {"line": far, "crs": CRS}})
    assert told["errors"][0]["pointer"] == "/ground/name"
    part = {"type": "LineString", "coordinates": [[WEST - 9, NORTH - 9], [WEST + 9, NORTH - 9]]}
    told = refused("/plan", json=PLAN | {"ground": NAMED, "route": {"line": part, "crs": CRS}})
    assert told["errors"][0]["pointer"] == "/ground"


@pytest.mark.parametrize("name", ["other", "lots-here"])
def test_another_name_is_refused(name: str, valley, add, tmp_path: Path, refused) -> None:
    lot = '{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"n":1},'
    lot += '"geometry":{"type":"Polygon","coordinates":[[[0,0],[1,0],[1,1],[0,0]]]}}]}'
    (tmp_path / "lots.json").write_text(lot)
    assert add("lots", "lots-here", tmp_path / "lots.json", "--id", "n") == 0
    told = refused("/plan", json=PLAN | {"ground": {"kind": "source", "name": name}})
    assert told["errors"][0]["pointer"] == "/ground/name"
    assert "GET /sources" in told["detail"]


def test_a_route_asks_for_the_blocks_it_crosses_once(add, server: TileServer, plan) -> None:
    assert add("elevation", "valley", f"{server.address}/list.txt") == 0
    server.asked.clear()
    line = [[WEST + 60.2, NORTH - 50.3], [WEST + 69.9, NORTH - 62.6], [WEST + 71.4, NORTH - 78.8]]
    route = {"line": {"type": "LineString", "coordinates": line}, "crs": CRS}
    crossed = {
        (int((x - WEST) // 64), int((NORTH - y) // 64))
        for a, b in pairwise(line)
        for x, y in np.linspace(a, b, 2000)
    }
    assert crossed == {(0, 0), (1, 0), (1, 1)}, "of the four about, one it does not touch"
    tie = {"kind": "tie_in", "depth": {"min": 200}}
    first = plan(PLAN | {"ground": NAMED, "route": route, "outlet": tie})
    assert len(server.asked) <= len(crossed)
    assert {path for path, _ in server.asked} == {"/tiles/0_0.tif"}
    again = plan(PLAN | {"ground": NAMED, "route": route, "outlet": tie})
    assert len(server.asked) <= len(crossed), "nothing is asked for twice"
    assert again == first


def test_a_paper_says_what_the_ground_came_from(valley, client) -> None:
    body = PLAN | {"ground": NAMED}
    sheet = client.post("/api/v1/papers/dig-sheet.html", json=body)
    assert sheet.status_code == 200, sheet.text
    assert "The elevations are those of valley. They are of 2021-04-30." in sheet.text
    assert "CC0, the county" in sheet.text
    plan = client.post("/api/v1/papers/dig-sheet.pdf", json=body)
    assert plan.data.startswith(b"%PDF")


def test_a_job_is_kept_with_what_it_stood_on(valley, client) -> None:
    kept = client.post("/api/v1/jobs", json={"name": "Ann", "request": PLAN | {"ground": NAMED}})
    assert kept.status_code == 201, kept.text
    job = client.get(f"/api/v1/jobs/{kept.json['id']}").json
    assert job["answer"]["ground_source"]["licence"] == "CC0, the county"
    paper = client.get(f"/api/v1/jobs/{kept.json['id']}/dig-sheet.html")
    assert paper.status_code == 200, paper.text
    assert "CC0, the county" in paper.text


def test_a_grade_check_and_a_comparison_stand_on_it_too(valley, client) -> None:
    request = PLAN | {"ground": NAMED}
    dug = [{"at": 0, "depth": 300}, {"at": 20, "depth": 400}, {"at": 40, "depth": 500}]
    check = client.post("/api/v1/grade-check", json={"plan": request, "as_dug": dug})
    assert check.status_code == 200, check.text
    plans = [{"name": name, "plan": request} for name in ("a", "b")]
    assert client.post("/api/v1/compare", json={"plans": plans}).status_code == 200
