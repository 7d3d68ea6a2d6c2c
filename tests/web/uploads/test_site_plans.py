"""The site-plan calls: send, list, look at, place, delete. Refused files leave nothing."""

from __future__ import annotations

import io
import threading
from collections.abc import Callable
from pathlib import Path

import numpy as np
import paper
import pytest
from PIL import Image
from werkzeug.test import TestResponse

from yardfall.geo import site_plan
from yardfall.store.uploads import file_store, site_plans

SCALE = {"points": [[0, 0], [300, 400]], "distance": 100}
"""500 pixels apart: 0.2 ft a pixel."""


def kept(tmp_path: Path) -> list[str]:
    """Names of what lies in the folder of site plans."""
    return sorted(path.name for path in (tmp_path / "data" / "site_plans").iterdir())


@pytest.fixture
def send(client) -> Callable[..., TestResponse]:
    """Send bytes as a site plan."""

    def call(content: bytes, name: str = "survey.png", query: str = "") -> TestResponse:
        file = (io.BytesIO(content), name)
        return client.post(f"/api/v1/site-plans{query}", data={"file": file})

    return call


@pytest.fixture
def place(client, conforms, send) -> Callable[..., TestResponse]:
    """Place a picture of 600 by 400 pixels by the usual request, changed or short of a part."""

    def call(**changes: object) -> TestResponse:
        key = send(paper.picture()).json["id"]
        body = {"units": "us", "scale": SCALE} | changes
        body = {name: value for name, value in body.items() if value is not ...}
        answer = client.put(f"/api/v1/site-plans/{key}/placement", json=body)
        conforms("PUT /site-plans/{id}/placement", answer)
        return answer

    return call


def test_a_site_plan_from_upload_to_deletion(client, conforms, send, tmp_path) -> None:
    answer = send(paper.picture(), name="my plot.png")
    assert answer.status_code == 201
    conforms("POST /site-plans", answer)
    facts = answer.json
    assert len(facts["id"]) == 32
    assert (facts["name"], facts["width"], facts["height"]) == ("my plot.png", 600, 400)
    assert (facts["page"], facts["pages"], facts["placement"]) == (None, None, None)

    one = client.get(f"/api/v1/site-plans/{facts['id']}")
    conforms("GET /site-plans/{id}", one)
    assert one.json == facts

    picture = client.get(facts["picture"], buffered=True)
    conforms("GET /site-plans/{id}/picture", picture)
    assert (picture.status_code, picture.mimetype) == (200, facts["media_type"])
    assert len(picture.data) == facts["size_bytes"]
    with Image.open(io.BytesIO(picture.data)) as image:
        assert image.size == (600, 400)
    seen = {"If-None-Match": picture.headers["ETag"]}
    again = client.get(facts["picture"], headers=seen, buffered=True)
    assert (again.status_code, again.data) == (304, b"")
    assert kept(tmp_path) == [f"{facts['id']}.picture"]

    gone = client.delete(f"/api/v1/site-plans/{facts['id']}")
    conforms("DELETE /site-plans/{id}", gone)
    assert (gone.status_code, gone.data) == (204, b"")
    assert kept(tmp_path) == []
    for path in (f"/api/v1/site-plans/{facts['id']}", facts["picture"]):
        answer = client.get(path)
        assert (answer.status_code, answer.mimetype) == (404, "application/problem+json")
    assert client.delete(f"/api/v1/site-plans/{facts['id']}").status_code == 404
    body = {"units": "us", "scale": SCALE}
    answer = client.put(f"/api/v1/site-plans/{facts['id']}/placement", json=body)
    assert answer.status_code == 404
    conforms("PUT /site-plans/{id}/placement", answer)


def test_the_page_of_a_pdf_is_chosen(conforms, send) -> None:
    answer = send(paper.pdf(5), "survey.pdf", "?page=3")
    conforms("POST /site-plans", answer)
    assert (answer.json["page"], answer.json["pages"]) == (3, 5)
    assert send(paper.pdf(5), "survey.pdf").json["page"] == 1
    for query, says in (("?page=6", "5 pages"), ("?page=0", ""), ("?page=x", ""), ("?sheet=1", "")):
        answer = send(paper.pdf(5), "survey.pdf", query)
        assert answer.status_code == 422
        conforms("POST /site-plans", answer)
        (error,) = answer.json["errors"]
        assert error["pointer"] == ("/sheet" if "sheet" in query else "/page")
        assert says in error["detail"]


def test_what_a_file_is_its_content_says(send) -> None:
    assert send(paper.picture("JPEG"), "plan.png").status_code == 201
    assert send(paper.pdf(), "plan.jpg").json["pages"] == 1
    assert send(b"<html>", "plan.png").status_code == 422


@pytest.mark.parametrize(
    "content",
    [b"", paper.picture()[:200], paper.pdf()[:150], paper.locked_pdf(), paper.picture("GIF")],
    ids=["nothing", "half a picture", "half a PDF", "locked", "another kind"],
)
def test_refused_files_leave_nothing(content, client, conforms, send, tmp_path) -> None:
    answer = send(content)
    assert (answer.status_code, answer.mimetype) == (422, "application/problem+json")
    conforms("POST /site-plans", answer)
    assert answer.json["detail"].endswith(".")
    assert kept(tmp_path) == []
    assert client.get("/api/v1/site-plans").json["page"]["total"] == 0


def test_what_cannot_be_kept_leaves_nothing(app, send, monkeypatch, tmp_path) -> None:
    """The picture is drawn, and then the database is gone."""
    monkeypatch.setattr(file_store, "insert", lambda _: 1 / 0)
    assert send(paper.picture()).status_code == 500
    assert kept(tmp_path) == []


def test_a_file_too_large_leaves_nothing(monkeypatch, send, tmp_path) -> None:
    content = paper.picture()
    monkeypatch.setattr(site_plans, "MAX_UPLOAD_BYTES", len(content) - 1)
    assert send(content).status_code == 413
    assert kept(tmp_path) == []


def test_the_file_part_is_asked_for_and_no_other(client) -> None:
    for parts, pointer in (
        ({}, "/file"),
        ({"file": "a form field and no file"}, "/file"),
        ({name: (io.BytesIO(b""), "a.png") for name in ("file", "second")}, "/second"),
    ):
        answer = client.post("/api/v1/site-plans", data=parts, content_type="multipart/form-data")
        assert answer.status_code == 422
        assert pointer in [error["pointer"] for error in answer.json["errors"]]
    assert client.post("/api/v1/site-plans", json={}).status_code == 415


@pytest.mark.parametrize("name", ["../../plan.png", "<script>.png", "田.png", "a" * 500])
def test_names_never_become_paths(name: str, send, tmp_path) -> None:
    facts = send(paper.picture(), name=name).json
    assert kept(tmp_path) == [f"{facts['id']}.picture"]
    assert facts["name"] == name[:200]


def test_the_list_is_paged_newest_first(client, conforms, send) -> None:
    ids = [send(paper.picture()).json["id"] for _ in range(3)][::-1]
    pages = [client.get(f"/api/v1/site-plans?page={n}&page_size=2") for n in (1, 2, 3)]
    for page in pages:
        conforms("GET /site-plans", page)
    found = [[plan["id"] for plan in page.json["site_plans"]] for page in pages]
    assert found == [ids[:2], ids[2:], []]


def test_a_placement_is_kept_and_worked_out(client, conforms, place) -> None:
    answer = place(north=350, turn=20)
    assert answer.status_code == 200
    placement = answer.json["placement"]
    assert placement["scale"] == SCALE
    assert placement["metres_per_pixel"] == pytest.approx(0.2 * 0.3048)
    assert placement["click_error_percent"] == pytest.approx(0.2)
    assert (placement["width"], placement["height"]) == (120, 80)
    assert placement["origin"] == [0, 400]
    assert placement["north_on_plan"] == 10
    a, b, c, d, e, f = placement["transform"]
    corners = np.array([[0, 0, 1], [600, 0, 1], [600, 400, 1], [0, 400, 1]])
    laid = corners @ np.array([[a, d], [b, e], [c, f]])
    assert np.array(placement["corners"]) == pytest.approx(laid, abs=1e-5)
    assert placement["corners"][3] == [0, 0]
    one = client.get(f"/api/v1/site-plans/{answer.json['id']}")
    assert one.json == answer.json
    conforms("GET /site-plans/{id}", one)


@pytest.mark.parametrize("distance", [40, 0.1, 33.333333, 17.0416666667, 99_999.9])
@pytest.mark.parametrize("units", ["us", "si"])
def test_a_distance_comes_back_as_it_was_said(distance: float, units: str, place) -> None:
    placement = place(units=units, scale=SCALE | {"distance": distance}).json["placement"]
    assert placement["units"] == units
    assert placement["scale"]["distance"] == distance


def test_a_second_placement_takes_the_place_of_the_first(client, place) -> None:
    key = place(north=10).json["id"]
    body = {"units": "si", "scale": SCALE}
    answer = client.put(f"/api/v1/site-plans/{key}/placement", json=body)
    assert answer.json["placement"]["units"] == "si"
    assert answer.json["placement"]["north"] is None


def test_a_plan_is_tied_to_a_map(place) -> None:
    tie = {"crs": "EPSG:26915", "origin": [512000, 4705000]}
    assert place(north=0, on_map=tie).json["placement"]["on_map"] == tie


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"units": ...}, "/units"),
        ({"units": "feet"}, "/units"),
        ({"scale": ...}, "/scale"),
        ({"scale": SCALE | {"distance": "40"}}, "/scale/distance"),
        ({"scale": SCALE | {"distance": 0}}, "/scale/distance"),
        ({"scale": SCALE | {"points": [[0, 0]]}}, "/scale/points"),
        ({"scale": SCALE | {"points": [[0, 0], [1, 2, 3]]}}, "/scale/points/1"),
        ({"scale": SCALE | {"points": [[0, 0], [1, True]]}}, "/scale/points/1/1"),
        ({"scale": SCALE | {"points": [[0, 0], [601, 3]]}}, "/scale/points/1"),
        ({"scale": SCALE | {"points": [[0, 0], [3, 3]]}}, "/scale/points"),
        ({"turn": 361}, "/turn"),
        ({"north": "up"}, "/north"),
        ({"origin": [1]}, "/origin"),
        ({"origin": [1e9, 0]}, "/origin/0"),
        ({"tilt": 3}, "/tilt"),
        ({"on_map": {"crs": "EPSG:26915", "origin": [0, 0]}}, "/north"),
        ({"north": 0, "on_map": {"crs": "EPSG:4326", "origin": [0, 0]}}, "/on_map/crs"),
        ({"north": 0, "on_map": {"crs": "local", "origin": [0, 0]}}, "/on_map/crs"),
        ({"north": 0, "on_map": {"crs": "http://a.example/", "origin": [0, 0]}}, "/on_map/crs"),
    ],
)
def test_a_placement_that_is_none_is_refused_by_its_pointer(change, pointer, place) -> None:
    answer = place(**change)
    assert (answer.status_code, answer.mimetype) == (422, "application/problem+json")
    assert pointer in [error["pointer"] for error in answer.json["errors"]]


def test_who_waits_too_long_for_a_turn_is_told_to_come_again(
    conforms, monkeypatch, send, tmp_path
) -> None:
    monkeypatch.setattr(site_plan, "MOST_WAITING_S", 0.05)
    monkeypatch.setattr(site_plan, "_turns", threading.BoundedSemaphore(1))
    with site_plan._turns:
        answer = send(paper.picture())
    assert (answer.status_code, answer.mimetype) == (503, "application/problem+json")
    conforms("POST /site-plans", answer)
    assert kept(tmp_path) == []
    assert send(paper.picture()).status_code == 201, "the turn was given back"


def test_many_at_once_take_their_turns(app, monkeypatch, tmp_path) -> None:
    """Five uploads; never more readers at a time than are allowed, and each is kept."""
    running, most, counting = 0, 0, threading.Lock()
    real = site_plan.subprocess.run

    def counted(*args, **kwargs):
        nonlocal running, most
        with counting:
            running += 1
            most = max(most, running)
        try:
            return real(*args, **kwargs)
        finally:
            with counting:
                running -= 1

    monkeypatch.setattr(site_plan.subprocess, "run", counted)
    monkeypatch.setattr(site_plan, "MOST_WAITING_S", 60.0)
    codes: list[int] = []

    def one() -> None:
        file = (io.BytesIO(paper.picture()), "a.png")
        answer = app.test_client().post("/api/v1/site-plans", data={"file": file})
        codes.append(answer.status_code)

    threads = [threading.Thread(target=one) for _ in range(5)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert codes == [201] * 5
    assert 1 <= most <= site_plan.AT_ONCE
    assert len(kept(tmp_path)) == 5
