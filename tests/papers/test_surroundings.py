"""What papers show around the drain: areas to keep out of, the lot line, the site plan beneath."""

from __future__ import annotations

import base64
import io
import json
import re
from typing import Any

import numpy as np
import pytest
from PIL import Image
from plot import PLOT_PX, box, feature, on_plan, plot_file
from read_paper import pdf_pages, squeezed

from yardfall.app import Settings, create_app

JOBS = "/api/v1/jobs"
FT_M = 0.3048


def overlay(page: str) -> tuple[Image.Image, list[list[float]]]:
    """The picture beneath, and its south-west and north-east corners as y, x in metres."""
    found = re.search(r'L\.imageOverlay\(\s*"data:image/\w+;base64,([^"]+)",\s*(\[\[.*?\]\])', page)
    assert found
    return Image.open(io.BytesIO(base64.b64decode(found[1]))), json.loads(found[2])


def about(request: dict, **part: Any) -> dict:
    """A request whose papers show other things."""
    return request | {"paper": request["paper"] | part}


def test_the_corners_of_a_turned_site_plan_lie_where_its_placement_says(take, plot_request) -> None:
    picture, (south_west, north_east) = overlay(
        take("map.html", plot_request).get_data(as_text=True)
    )
    wide, tall = PLOT_PX
    corners = np.array([on_plan(*uv) for uv in ((0, 0), (wide, 0), (wide, tall), (0, tall))])
    # The plane starts where the line does, in metres.
    corners = (corners - on_plan(200, 500)) * FT_M
    (ymin, xmin), (ymax, xmax) = south_west, north_east
    assert (xmin, ymax) == pytest.approx((corners.min(axis=0)[0], corners.max(axis=0)[1]), abs=1e-6)
    # Whole pixels reach over the other two corners.
    assert 0 <= xmax - corners.max(axis=0)[0] < 0.1 * FT_M
    assert 0 <= corners.min(axis=0)[1] - ymin < 0.1 * FT_M
    pixels = np.asarray(picture.convert("RGB"), dtype=int)
    down, across = np.nonzero(np.abs(pixels - (0, 0, 255)).sum(axis=2) < 200)
    x = xmin + (across.mean() + 0.5) / pixels.shape[1] * (xmax - xmin)
    y = ymax - (down.mean() + 0.5) / pixels.shape[0] * (ymax - ymin)
    expected = (np.array(on_plan(450, 150)) - on_plan(200, 500)) * FT_M
    assert [x, y] == pytest.approx(expected, abs=0.1 * FT_M), "to a pixel of the picture"


def test_a_placement_kept_with_the_site_plan_does_as_well(client, take, plot, plot_request) -> None:
    sent = overlay(take("map.html", plot_request).get_data(as_text=True))
    kept = about(plot_request, beneath={"site_plan": plot})
    refused = client.post("/api/v1/papers/map.html", json=kept)
    (error,) = refused.json["errors"]
    assert (refused.status_code, error["pointer"]) == (422, "/paper/beneath")
    assert "Nobody has said how this site plan lies" in error["detail"]
    scale = {"points": [[0, 0], [500, 0]], "distance": 50 * FT_M}
    body = {"units": "si", "scale": scale, "turn": 25}
    assert client.put(f"/api/v1/site-plans/{plot}/placement", json=body).status_code == 200
    assert overlay(take("map.html", kept).get_data(as_text=True))[1] == pytest.approx(
        np.array(sent[1]), abs=1e-6
    )


def test_a_relief_lies_under_a_line_whose_ground_was_read(take, drawn_request) -> None:
    raster = drawn_request["ground"]["raster"]
    points = [{"at": 0, "elevation": 100}, {"at": 120, "elevation": 98}]
    read = drawn_request | {"ground": {"kind": "elevations", "points": points}, "branches": []}
    assert "L.imageOverlay(\n" not in take("map.html", read).get_data(as_text=True)
    page = take("map.html", read | {"paper": {"beneath": {"raster": raster}}})
    picture, bounds = overlay(page.get_data(as_text=True))
    assert bounds == [[0, 0], [40, 50]]
    assert picture.size == (1000, 800)


@pytest.mark.parametrize(
    ("route", "part", "pointer", "words"),
    [
        ("taped", {"avoid": feature("Point", [0, 0])}, "/paper/avoid", "only by its taped length"),
        ("taped", {"beneath": {"site_plan": "0" * 32}}, "/paper/beneath", "taped length"),
        ("local", {"beneath": {"site_plan": "0" * 32}}, "/paper/beneath/site_plan", "Upload it"),
        ("local", {"beneath": {"site_plan": "../x"}}, "/paper/beneath/site_plan", "no site plan"),
        ("local", {"beneath": {"raster": "0" * 32}}, "/paper/beneath/raster", "x, y of a site"),
        ("globe", {"beneath": {"site_plan": "0" * 32}}, "/paper/beneath/site_plan", "OGC:CRS84"),
        ("globe", {"beneath": {"raster": "0" * 32}}, "/paper/beneath/raster", "no raster"),
        ("globe", {"avoid": feature("Point", [0, 95])}, "/paper/avoid/0", "outside the area"),
        ("local", {"beneath": {}}, "/paper/beneath", "Give exactly one of raster or site_plan"),
        ("local", {"beneath": {"site_plan": "x", "turn": 3}}, "/paper/beneath/turn", "with scale"),
        ("local", {"clearance": -1}, "/paper/clearance", "at least 0"),
        ("local", {"within": feature("Point", [0, 0])}, "/paper/within/type", "Polygon"),
    ],
)
def test_what_cannot_be_shown_is_refused_where_it_stands(
    client, plot_request, route, part, pointer, words
) -> None:
    routes = {
        "taped": {"length": 53},
        "local": plot_request["route"],
        "globe": {"line": {"type": "LineString", "coordinates": [[-93, 42.5], [-92.9998, 42.5]]}},
    }
    request = plot_request | {"route": routes[route], "paper": part}
    answer = client.post("/api/v1/papers/map.html", json=request)
    assert (answer.status_code, answer.mimetype) == (422, "application/problem+json")
    (error,) = answer.json["errors"]
    assert error["pointer"] == pointer
    assert words in error["detail"]


def test_a_point_of_the_scale_off_the_picture_is_named(client, plot, plot_request) -> None:
    scale = {"points": [[0, 0], [901, 0]], "distance": 90}
    request = about(plot_request, beneath={"site_plan": plot, "scale": scale})
    answer = client.post("/api/v1/papers/map.html", json=request)
    assert [e["pointer"] for e in answer.json["errors"]] == ["/paper/beneath/scale/points/1"]


def test_a_line_through_an_area_is_told_on_the_map_and_on_the_dig_sheet(take, plot_request) -> None:
    """The line runs 500 px right and 200 px up from (200, 500): at 10 px a foot, where it meets
    u = 400 it is 40 % of 53.85 ft along, at u = 500 it is 60 %."""
    avoid = feature("Polygon", box(400, 0, 500, 600), name="Septic field")
    lot = feature("Polygon", box(20, 350, 880, 580))
    request = about(plot_request, avoid=avoid, within=lot)
    sentences = [
        "uns through what it must keep out of: Septic field, 0+21.54 to 0+32.31. Move the line "
        "or the outline, or add it as a crossing if a pipe may pass it.",
        "eaves the lot: 0+40.39 to 0+53.85.",  # above v = 350, 150 of the 200 px up
    ]
    page = take("map.html", request).get_data(as_text=True)
    sheet = squeezed(" ".join(pdf_pages(take("dig-sheet.pdf", request).data)))
    for sentence in sentences:
        assert sentence in page
        assert sentence in sheet
    assert "Keep out: Septic" in sheet
    clear = take("map.html", plot_request).get_data(as_text=True)
    assert "uns through" not in clear
    assert "eaves the lot" not in clear


def test_a_line_to_keep_out_of_that_is_crossed_as_stated_is_not_to_be_moved(
    take, plot_request
) -> None:
    """It is met 40 % of 53.85 ft along, at 0+21.54; a crossing within 1 m (3.28 ft) is the same."""
    avoid = feature("LineString", [on_plan(400, 0), on_plan(400, 600)], name="Gas line")
    gas = {"what": "gas", "top_depth": 36, "size": 2, "clearance": 12, "exposed": True}
    for at, crossed in ((22.5, True), (25.5, False)):
        request = about(plot_request, avoid=avoid) | {"crossings": [gas | {"at": at}]}
        page = take("map.html", request).get_data(as_text=True)
        sheet = squeezed(" ".join(pdf_pages(take("dig-sheet.pdf", request).data)))
        for paper in (page, sheet):
            assert (
                "Gas line, 0+21.54: taken for the crossing stated at 0+22.5" in paper
            ) is crossed
            assert ("uns through" in paper) is not crossed


def test_a_wall_or_a_lot_line_that_is_only_touched_is_no_trespass(take, plot_request) -> None:
    house = feature("Polygon", box(50, 400, 200, 600), name="House")  # its wall at u = 200
    lot = feature("Polygon", box(20, 20, 700, 580))  # its line where the pipe ends
    page = take("map.html", about(plot_request, avoid=house, within=lot)).get_data(as_text=True)
    assert "House" in page
    assert "uns through" not in page
    assert "eaves the lot" not in page


def test_every_kind_of_shape_is_taken_and_an_outline_that_crosses_itself(
    take, plot_request
) -> None:
    (corners,) = box(0, 0, 50, 50)
    shapes = [
        feature("Point", on_plan(100, 100), name="Well", clearance=3),
        feature("MultiLineString", [[on_plan(0, 0), on_plan(90, 90)]], name="Gas line"),
        feature("Polygon", [*box(500, 400, 600, 500), *box(520, 420, 540, 440)]),
        feature("Polygon", [[corners[i] for i in (0, 2, 1, 3, 0)]], name="Bow tie"),
        feature("Polygon", [[*corners[:3], on_plan(90, 90), *corners[2:]]], name="Spike"),
        feature("Polygon", [[on_plan(5, 5)] * 4], name="No area at all"),
    ]
    avoid = {"type": "FeatureCollection", "features": shapes}
    lot = {"type": "FeatureCollection", "features": shapes[3:]}
    request = about(plot_request, avoid=avoid, within=lot, clearance=1.5)
    for name in ("map.html", "dig-sheet.pdf", "dig-sheet.html"):
        take(name, request)
    page = take("map.html", request).get_data(as_text=True)
    for words in (
        "Well; stay 3 ft away from it",
        "Gas line; stay 1.5 ft away from it",
        "Area 3; stay 1.5 ft",
        "Bow tie",
        "Spike",
        "No area at all",
    ):
        assert words in page


def test_a_kept_job_s_map_shows_the_same_and_says_what_is_gone(
    client, take, plot, plot_request
) -> None:
    asked = take("map.html", plot_request).get_data(as_text=True)
    body = {"name": "Elm Street", "request": plot_request}
    job = client.post(JOBS, json=body)
    assert job.status_code == 201, job.get_data(as_text=True)
    assert job.json["request"] == plot_request

    def page(query: str = "") -> str:
        answer = client.get(f"{JOBS}/{job.json['id']}/map.html{query}")
        assert answer.status_code == 200, answer.get_data(as_text=True)
        return answer.get_data(as_text=True)

    kept = page()
    assert overlay(kept)[1] == overlay(asked)[1]
    assert overlay(kept)[0].tobytes() == overlay(asked)[0].tobytes()
    places = [re.findall(r"L\.polyline\(\s*(\[\[.*?\]\])", text) for text in (kept, asked)]
    assert places[0] == places[1]
    assert "Oak; stay 2 ft away from it" in kept
    assert "<h1>Elm Street</h1>" in kept
    # Where the plan lies is the job's own: another placement of the picture moves it no more.
    scale = {"points": [[0, 0], [500, 0]], "distance": 10}
    client.put(f"/api/v1/site-plans/{plot}/placement", json={"units": "us", "scale": scale})
    assert overlay(page())[1] == overlay(asked)[1]
    assert "<h1>Else</h1>" in page("?title=Else")
    client.delete(f"/api/v1/site-plans/{plot}")
    gone = page()
    assert "L.imageOverlay(\n" not in gone
    assert "The site plan that this was drawn on is not kept any more" in gone
    assert "Oak; stay 2 ft away from it" in gone


def test_a_job_carried_to_another_service_keeps_what_its_map_shows(
    client, take, plot_request, tmp_path
) -> None:
    asked = overlay(take("map.html", plot_request).get_data(as_text=True))
    client.post(JOBS, json={"name": "Elm Street", "request": plot_request})
    with client.get("/api/v1/export") as answer:
        exported = answer.data
    other = create_app(Settings(tmp_path / "other")).test_client()
    moved = other.post("/api/v1/imports", data={"file": (io.BytesIO(exported), "export.zip")})
    assert (moved.json["jobs"], moved.json["site_plans"]) == (1, 1)
    (job,) = other.get(JOBS).json["jobs"]
    page = other.get(f"{JOBS}/{job['id']}/map.html").get_data(as_text=True)
    assert overlay(page)[1] == asked[1]


def test_nobody_gets_another_key_s_site_plan_into_a_map(app, plot_request) -> None:
    keys = app.extensions["keys"]
    clients = []
    for name in ("Ann", "Bob"):
        client = app.test_client()
        client.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {keys.make(name)[1]}"
        clients.append(client)
    ann, bob = clients
    key = ann.post("/api/v1/site-plans", data={"file": (plot_file(), "plot.png")}).json["id"]
    beneath = plot_request["paper"]["beneath"] | {"site_plan": key}
    request = about(plot_request, beneath=beneath)
    assert ann.post("/api/v1/papers/map.html", json=request).status_code == 200
    answer = bob.post("/api/v1/papers/map.html", json=request)
    assert answer.status_code == 422
    assert [e["pointer"] for e in answer.json["errors"]] == ["/paper/beneath/site_plan"]
    never = bob.post(
        "/api/v1/papers/map.html",
        json=about(plot_request, beneath=beneath | {"site_plan": "0" * 32}),
    )
    assert never.get_data(as_text=True).replace("0" * 32, key) == answer.get_data(as_text=True)
    job = bob.post(JOBS, json={"name": "Bob's", "request": request}).json["id"]
    page = bob.get(f"{JOBS}/{job}/map.html").get_data(as_text=True)
    assert "L.imageOverlay(\n" not in page
    assert "is not kept any more" in page
