"""The service in process, asked as any caller asks it; and the catalogue that it answers."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from yardfall.app import Settings, create_app

sys.path.insert(0, str(Path(__file__).parent))  # so that tests can import what is in it


@pytest.fixture(scope="session")
def service(tmp_path_factory: pytest.TempPathFactory) -> Callable[[dict[str, Any]], dict[str, Any]]:
    """Sends a body to /plan and gives the answer; anything but 200 is a failure of the test."""
    from runner import Service

    return Service(create_app(Settings(tmp_path_factory.mktemp("oracle"))).test_client())


@pytest.fixture(scope="session")
def pipes(service: Any) -> dict[str, dict[str, Any]]:
    return service.pipes()
