"""Whatever is wrong with a request, the answer is problem+json and points at the fault."""

from __future__ import annotations

import json
import re
from pathlib import Path

import marshmallow as ma
import pytest

from yardfall.web import problems
from yardfall.web.bodies import MAX_JSON_BYTES
from yardfall.web.problems import SAID_PLAINLY

NO_JSON = {
    "empty": b"",
    "cut short": b'{"units": "us"',
    "no UTF-8": b'{"units": "\xff"}',
    "UTF-16": json.dumps({"units": "us"}).encode("utf-16"),
    "nested a hundred thousand deep": b"[" * 100_000,
    "nested deep and closed": b"[" * 50_000 + b"]" * 50_000,
    "a byte order mark": b'\xef\xbb\xbf{"units": "us"}',
    "a name twice": b'{"units": "us", "units": "si"}',
    "a name twice, deep": b'{"route": {"length": 1, "length": 2}}',
    "a name twice, once escaped": b'{"units": "us", "\\u0075nits": "si"}',
    "a number of 5,000 digits": b'{"units": ' + b"7" * 5000 + b"}",
}


@pytest.mark.parametrize("path", ["/plan", "/profile"])
@pytest.mark.parametrize("body", NO_JSON.values(), ids=NO_JSON)
def test_a_body_that_is_not_json(path: str, body: bytes, refused) -> None:
    assert "JSON" in refused(path, 400, data=body, content_type="application/json")["detail"]


@pytest.mark.parametrize(
    ("body", "words"),
    [
        (b"", "empty"),
        (b'\xef\xbb\xbf{"units": "us"}', "byte order mark. Leave it out"),
        (b'{"units": }', "a value is missing at line 1, column 11"),
        (b'{"units":\n "us" "route": 1}', "a comma or a closing bracket is missing at line 2"),
        (b"{'units': 1}", "a name in double quotes is missing"),
        (b"{} {}", "something follows the end"),
        (b'{"units": "us}', "a text begins that does not end"),
        (b'{"units": "\n"}', "a line break"),
        (b'{"units": "us", "route": {}, "units": "si"}', "'units' stands twice"),
        (b'{"\\ud800": 1, "\\ud800": 1}', "'\\ud800' stands twice"),
    ],
)
def test_what_is_no_json_is_told_plainly(body: bytes, words: str, refused) -> None:
    told = refused("/plan", 400, data=body, content_type="application/json")["detail"]
    assert words in told
    assert not any(jargon in told for jargon in ("utf-8-sig", "char ", "Expecting", "delimiter"))


HALVES = [
    ("/plan", "/prices/currency"),
    ("/plan", "/crossings/0/what"),
    ("/plan", "/inflows/0/name"),
    ("/plan", "/ground/readings/1/line"),
    ("/plan", "/branches/0/name"),
    ("/plan", "/paper/title"),
    ("/profile", "/ground/benchmark/name"),
    ("/compare", "/plans/1/name"),
    ("/grade-check", "/as_dug/0/line"),
    ("/reach", "/ground/raster"),
    ("/flow", "/inflows/0/name"),
    ("/jobs", "/name"),
    ("/jobs", "/form/typed/0"),
]


@pytest.mark.parametrize(("path", "pointer"), HALVES)
@pytest.mark.parametrize("half", ["\\ud800", "x\\uDFFF", "\\uDbff\\ud83d\\ude00"])
def test_half_of_a_character_is_refused_where_it_stands(
    path: str, pointer: str, half: str, refused
) -> None:
    body: object = "@"
    for step in reversed(pointer.split("/")[1:]):
        body = [{}] * int(step) + [body] if step.isdigit() else {step: body}
    text = json.dumps(body).replace("@", half)
    answer = refused(path, data=text, content_type="application/json")
    assert [error["pointer"] for error in answer["errors"]] == [pointer]
    assert "half of a character" in answer["detail"]


def test_half_of_a_character_in_a_name_is_refused_too(refused) -> None:
    (error,) = refused("/plan", data=b'{"a": {"\\udc00": 1}}', content_type="application/json")[
        "errors"
    ]
    assert error["pointer"] == "/a"


def test_whole_characters_are_taken_however_they_are_written(changed, plan) -> None:
    body = json.dumps(changed("/prices", {"currency": "@"}))
    for text in ("\\ud83d\\ude00", "😀", "\\\\ud800"):  # the last is a backslash and letters
        answer = plan(json.loads(body.replace("@", text)))
        assert answer["quantities"]["cost"]["currency"] == json.loads(f'"{text}"')


def test_a_call_with_a_body_takes_no_query(yard_request, client) -> None:
    answer = client.post("/api/v1/plan?units=us&page=1", json=yard_request)
    assert answer.status_code == 422
    assert [error["pointer"] for error in answer.json["errors"]] == ["/units", "/page"]
    assert "into the body" in answer.json["detail"]
    assert client.post("/api/v1/plan?", json=yard_request).status_code == 200


@pytest.mark.parametrize("body", ["null", "[]", "[{}]", '"us"', "5", "true"])
def test_a_body_that_is_no_object(body: str, refused) -> None:
    answer = refused("/plan", data=body, content_type="application/json")
    assert answer["errors"] == [{"pointer": "", "detail": "This must be an object."}]


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


def test_a_body_too_large(refused) -> None:
    body = b'{"units": "' + b"u" * MAX_JSON_BYTES + b'"}'
    assert (
        "over 4 MiB" in refused("/plan", 413, data=body, content_type="application/json")["detail"]
    )


def test_a_file_or_a_part_too_large_names_what_is(refused, client, monkeypatch) -> None:
    def detail(disposition: str, size: int) -> str:
        head = f"--a\r\nContent-Disposition: form-data; {disposition}\r\n\r\n"
        body = head.encode() + bytes(size) + b"\r\n--a--\r\n"
        kind = "multipart/form-data; boundary=a"
        return refused("/rasters", 413, data=body, content_type=kind)["detail"]

    assert "beside the file" in detail('name="x"', 600_000)
    monkeypatch.setitem(client.application.config, "MAX_CONTENT_LENGTH", 2 << 20)
    assert "over 2 MiB" in detail('name="file"; filename="a.tif"', 3 << 20)


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

    monkeypatch.setattr("yardfall.web.calls.raster_page", fail)
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
    assert found[0]["pointer"].startswith("/branches/0/branches/0")


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


@pytest.mark.parametrize(
    ("pointer", "value", "detail"),
    [
        ("/route/length", "52", "Route, length: This must be a number."),
        (
            "/grade/max_percent",
            1,
            "The greatest grade cannot be less than the least grade, 1.25 %.",
        ),
        (
            "/stations/at",
            [60],
            "Stations, at, entry 1: This station lies beyond the end of the route.",
        ),
        ("/a~b", 1, "A~b: There is no field 'a~b' here; leave it out."),
    ],
)
def test_a_detail_is_for_a_user_to_read(pointer, value, detail, changed, refused) -> None:
    assert refused("/plan", json=changed(pointer, value))["detail"] == detail


def test_several_faults_of_the_sums_name_their_places(changed, refused) -> None:
    told = refused("/plan", json=changed("/stations/at", [60, 70]))["detail"]
    assert told == (
        "Stations, at, entry 1: This station lies beyond the end of the route. "
        "Stations, at, entry 2: This station lies beyond the end of the route."
    )


def test_an_intermediate_sight_without_a_place_is_pointed_at(examples, refused) -> None:
    body = examples["rod"]
    index = next(i for i, shot in enumerate(body["ground"]["shots"]) if shot["sight"] == "IS")
    shot = body["ground"]["shots"][index]
    del shot["at"]
    (error,) = refused("/plan", json=body)["errors"]
    assert error["pointer"] == f"/ground/shots/{index}/at"
    assert "or in `on` the name" in error["detail"]


def test_no_word_of_the_schemas_library_is_shown() -> None:
    """All that its fields in use, and its validators without a text of ours, would say."""
    kinds = [ma.Schema, *(getattr(ma.fields, name) for name in USED)]
    said = {text for kind in kinds for text in messages(kind).values()}
    assert said - set(SAID_PLAINLY) == {
        "Special numeric values (nan or infinity) are not permitted."
    }
    source = "".join(path.read_text("utf-8") for path in WEB.glob("*.py"))
    assert set(re.findall(r"ma\.fields\.([A-Z]\w+)\(", source)) <= set(USED)
    for call in re.findall(
        r"validate\.(?:Range|Length|Regexp|OneOf)\((?:[^()]|\([^()]*\))*\)", source
    ):
        assert "error=" in call, call


def messages(kind: type) -> dict[str, str]:
    name = "_default_error_messages" if kind is ma.Schema else "default_error_messages"
    return {
        k: text for base in reversed(kind.__mro__) for k, text in getattr(base, name, {}).items()
    }


USED = ("Boolean", "Dict", "Field", "Float", "Integer", "List", "Nested", "Raw", "String")
WEB = Path(problems.__file__).parent


@pytest.mark.parametrize("query", ["units=metric", "units=", "unit=si", "units=us&page=1"])
def test_queries_are_as_strict(query: str, client) -> None:
    answer = client.get(f"/api/v1/pipes?{query}")
    assert (answer.status_code, answer.mimetype) == (422, "application/problem+json")


@pytest.mark.parametrize("query", ["page=0", "page=-1", "page=1.5", "page=x", "page_size=201"])
def test_pages_that_cannot_be(query: str, client) -> None:
    answer = client.get(f"/api/v1/rasters?{query}")
    assert answer.status_code == 422
    assert [error["pointer"] for error in answer.json["errors"]] == ["/" + query.split("=")[0]]
