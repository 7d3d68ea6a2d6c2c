"""While loops are compiled, which nothing can end, no sum waits for them beyond its own time."""

from __future__ import annotations

import threading
import time

import pytest

from yardfall.app import Settings, create_app
from yardfall.core import compiled
from yardfall.core.ground import route
from yardfall.web.http.watch.limits import Limits


@pytest.fixture
def compiling(monkeypatch):
    """A compiler at work until it is let go."""
    over, begun = threading.Event(), threading.Event()

    def slow() -> None:
        begun.set()
        over.wait(60)

    with monkeypatch.context() as patched:
        patched.setattr(compiled, "MODULES", ("ground.route",))
        patched.setattr(route, "warm", slow)
        at_work = threading.Thread(target=compiled.warm)
        at_work.start()
        assert begun.wait(20)
        yield over
        over.set()
        at_work.join(20)


def test_a_sum_is_told_so_at_its_time_and_served_once_all_is_ready(
    tmp_path, yard_request, compiling
) -> None:
    client = create_app(Settings(tmp_path / "own", limits=Limits(sum_s=0.5))).test_client()
    began = time.monotonic()
    answer = client.post("/api/v1/plan", json=yard_request)
    assert 0.4 < time.monotonic() - began < 10
    assert answer.status_code == 503
    assert answer.headers["Retry-After"]
    assert "getting ready" in answer.json["detail"]
    assert client.get("/api/v1/pipes?units=us").status_code == 200
    health = client.get("/api/v1/health")
    assert (health.status_code, health.json["getting_ready"]) == (200, True)
    compiling.set()
    assert compiled.settled(20)
    assert client.get("/api/v1/health").json["getting_ready"] is False
    with_time = create_app(Settings(tmp_path / "more")).test_client()
    assert with_time.post("/api/v1/plan", json=yard_request).status_code == 200


def test_where_nothing_is_compiled_nothing_waits() -> None:
    assert compiled.settled(0)
