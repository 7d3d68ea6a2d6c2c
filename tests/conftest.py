"""What several tests share: an application on an empty data directory, and its client."""

from __future__ import annotations

import copy
import json
import os
import shutil
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import settings
from playwright.sync_api import Browser, sync_playwright
from threadpoolctl import threadpool_limits

from yardfall.app import Settings, create_app

ROOT = Path(__file__).resolve().parents[1]
EXAMPLES = ROOT / "openapi" / "examples"
sys.path.insert(0, str(Path(__file__).parent / "sent"))  # so that tests can import what is in it
import chromium  # noqa: E402  # it is in there

threadpool_limits(1, "blas")  # as in the service: several processes test at once
# The same examples on every run of CI; new ones on every run by hand.
settings.register_profile("ci", derandomize=True)
if os.environ.get("CI"):
    settings.load_profile("ci")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--long", action="store_true", help="also run what takes minutes")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if not config.getoption("--long"):
        left_out = pytest.mark.skip(reason="takes minutes: give --long")
        for item in items:
            if "long" in item.keywords:
                item.add_marker(left_out)


@pytest.fixture(scope="session")
def empty_data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data directory that a service has made and kept nothing in."""
    folder = tmp_path_factory.mktemp("empty") / "data"
    create_app(Settings(folder)).extensions["engine"].dispose()
    return folder


@pytest.fixture
def app(tmp_path: Path, empty_data: Path) -> Flask:
    """An application on an empty data directory: to make one anew takes longer than most tests."""
    folder = tmp_path / "data"
    shutil.copytree(empty_data, folder, copy_function=_copy_or_share)
    return create_app(Settings(folder))


def _copy_or_share(source: str, target: str) -> None:
    """The room kept back on the disk is only ever replaced as a whole, so it is shared."""
    (os.link if Path(source).name == "reserve" else shutil.copy2)(source, target)


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    return app.test_client()


@pytest.fixture
def yard_request() -> dict:
    """Five level-line readings over 52 ft: the request of the contract's example."""
    return json.loads((EXAMPLES / "level_line.json").read_text("utf-8"))


@pytest.fixture
def changed(yard_request: dict) -> Callable[..., dict]:
    """The yard's request with one value put at a pointer, or taken out (`...`)."""

    def change(pointer: str, value: Any, request: dict | None = None) -> dict:
        body = copy.deepcopy(yard_request if request is None else request)
        *path, last = (int(p) if p.isdigit() else p for p in pointer.strip("/").split("/"))
        part: Any = body
        for step in path:
            part = part[step] if isinstance(step, int) else part.setdefault(step, {})
        if value is ...:
            del part[last]
        else:
            part[last] = value
        return body

    return change


@pytest.fixture
def examples() -> dict[str, dict]:
    """The committed example requests by name."""
    return {path.stem: json.loads(path.read_text("utf-8")) for path in EXAMPLES.glob("*.json")}


@pytest.fixture(scope="session")
def open_data() -> Path:
    """Folder with the open rasters that `tests/run.py` downloads."""
    folder = Path(os.environ.get("YARDFALL_OPEN_DATA", ROOT / ".cache" / "open-data"))
    if not folder.is_dir():
        pytest.fail("No open data here: run `python3 tests/run.py` once, it downloads them.")
    return folder


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Chromium: the one named by YARDFALL_BROWSER, the system's, or Playwright's own."""
    with (
        sync_playwright() as playwright,
        playwright.chromium.launch(
            executable_path=chromium.executable(), args=chromium.ARGUMENTS
        ) as launched,
    ):
        yield launched
