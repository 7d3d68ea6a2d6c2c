"""One caller's requests, however long they take, wait for each other and for nobody else's."""

from __future__ import annotations

import threading
import time

import pytest

from yardfall.serving.turns import OPEN, Turns


class Job:
    """Something that lasts until it is let go."""

    def __init__(self, whose: str, order: list[str], lasts: threading.Event | None = None) -> None:
        self.whose, self._order, self._lasts = whose, order, lasts
        self.done, self.cancelled = threading.Event(), False

    def service(self) -> None:
        self._order.append(self.whose)
        if self._lasts:
            self._lasts.wait(30)
        self.done.set()

    def cancel(self) -> None:
        self.cancelled = True


def settled(order: list[str], *callers: str) -> int:
    """How many of these callers' jobs have begun, once half a second has begun no other."""
    count, since = -1, time.monotonic()
    while time.monotonic() - since < 0.5:
        now = sum(order.count(whose) for whose in callers)
        if now != count:
            count, since = now, time.monotonic()
        time.sleep(0.01)
    return count


@pytest.fixture
def turns():
    made = Turns(threads=6, most_each=3)
    yield made
    made.shutdown()


def test_one_caller_leaves_threads_to_others_and_two_leave_one_to_what_is_open(turns) -> None:
    over, order = threading.Event(), []
    for _ in range(50):
        turns.add_task(Job("eve", order, over))
    bob = Job("bob", order)
    turns.add_task(bob)
    assert bob.done.wait(10)
    assert settled(order, "eve") == 3
    for _ in range(50):
        turns.add_task(Job("mallory", order, over))
    health = Job(OPEN, order)
    turns.add_task(health)
    assert health.done.wait(10)
    assert settled(order, "eve", "mallory") == 5
    over.set()


def test_callers_are_served_in_turn(turns) -> None:
    over, order = threading.Event(), []
    for whose in ("a", "b"):
        for _ in range(3):
            turns.add_task(Job(whose, order, over))
    time.sleep(0.3)
    last = [Job(whose, order) for whose in ("c", "c", "c", "c", "d")]
    for job in last:
        turns.add_task(job)
    over.set()
    assert all(job.done.wait(10) for job in last)
    assert order.index("d") < len(order) - 1, "d waited for one of c's, not for all"
    until = time.monotonic() + 5
    while not turns.idle and time.monotonic() < until:
        time.sleep(0.01)
    assert turns.idle


def test_a_fault_costs_no_thread(turns) -> None:
    class Broken(Job):
        def service(self) -> None:
            raise ZeroDivisionError

    order: list[str] = []
    for _ in range(30):
        turns.add_task(Broken("eve", order))
    good = Job("eve", order)
    turns.add_task(good)
    assert good.done.wait(10)


def test_what_still_waits_at_the_end_is_told(turns) -> None:
    over, order = threading.Event(), []
    jobs = [Job("eve", order, over) for _ in range(5)]
    for job in jobs:
        turns.add_task(job)
    time.sleep(0.3)
    turns.shutdown()
    assert sum(job.cancelled for job in jobs) == 2
    over.set()
