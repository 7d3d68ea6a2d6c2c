"""Many sums at once: few run, keys take turns, and a sum's time begins with its turn."""

from __future__ import annotations

import threading
import time

import numpy as np
import pytest
import rasterio
from rasterio.transform import from_origin

from yardfall.core.errors import UnavailableError
from yardfall.geo import sandbox
from yardfall.use_cases import workflow
from yardfall.web.http.watch.turns import Turns


def test_a_key_without_a_sum_is_let_in_before_one_with_many() -> None:
    turns = Turns(usual=2, most=3)
    turns.take("ann")
    turns.take("ann")
    order: list[str] = []

    def wait(key: str) -> None:
        turns.take(key, 20)
        order.append(key)
        turns.give_back(key)

    threads = [threading.Thread(target=wait, args=(key,)) for key in ("ann", "ann")]
    for thread in threads:
        thread.start()
    time.sleep(0.1)
    turns.take("bob", 0.01)  # at once: bob has none running
    with pytest.raises(UnavailableError, match="waited"):
        turns.take("cid", 0.05)
    assert order == []
    last = threading.Thread(target=wait, args=("cid",))
    last.start()
    time.sleep(0.1)
    for key in ("bob", "ann", "ann"):
        turns.give_back(key)
        time.sleep(0.1)
    for thread in (*threads, last):
        thread.join(5)
    assert order[0] == "cid", "who waits with none running goes first"
    assert sorted(order) == ["ann", "ann", "cid"]


def test_slow_sums_of_one_key_leave_another_its_answers(keyed, yard_request, monkeypatch) -> None:
    """Once 58 s for a GET. Four slow ones of ann; bob's GET and his plan go on."""
    _, clients = keyed("ann", "bob")
    plan, go_on, slow = workflow.plan, threading.Event(), threading.Event()

    def held(request, rasters):
        if threading.current_thread().name.startswith("ann"):
            slow.set()
            go_on.wait(20)
        return plan(request, rasters)

    monkeypatch.setattr(workflow, "plan", held)
    found: list[int] = []

    def send() -> None:
        found.append(clients["ann"].post("/api/v1/plan", json=yard_request).status_code)

    threads = [threading.Thread(target=send, name=f"ann {i}") for i in range(4)]
    for thread in threads:
        thread.start()
    assert slow.wait(10)
    bob = clients["bob"]
    assert bob.post("/api/v1/plan", json=yard_request).status_code == 200
    began = time.perf_counter()
    assert bob.get("/api/v1/jobs").status_code == 200
    assert time.perf_counter() - began < 1, "under 100 ms on an idle machine"
    go_on.set()
    for thread in threads:
        thread.join(20)
    assert found == [200] * 4


def test_a_key_has_so_many_requests_at_once(keyed, yard_request, monkeypatch) -> None:
    _, clients = keyed("ann", "bob", at_once=2)
    plan, go_on = workflow.plan, threading.Event()

    def held(request, rasters):
        go_on.wait(20)
        return plan(request, rasters)

    monkeypatch.setattr(workflow, "plan", held)
    threads = [
        threading.Thread(target=lambda: clients["ann"].post("/api/v1/plan", json=yard_request))
        for _ in range(2)
    ]
    for thread in threads:
        thread.start()
    time.sleep(0.5)
    refused = clients["ann"].get("/api/v1/jobs")
    assert refused.status_code == 429
    assert refused.headers["Retry-After"]
    assert clients["bob"].get("/api/v1/jobs").status_code == 200
    go_on.set()
    for thread in threads:
        thread.join(20)
    assert clients["ann"].get("/api/v1/jobs").status_code == 200


def test_time_spent_waiting_is_no_time_of_the_sum(keyed, yard_request, monkeypatch) -> None:
    _, clients = keyed("ann", sum_s=1.0)
    monkeypatch.setattr("yardfall.web.http.watch.turns.Turns.take", lambda *_: time.sleep(1.5))
    monkeypatch.setattr("yardfall.web.http.watch.turns.Turns.give_back", lambda *_: None)
    assert clients["ann"].post("/api/v1/plan", json=yard_request).status_code == 200


def test_files_whose_reader_ends_are_read_by_another(tmp_path) -> None:
    """A turn that is cancelled was a 500 once."""
    sound = tmp_path / "sound.tif"
    profile = {"driver": "GTiff", "width": 9, "height": 9, "count": 1, "dtype": "float32"}
    profile |= {"crs": "EPSG:26915", "transform": from_origin(5e5, 47e5, 1, 1)}
    with rasterio.open(sound, "w", **profile) as out:
        out.write(np.full((9, 9), 100, np.float32), 1)
    sandbox.warm()
    facts = sandbox.examine(sound)
    for pool in list(sandbox._idle.queue):
        for process in list((getattr(pool, "_processes", None) or {}).values()):
            process.kill()
    found: list[object] = []
    threads = [
        threading.Thread(target=lambda: found.append(sandbox.examine(sound))) for _ in range(4)
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(100)
    assert found == [facts] * 4
