"""The as-built record on both databases: in order, however many keep checks at once."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta

import pytest

from yardfall.core.errors import NotFoundError
from yardfall.store.records.grade_checks import GradeCheckStore, Outcome
from yardfall.store.records.jobs import JobStore
from yardfall.store.records.revision import Content

OUTCOME = Outcome(1, {"as_dug": [{"at": 0}]}, {"sentence": "Pass."}, "1", "pass")


@pytest.fixture
def job(engine) -> str:
    return JobStore(engine, "ann").create(Content("a", {}, None, "1")).id


def test_checks_kept_at_once_are_all_kept_and_saves_lose_no_bytes(engine, job) -> None:
    store, jobs = GradeCheckStore(engine, "ann"), JobStore(engine, "ann")
    before = jobs.get(job).size_bytes
    with ThreadPoolExecutor(8) as pool:
        kept = [pool.submit(store.keep, job, OUTCOME) for _ in range(24)]
        saved = pool.submit(jobs.save, job, None, Content("b", {}, None, "1"))
        numbers = sorted(one.result().number for one in kept)
        saved.result()
    assert numbers == list(range(1, 25))
    listed, total = store.page(job, 1, 100)
    assert (total, [check.number for check in listed]) == (24, numbers[::-1])
    times = [check.checked_at for check in listed]
    assert times == sorted(times, reverse=True)
    revision = Content("b", {}, None, "1").size_bytes
    assert jobs.get(job).size_bytes == before + revision + 24 * OUTCOME.size_bytes


def test_a_clock_set_back_unmakes_no_order(engine, job) -> None:
    store = GradeCheckStore(engine, "ann")
    ahead = datetime.now(UTC) + timedelta(days=1)
    store.keep(job, OUTCOME, ahead)
    assert store.keep(job, OUTCOME).checked_at == ahead


def test_another_owners_record_is_not_there(engine, job) -> None:
    GradeCheckStore(engine, "ann").keep(job, OUTCOME)
    other = GradeCheckStore(engine, "bob")
    for ask in (
        lambda: other.get(job, 1),
        lambda: other.page(job, 1, 1),
        lambda: other.keep(job, OUTCOME),
    ):
        with pytest.raises(NotFoundError, match="no job"):
            ask()
