"""A live planner under waitress, in a thread of the test run."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from served import served

from yardfall.app import Settings, create_app
from yardfall.client import Planner


@pytest.fixture(scope="module")
def planner(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Planner]:
    """A client of a planner without keys."""
    with served(create_app(Settings(tmp_path_factory.mktemp("planner")))) as address:
        yield Planner(address)


@pytest.fixture
def keyed(tmp_path: Path) -> Iterator[tuple[Planner, str]]:
    """A client without a key of a planner that wants one, and the key."""
    app = create_app(Settings(tmp_path / "keyed"))
    _, secret = app.extensions["keys"].make("Ann")
    with served(app) as address:
        yield Planner(address), secret
