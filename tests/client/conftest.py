"""A live planner under waitress, in a thread of the test run."""

from __future__ import annotations

import threading
from collections.abc import Iterator

import pytest
import waitress

from yardfall.app import Settings, create_app
from yardfall.client import Planner


@pytest.fixture(scope="module")
def planner(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Planner]:
    """A client of a planner on a port the system picked."""
    app = create_app(Settings(tmp_path_factory.mktemp("planner")))
    server = waitress.create_server(app, host="127.0.0.1", port=0, threads=2)
    thread = threading.Thread(target=server.run)
    thread.start()
    yield Planner(f"http://127.0.0.1:{server.effective_port}")
    server.close()
    thread.join(10)
    assert not thread.is_alive()
