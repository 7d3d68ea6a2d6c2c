"""What is kept is for its owner's eyes alone, on the disk and in no cache."""

from __future__ import annotations

import os
import stat
import sys
from pathlib import Path

import pytest
from front import make_keys

from yardfall.app import Settings, create_app

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="modes as POSIX has them")


@pytest.fixture(autouse=True)
def _open_umask():
    """The worst: a user whose new files everybody may read and write."""
    before = os.umask(0)
    yield
    os.umask(before)


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def keep_something(app) -> None:
    made = {"name": "Elm St 4", "request": {}, "draft": True}
    assert app.test_client().post("/api/v1/jobs", json=made).status_code == 201


def test_a_new_folder_and_its_files(tmp_path: Path) -> None:
    app = create_app(Settings(tmp_path / "data"))
    keep_something(app)
    assert mode(tmp_path / "data") == 0o700
    found = {path.name: oct(mode(path)) for path in (tmp_path / "data").iterdir() if path.is_file()}
    assert set(found.values()) == {"0o600"}, found
    assert {"yardfall.sqlite", "yardfall.sqlite-wal"} <= set(found)
    app.extensions["engine"].dispose()


def test_those_of_before_are_closed(tmp_path: Path) -> None:
    make_keys(tmp_path)
    (tmp_path / "data").chmod(0o755)
    (tmp_path / "data" / "yardfall.sqlite").chmod(0o644)
    app = create_app(Settings(tmp_path / "data"))
    keep_something(app)
    assert mode(tmp_path / "data") == 0o700
    assert mode(tmp_path / "data" / "yardfall.sqlite") == 0o600
    app.extensions["engine"].dispose()


def test_a_folder_that_holds_somebodys_other_things_stays_as_it_is(tmp_path: Path) -> None:
    (tmp_path / "notes.txt").write_text("mine")
    tmp_path.chmod(0o755)
    app = create_app(Settings(tmp_path))
    assert mode(tmp_path) == 0o755
    assert mode(tmp_path / "yardfall.sqlite") == 0o600
    assert mode(tmp_path / "rasters") == 0o700
    app.extensions["engine"].dispose()


def test_no_cache_keeps_what_a_key_opens(app) -> None:
    _, secret = app.extensions["keys"].make("Ann")
    client = app.test_client()
    headers = {"Authorization": f"Bearer {secret}"}
    made = {"name": "Elm St 4", "request": {}, "draft": True}
    job = client.post("/api/v1/jobs", json=made, headers=headers).json["id"]
    paths = ("jobs", f"jobs/{job}", "rasters", "site-plans", "pipes", "export", "page-settings")
    for path in [*(f"/api/v1/{path}" for path in paths), "/demo.json", "/"]:
        answer = client.get(path, headers=headers, buffered=True)
        assert (answer.status_code, answer.headers["Cache-Control"]) == (200, "no-store"), path
    for path in ("/static/main.js", "/reference"):
        assert client.get(path).headers["Cache-Control"] != "no-store", "holds nobody's data"
