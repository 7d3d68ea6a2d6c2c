"""Where memory ran out, a thread that was being started kept a sum's turn for good."""

from __future__ import annotations

import _thread
import subprocess
import sys
import threading
import time

import pytest

from yardfall.core import deadline, threads
from yardfall.core.errors import TooLargeError, UnavailableError
from yardfall.web.http.watch.turns import Holders, Turns, _Held


@pytest.fixture
def no_threads(monkeypatch):
    """Every thread begun from now on ends before its first line, as one without memory does."""
    begun = []

    def begin(*_given):
        begun.append(1)
        return 1

    monkeypatch.setattr(_thread, "start_new_thread", begin)
    monkeypatch.setattr(threading, "_start_new_thread", begin)
    return begun


def test_a_sum_begins_and_ends_where_no_thread_can_begin(no_threads, monkeypatch) -> None:
    monkeypatch.setattr(deadline, "_watched", False)
    monkeypatch.setattr(deadline, "_watch_begun_s", -1e9)
    token = deadline.begin(0.05)
    assert no_threads, "or this shows nothing"
    time.sleep(0.1)
    with pytest.raises(TooLargeError):
        deadline.check()
    deadline.end(token)
    assert not deadline._running


def test_a_sum_does_its_parts_where_no_helper_ever_begins(no_threads, monkeypatch) -> None:
    monkeypatch.setattr(threads, "_begun", 0)
    monkeypatch.setattr(threads, "_asked", type(threads._asked)())
    assert threads.each(lambda x: x * x, range(50), 4) == [x * x for x in range(50)]
    assert no_threads


def test_helpers_help_and_their_faults_are_told() -> None:
    met = threading.Barrier(2, timeout=20)

    def both(number: int) -> int:
        if number < 2:
            met.wait()  # two threads are in it at once, or this breaks
        return number

    assert threads.each(both, range(9), 2) == list(range(9))

    def broken(number: int) -> int:
        if number == 5:
            raise MemoryError
        return number

    for _ in range(20):
        with pytest.raises(MemoryError):
            threads.each(broken, range(9), 2)
    assert threads.each(both, range(2, 9), 2) == list(range(2, 9))


def test_a_wait_for_a_turn_that_breaks_off_leaves_no_turn_taken(monkeypatch) -> None:
    turns = Turns(usual=1, most=1)
    turns.take("ann")

    def short(*_given):
        raise MemoryError

    with monkeypatch.context() as broken:
        broken.setattr(threading.Event, "wait", short)
        with pytest.raises(MemoryError):
            turns.take("bob", 1)
    with pytest.raises(UnavailableError, match="waited"):
        turns.take("cid", 0.05)
    turns.give_back("ann")
    turns.take("cid", 0.05)


def test_memory_that_runs_out_as_a_sum_is_admitted_keeps_no_turn(
    client, yard_request, monkeypatch
) -> None:
    def short(_seconds):
        raise MemoryError

    with monkeypatch.context() as broken:
        broken.setattr(deadline, "begin", short)
        for _ in range(12):
            assert client.post("/api/v1/plan", json=yard_request).status_code == 503
    assert client.post("/api/v1/plan", json=yard_request).status_code == 200


def test_health_tells_of_a_turn_that_is_held_for_good(client) -> None:
    holders: Holders = client.application.extensions["holders"]
    held = _Held(since_s=time.monotonic() - 1000)
    holders.add(held)
    told = client.get("/api/v1/health")
    assert (told.status_code, told.json["depends_on"]["sums"]) == (503, "failing")
    assert "standstill" in told.json["broken"][0]
    holders.discard(held)
    assert client.get("/api/v1/health").status_code == 200


HANGS = """
import threading, time
from yardfall.cli.commands import end_by
end_by(1.0)
threading.Lock().acquire() or True
held = threading.Lock(); held.acquire(); held.acquire()
"""


def test_the_end_comes_whatever_holds_the_process() -> None:
    began = time.monotonic()
    done = subprocess.run([sys.executable, "-c", HANGS], capture_output=True, timeout=120)
    assert done.returncode != 0
    assert b"Timeout" in done.stderr
    assert time.monotonic() - began < 100
