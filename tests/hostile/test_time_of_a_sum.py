"""A sum is over at its time, with a key or without, be it inside a compiled loop."""

from __future__ import annotations

import threading
import time

import numpy as np
import pytest
from numba import njit

from yardfall.app import Settings, create_app
from yardfall.core import deadline
from yardfall.core.errors import TooLargeError
from yardfall.core.grading.break_lp import make_rows
from yardfall.core.grading.fewest_breaks import fewest_breaks
from yardfall.use_cases import workflow
from yardfall.web.http.watch.limits import Limits


@pytest.mark.parametrize("whose", ["key", "nobody"])
def test_a_plan_is_over_at_its_time(keyed, tmp_path, readings, whose) -> None:
    if whose == "key":
        client = keyed("ann", sum_s=0.3)[1]["ann"]
    else:
        client = create_app(Settings(tmp_path / "own", limits=Limits(sum_s=0.3))).test_client()
    body = readings(2000, 0.5, grade={"shape": "least_dig", "max_breaks": 5})
    body["limits"] = {"max_depth": 30, "min_cover": 6}
    began = time.process_time()
    answer = client.post("/api/v1/plan", json=body)
    taken_s = time.process_time() - began
    assert taken_s < 5, "22 s without a limit"
    if answer.status_code == 200:  # half the time went into what would mend it
        assert "not_all_tried" in {warning["code"] for warning in answer.json["warnings"]}
    else:
        assert answer.status_code == 503
        assert "longer than the 0.3 s" in answer.json["detail"]


def test_a_plan_that_cannot_be_decided_in_its_time_is_refused(tmp_path, readings) -> None:
    client = create_app(Settings(tmp_path / "own", limits=Limits(sum_s=0.001))).test_client()
    answer = client.post("/api/v1/plan", json=readings(2000, 0.5))
    assert answer.status_code == 503
    assert "longer than the 0.001 s" in answer.json["detail"]


def test_a_compiled_loop_ends_when_its_time_is_over() -> None:
    """One call of the loop, which by itself takes 26 s of processor time."""
    at = np.arange(20_000.0)
    walk = np.cumsum(np.random.default_rng(1).standard_normal(20_000))
    hi = 100 - 0.01 * at + 0.02 * walk
    stations = np.arange(20_000)
    rows = make_rows(at, hi - 1.5, hi, 0.0, None, stations)
    assert rows is not None
    began, token = time.process_time(), deadline.begin(0.3)
    try:
        with pytest.raises(TooLargeError):
            fewest_breaks(rows, stations, 8)
    finally:
        deadline.end(token)
    assert time.process_time() - began < 4


def test_a_flag_is_only_its_own_sums() -> None:
    one = deadline.begin(0.05)
    seen = []
    thread = threading.Thread(target=lambda: seen.append(int(deadline.flag()[0])))
    time.sleep(0.4)
    assert deadline.flag()[0] == 1
    thread.start()
    thread.join()
    deadline.end(one)
    assert seen == [0]
    assert deadline.flag()[0] == 0


def test_while_a_loop_is_compiled_no_sums_time_runs() -> None:
    """The first plan on a busy machine would be refused for it."""

    @njit
    def fresh(values):
        total = 0.0
        for value in values:
            total += value * value
        return total

    values = np.ones(9)
    begun = time.monotonic()
    one = deadline.begin(0.02)
    try:
        fresh(values)
        assert time.monotonic() - begun > 0.02, "or this shows nothing"
        deadline.check()
        assert deadline.flag()[0] == 0
        time.sleep(0.2)
        with pytest.raises(TooLargeError):
            deadline.check()
    finally:
        deadline.end(one)


def test_memory_that_runs_out_is_told_and_is_no_500(client, yard_request, monkeypatch) -> None:
    def short(*_given):
        raise MemoryError

    monkeypatch.setattr(workflow, "plan", short)
    answer = client.post("/api/v1/plan", json=yard_request)
    assert answer.status_code == 503
    assert answer.headers["Retry-After"]
    assert "more memory" in answer.json["detail"]
