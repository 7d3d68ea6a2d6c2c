"""Whatever is wrong with a request, the answer is problem+json and points at the fault."""

from __future__ import annotations

import pytest


@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("/plan", "text/plain"),
        ("/plan", "application/x-www-form-urlencoded"),
        ("/plan", "application/vnd.api+json"),
        ("/plan", None),
        ("/profile", "multipart/form-data; boundary=a"),
        ("/rasters", "image/tiff"),
        ("/rasters", "application/json"),
        ("/rasters", None),
    ],
)
def test_a_wrong_content_type(path: str, kind: str | None, refused) -> None:
    wanted = "multipart/form-data" if path == "/rasters" else "application/json"
    assert wanted in refused(path, 415, data=b"{}", content_type=kind)["detail"]


@pytest.mark.parametrize(
    ("method", "path"),
    [
        ("GET", "/api/v1/nowhere"),
        ("POST", "/api/v1/nowhere"),
        ("GET", "/nowhere"),
        ("GET", "/api/v1/health/"),
        ("GET", "/api/v1/rasters/0123"),
        ("GET", "/api/v1/rasters/%00"),
        ("GET", "/api/v1/rasters/..%2f..%2fetc%2fpasswd"),
        ("GET", "/api/v1/rasters/0123/relief.png"),
        ("DELETE", "/api/v1/rasters/0123"),
        ("GET", "/static/../pyproject.toml"),
        ("GET", "/static/%2e%2e/pyproject.toml"),
        ("GET", "/leaflet/%2e%2e/__init__.py"),
    ],
)
def test_what_is_not_there(method: str, path: str, client) -> None:
    answer = client.open(path, method=method)
    assert (answer.status_code, answer.mimetype) == (404, "application/problem+json")
    assert answer.json["title"] == "Not Found"


ALLOWED = {
    "/api/v1/health": {"GET", "HEAD", "OPTIONS"},
    "/api/v1/pipes": {"GET", "HEAD", "OPTIONS"},
    "/api/v1/profile": {"POST", "OPTIONS"},
    "/api/v1/plan": {"POST", "OPTIONS"},
    "/api/v1/rasters": {"GET", "HEAD", "POST", "OPTIONS"},
    "/api/v1/rasters/0123": {"GET", "HEAD", "DELETE", "OPTIONS"},
    "/api/v1/rasters/0123/relief.png": {"GET", "HEAD", "OPTIONS"},
    "/api/v1/openapi.json": {"GET", "HEAD", "OPTIONS"},
    "/": {"GET", "HEAD", "OPTIONS"},
    "/reference": {"GET", "HEAD", "OPTIONS"},
}
METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "TRACE", "PROPFIND")


@pytest.mark.parametrize("path", ALLOWED)
def test_methods_not_allowed_name_those_that_are(path: str, client) -> None:
    for method in METHODS:
        if method in ALLOWED[path]:
            continue
        answer = client.open(path, method=method)
        assert (answer.status_code, answer.mimetype) == (405, "application/problem+json"), method
        assert set(answer.headers["Allow"].split(", ")) == ALLOWED[path], method


@pytest.mark.parametrize("path", ALLOWED)
def test_options_name_the_methods(path: str, client) -> None:
    answer = client.options(path)
    assert answer.status_code == 200
    assert set(answer.headers["Allow"].split(", ")) == ALLOWED[path]


@pytest.mark.parametrize("path", ["/api/v1/health", "/api/v1/pipes", "/api/v1/rasters"])
def test_head_answers_as_get_without_the_body(path: str, client) -> None:
    head, get = client.head(path), client.get(path)
    assert (head.status_code, head.data) == (200, b"")
    assert head.headers["Content-Type"] == get.headers["Content-Type"]
    assert head.headers["Content-Length"] == str(len(get.data))


def test_a_fault_of_ours_is_a_500_that_tells_nothing(app, client, monkeypatch) -> None:
    def fail(*_: object) -> None:
        raise RuntimeError("a secret")

    monkeypatch.setattr("yardfall.web.plan.views.raster_page", fail)
    answer = client.get("/api/v1/rasters")
    assert (answer.status_code, answer.mimetype) == (500, "application/problem+json")
    assert "secret" not in answer.get_data(as_text=True)


# A pointer to change in the yard's request, the value put there (... takes it out), the pointer
# the answer must give (None: the same), and words of its sentence.
FAULTS = [
    ("/units", ..., None, "missing"),
    ("/units", "US", None, "us, si"),
    ("/units", "metric", None, "us, si"),
    ("/route", ..., None, "missing"),
    ("/route", {}, None, "exactly one of length or line"),
    ("/route", {"length": 52, "line": {}}, None, "exactly one of length or line"),
    ("/route", [52], None, "object"),
    ("/route/length", 0, None, "at least"),
    ("/route/length", -5, None, "at least"),
    ("/route/length", 1e6, None, "at most"),
    ("/route/length", 53, "/ground", "0+52 to 0+53"),
    ("/ground", ..., None, "missing"),
    ("/ground/kind", ..., None, "level_line, rod"),
    ("/ground/kind", "level", None, "level_line, rod"),
    ("/ground/kind", 5, None, "level_line, rod"),
    ("/ground/kind", ["rod"], None, "level_line, rod"),
    ("/ground/readings", ..., None, "missing"),
    ("/ground/readings", [], None, "2 to 2000"),
    ("/ground/readings", {}, None, "list"),
    ("/ground/readings/0/at", 1, "/ground", "0+00 to 0+01"),
    ("/ground/readings/2/down", ..., None, "missing"),
    ("/ground/readings/2/at", -1, None, "at least"),
    ("/ground/readings/2/at", 13, None, "same station"),
    ("/ground/readings/2/line", "", None, "1"),
    ("/ground/readings/2/line", "second", None, "shares no station"),
    ("/pipe", ..., None, "missing"),
    ("/pipe/code", "corrugated-single-4.5", None, "GET /pipes"),
    ("/pipe", {}, None, "exactly one of code or outside"),
    ("/pipe/outside", 3, None, "larger"),
    ("/pipe", {"outside": 3, "inside": 4, "n": 0.01}, "/pipe/outside", "larger"),
    ("/pipe", {"outside": 4, "inside": 3.5, "wall": 1, "n": 0.01}, "/pipe/wall", "thicker"),
    ("/pipe", {"outside": 4, "n": 0.01}, "/pipe/inside", "missing"),
    ("/start", ..., None, "missing"),
    ("/start", {}, None, "cover, depth or invert"),
    ("/start/depth", 12, "/start", "cover, depth or invert"),
    ("/start/shallowest_cover", 9, None, "cannot be more"),
    ("/grade/min_percent", 51, None, "at most"),
    ("/grade/max_percent", 1, None, "1.25 %"),
    ("/grade/shape", "curved", None, "straight"),
    ("/grade/fall_step", 0, None, "at least"),
    ("/limits/max_depth", 0, None, "greater than"),
    ("/outlet", ..., None, "missing"),
    ("/outlet/kind", "chute", None, "daylight"),
    ("/outlet/depth", {}, None, "min, max or both"),
    ("/outlet/depth", {"prefer": 8}, None, "min, max or both"),
    ("/outlet/depth", {"min": 10, "max": 7}, "/outlet/depth/min", "cannot be more"),
    ("/outlet/invert", {"max": 7}, None, "not both"),
    ("/outlet/depth", {"min": 7, "prefer": 6}, "/outlet/depth/prefer", "from min to max"),
    ("/outlet/depth", {"max": 7, "prefer": 8}, "/outlet/depth/prefer", "from min to max"),
    ("/outlet/invert", None, None, "cannot be null"),
    ("/route/length", None, None, "cannot be null"),
    ("/stations/every", 2e6, None, "at most 100,000."),
    ("/limits/min_cover", 2e6, None, "at most 1,000,000."),
    ("/ground/readings/2/line", "x" * 81, None, "1 to 80 characters"),
    ("/ground", {"kind": "raster", "raster": "x"}, "/ground/raster", "id that its upload told"),
    ("/outlet", {"kind": "tie_in"}, None, "measure it"),
    ("/outlet", {"kind": "curb"}, None, "measure it"),
    ("/stations/every", 0.01, None, "at least"),
    ("/stations/at", [5, 60], "/stations/at/1", "beyond the end"),
    ("/stations/at", 5, None, "list"),
]


@pytest.mark.parametrize(
    ("pointer", "value", "told", "words"), FAULTS, ids=[f"{f[0]}={f[1]}"[:60] for f in FAULTS]
)
def test_each_fault_is_pointed_at(pointer, value, told, words, changed, refused) -> None:
    found = refused("/plan", json=changed(pointer, value))["errors"]
    told = pointer if told is None else told
    at = [error["detail"] for error in found if error["pointer"] == told]
    assert at, found
    assert any(words in detail for detail in at), at


def test_stations_without_end_are_refused(changed, refused) -> None:
    body = changed("/route/length", 90_000)
    body["ground"]["readings"][-1]["at"] = 90_000
    body["stations"] = {"every": 0.1}
    (error,) = refused("/plan", json=body)["errors"]
    assert error["pointer"] == "/stations/every"
    assert "2000" in error["detail"]
    assert "really so long" in error["detail"]


def test_a_length_in_the_wrong_unit_is_told_as_such(examples, refused) -> None:
    """21 m typed as 21000 mm: the ground ends at 21, and that is the nearer fault."""
    for every in (3, None):
        body = examples["elevations"]
        body |= {"units": "si", "route": {"length": 21_000}, "stations": {"every": every or 100}}
        body["ground"]["points"] = [{"at": 0, "elevation": 3}, {"at": 21, "elevation": 2}]
        (error,) = refused("/plan", json=body)["errors"]
        assert error["pointer"] == "/ground"
        assert "0+021 to 21+000" in error["detail"]


def test_branches_of_branches_without_end_are_refused(yard_request, refused) -> None:
    keys = ("route", "ground", "pipe", "start")
    branch = {key: yard_request[key] for key in keys} | {"name": "side yard", "joins_at": 26}
    body = branch
    for _ in range(200):
        body = branch | {"branches": [body]}
    found = refused("/plan", json=yard_request | {"branches": [body]})["errors"]
    assert found[0]["pointer"] == "/branches", "told of the whole, before anything in them is read"
    assert "50" in found[0]["detail"]


def test_several_faults_are_told_at_once(changed, refused) -> None:
    body = changed("/ground/readings/1/down", "10", changed("/units", ...))
    body["route"]["length"] = True
    answer = refused("/plan", json=body)
    found = {error["pointer"] for error in answer["errors"]}
    assert found == {"/units", "/route/length", "/ground/readings/1/down"}
    sentences = {
        "Units: The field 'units' is missing.",
        "Route, length: This must be a number.",
        "Ground, readings, entry 2, down: This must be a number.",
    }
    assert all(sentence in answer["detail"] for sentence in sentences)
    assert len(answer["detail"]) == len(" ".join(sentences)), "sentences, a space between"


def test_an_intermediate_sight_without_a_place_is_pointed_at(examples, refused) -> None:
    body = examples["rod"]
    index = next(i for i, shot in enumerate(body["ground"]["shots"]) if shot["sight"] == "IS")
    shot = body["ground"]["shots"][index]
    del shot["at"]
    (error,) = refused("/plan", json=body)["errors"]
    assert error["pointer"] == f"/ground/shots/{index}/at"
    assert "or in `on` the name" in error["detail"]


@pytest.mark.parametrize("query", ["units=metric", "units=", "unit=si", "units=us&page=1"])
def test_queries_are_as_strict(query: str, client) -> None:
    answer = client.get(f"/api/v1/pipes?{query}")
    assert (answer.status_code, answer.mimetype) == (422, "application/problem+json")


@pytest.mark.parametrize("query", ["page=0", "page=-1", "page=1.5", "page=x", "page_size=201"])
def test_pages_that_cannot_be(query: str, client) -> None:
    answer = client.get(f"/api/v1/rasters?{query}")
    assert answer.status_code == 422
    assert [error["pointer"] for error in answer.json["errors"]] == ["/" + query.split("=")[0]]
