"""What several tests share: an application on an empty data directory, and its client."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path

import pytest
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import settings

from yardfall.app import Settings, create_app

ROOT = Path(__file__).resolve().parents[1]
EXAMPLES = ROOT / "openapi" / "examples"
sys.path.insert(0, str(Path(__file__).parent / "sent"))  # so that tests can import what is in it

# The same examples on every run of CI; new ones on every run by hand.
settings.register_profile("ci", derandomize=True)
if os.environ.get("CI"):
    settings.load_profile("ci")


@pytest.fixture
def app(tmp_path: Path) -> Flask:
    return create_app(Settings(tmp_path / "data"))


@pytest.fixture
def client(app: Flask) -> FlaskClient:
    return app.test_client()


@pytest.fixture
def yard_request() -> dict:
    """Five level-line readings over 52 ft: the request of the contract's example."""
    return json.loads((EXAMPLES / "level_line.json").read_text("utf-8"))


@pytest.fixture(scope="session")
def open_data() -> Path:
    """Folder with the open rasters that `tests/run.py` downloads."""
    folder = Path(os.environ.get("YARDFALL_OPEN_DATA", ROOT / ".cache" / "open-data"))
    if not folder.is_dir():
        pytest.fail("No open data here: run `python3 tests/run.py` once, it downloads them.")
    return folder
