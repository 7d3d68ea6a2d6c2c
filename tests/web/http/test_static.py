"""Files and answers packed for those who take gzip, and not sent again to those who have them."""

from __future__ import annotations

import gzip
import os

import pytest

from yardfall.web.http import static_files
from yardfall.web.page import page

GZIP = {"Accept-Encoding": "gzip, deflate, br"}
FILES = [
    ("/", page.PAGE / "index.html", "text/html"),
    ("/static/main.js", page.PAGE / "main.js", "text/javascript"),
    ("/static/style/page.css", page.PAGE / "style" / "page.css", "text/css"),
    ("/leaflet/leaflet.js", page.LEAFLET / "leaflet.js", "text/javascript"),
    ("/reference/swagger-ui.css", page.REFERENCE / "swagger-ui.css", "text/css"),
]


@pytest.mark.parametrize(("url", "path", "mimetype"), FILES)
def test_a_file_comes_packed_to_those_who_take_it(url, path, mimetype, client) -> None:
    plain, packed = client.get(url), client.get(url, headers=GZIP)
    assert plain.data == path.read_bytes()
    assert "Content-Encoding" not in plain.headers
    assert packed.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(packed.data) == plain.data
    assert len(packed.data) < len(plain.data) / 2
    assert int(packed.headers["Content-Length"]) == len(packed.data)
    for answer in (plain, packed):
        assert answer.mimetype == mimetype
        assert "Accept-Encoding" in answer.headers["Vary"]
    assert plain.headers["ETag"] != packed.headers["ETag"], "a strong tag names its bytes"


@pytest.mark.parametrize("takes", ["", "identity", "gzip;q=0", "br"])
def test_those_who_do_not_take_gzip_get_the_file(takes: str, client) -> None:
    answer = client.get("/static/main.js", headers={"Accept-Encoding": takes})
    assert answer.data == (page.PAGE / "main.js").read_bytes()


@pytest.mark.parametrize("headers", [{}, GZIP], ids=["plain", "packed"])
def test_a_file_is_not_sent_twice(headers: dict, client) -> None:
    tag = client.get("/static/main.js", headers=headers).headers["ETag"]
    again = client.get("/static/main.js", headers=headers | {"If-None-Match": tag})
    assert (again.status_code, again.data) == (304, b"")
    assert again.headers["ETag"] == tag
    assert "Accept-Encoding" in again.headers["Vary"]
    other = client.get("/static/main.js", headers=headers | {"If-None-Match": '"another"'})
    assert other.status_code == 200


def test_a_changed_file_is_sent_anew(client, monkeypatch, tmp_path) -> None:
    monkeypatch.setattr(page, "PAGE", tmp_path)
    file = tmp_path / "main.js"
    file.write_text("// one\n" * 400)
    first = client.get("/static/main.js", headers=GZIP)
    file.write_text("// two\n" * 400)
    os.utime(file, ns=(1, 1))  # of one size, and written within a clock's tick or at another time
    second = client.get("/static/main.js", headers=GZIP | {"If-None-Match": first.headers["ETag"]})
    assert second.status_code == 200
    assert gzip.decompress(second.data) == file.read_bytes()


def test_how_long_a_browser_may_keep_files(client) -> None:
    """Our modules are asked for again, so that those of two versions never run together."""
    assert client.get("/").headers["Cache-Control"] == "no-cache"
    assert client.get("/static/main.js").headers["Cache-Control"] == "no-cache"
    assert client.get("/leaflet/leaflet.js").headers["Cache-Control"] == static_files.KEEP_A_DAY


def test_small_files_and_pictures_are_not_packed(client, monkeypatch, tmp_path) -> None:
    picture = client.get("/leaflet/images/marker-icon.png", headers=GZIP)
    assert picture.mimetype == "image/png"
    assert "Content-Encoding" not in picture.headers
    monkeypatch.setattr(page, "PAGE", tmp_path)
    (tmp_path / "small.js").write_text("// short\n" * 9)
    small = client.get("/static/small.js", headers=GZIP)
    assert small.data == (tmp_path / "small.js").read_bytes()
    assert "Content-Encoding" not in small.headers


@pytest.mark.parametrize(
    "name",
    ["../pyproject.toml", "%2e%2e/pyproject.toml", "..%2f..%2fetc/passwd", "view", "none.js"],
)
def test_only_files_of_the_folder_are_sent(name: str, client) -> None:
    answer = client.get(f"/static/{name}")
    assert (answer.status_code, answer.mimetype) == (404, "application/problem+json")


def test_a_plan_comes_packed_to_those_who_take_it(client, yard_request) -> None:
    plain = client.post("/api/v1/plan", json=yard_request)
    packed = client.post("/api/v1/plan", json=yard_request, headers=GZIP)
    assert packed.headers["Content-Encoding"] == "gzip"
    assert gzip.decompress(packed.data) == plain.data
    assert int(packed.headers["Content-Length"]) == len(packed.data) < len(plain.data) / 2
    assert "Content-Encoding" not in plain.headers
    assert "Accept-Encoding" in plain.headers["Vary"]


def test_short_answers_are_sent_as_they_are(client) -> None:
    answer = client.get("/api/v1/health", headers=GZIP)
    assert "Content-Encoding" not in answer.headers
    assert answer.json["status"] == "ok"


def test_an_answer_with_a_tag_is_left_alone(app) -> None:
    """Its tag may serve If-Match, which a packed answer's would not."""

    @app.get("/tagged")
    def tagged():
        answer = app.json.response(["long"] * 1000)
        answer.set_etag("7")
        return answer

    answer = app.test_client().get("/tagged", headers=GZIP)
    assert answer.headers["ETag"] == '"7"'
    assert "Content-Encoding" not in answer.headers
