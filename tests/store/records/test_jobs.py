"""Jobs: every save a revision, nobody's work overwritten, nobody else's to be seen."""

from __future__ import annotations

import threading
from datetime import UTC, datetime, timedelta

import pytest

from yardfall.core.errors import NotFoundError, StaleError, TooLargeError, UnavailableError
from yardfall.store.quota import ROW_BYTES
from yardfall.store.records import jobs as module
from yardfall.store.records.jobs import JobStore
from yardfall.store.records.revision import MOST_DEPTH, Content, files_named, is_plain

ODD = 'a\0b \ud800 "quotes" \\ line\nbreak \u202e'
FILE = "f" * 32


def content(name: str = "Elm St 4", at: float = 1.5, **more) -> Content:
    answer = {"answer": {"verdict": "yes"}, "note": ODD}
    return Content(name, {"units": "us", "at": at, ODD: [ODD]}, answer, "1+a", "yes", **more)


@pytest.fixture
def store(engine) -> JobStore:
    return JobStore(engine, "ann", "Ann's tablet")


def test_what_is_saved_comes_back(store) -> None:
    before = datetime.now(UTC)
    job = store.create(content(form={"typed": "10 1/2"}, files=frozenset([FILE])))
    assert store.get(job.id) == job
    assert (job.name, job.archived, job.tag) == ("Elm St 4", False, "1")
    assert before <= job.created_at == job.changed_at <= datetime.now(UTC)
    latest = job.latest
    assert (latest.number, latest.saved_by, latest.sums, latest.verdict) == (
        1,
        "Ann's tablet",
        "1+a",
        "yes",
    )
    assert latest.content == content(form={"typed": "10 1/2"}, files=frozenset([FILE]))


def test_each_save_is_a_revision(store) -> None:
    job = store.create(content(at=1))
    second = store.save(job.id, ["1"], content("Elm St 6", at=2))
    assert (second.tag, second.name, second.latest.content.request["at"]) == ("2", "Elm St 6", 2)
    draft = Content("Elm St 6", {}, None, "1+b", problems=[{"pointer": "/units", "detail": "no"}])
    third = store.save(job.id, None, draft)
    assert third.latest.content == draft
    kept, total = store.revisions(job.id, 1, 2)
    assert (total, [revision.number for revision in kept]) == (3, [3, 2])
    assert [r.number for r in store.revisions(job.id, 2, 2)[0]] == [1]
    first = store.revision(job.id, 1)
    assert (first.name, first.content.request["at"]) == ("Elm St 4", 1)
    for number in (0, 4, 2**31, 10**30):
        with pytest.raises(NotFoundError, match="revision"):
            store.revision(job.id, number)


def test_a_stale_save_changes_nothing(store) -> None:
    job = store.create(content())
    store.save(job.id, ["1"], content(at=2))
    for stale in (["1"], ["3"], [], ["2-archived"], ["1", "x"]):
        with pytest.raises(StaleError, match="Someone else"):
            store.save(job.id, stale, content(at=3))
        with pytest.raises(StaleError):
            store.delete(job.id, stale)
    assert store.get(job.id).latest.content.request["at"] == 2


def test_an_archived_job_is_another_to_save_on(store) -> None:
    job = store.create(content())
    away = store.archive(job.id, True)
    assert (away.archived, away.tag) == (True, "1-archived")
    assert store.archive(job.id, True) == away
    with pytest.raises(StaleError):
        store.save(job.id, ["1"], content())
    assert store.save(job.id, ["1-archived"], content()).tag == "2-archived"
    assert store.archive(job.id, False).tag == "2"


def test_a_copy_is_a_job_of_its_own(store) -> None:
    job = store.create(content(files=frozenset([FILE])))
    store.save(job.id, ["1"], content(at=9, files=frozenset([FILE])))
    copy = store.copy(job.id, "Elm St 8")
    assert (copy.name, copy.tag, copy.latest.content.request["at"]) == ("Elm St 8", "1", 9)
    assert store.delete(job.id, ["2"]) == []  # the copy names the file too
    assert store.delete(copy.id, ["1"]) == [FILE]


def test_deleting_takes_the_revisions(store, engine) -> None:
    job = store.create(content())
    store.save(job.id, ["1"], content())
    store.delete(job.id, ["2"])
    for call in (store.get, lambda key: store.revision(key, 1)):
        with pytest.raises(NotFoundError, match=job.id):
            call(job.id)
    with engine.connect() as connection:
        for table in (module.revisions, module.job_files):
            assert connection.execute(table.select()).all() == []


def test_lists_and_searches(store) -> None:
    for name in ("Elm Straße 4", "ELM 50%", "oak_1", "Überlauf", "archived elm"):
        job = store.create(content(name))
    store.archive(job.id, True)

    def names(search: str = "", state: str = "open") -> list[str]:
        return [job.name for job in store.page(1, 10, search, state)[0]]

    assert names() == ["Überlauf", "oak_1", "ELM 50%", "Elm Straße 4"]
    assert names("elm") == ["ELM 50%", "Elm Straße 4"]
    assert names("elm", "all") == ["archived elm", "ELM 50%", "Elm Straße 4"]
    assert names("elm", "archived") == ["archived elm"]
    assert names("STRASSE") == ["Elm Straße 4"]
    assert names("überLAUF") == ["Überlauf"]
    assert (names("%"), names("_"), names("\\")) == (["ELM 50%"], ["oak_1"], [])
    assert names("' or 1=1 --") == []
    first, total = store.page(1, 3, "", "open")
    second, _ = store.page(2, 3, "", "open")
    assert (total, len(first), len(second)) == (4, 3, 1)
    assert first[0].latest.verdict == "yes"
    assert first[0].latest.content is None


def test_another_owners_job_is_not_there(store, engine) -> None:
    job = store.create(content())
    other = JobStore(engine, "bob")
    calls = [
        other.get,
        lambda key: other.revision(key, 1),
        lambda key: other.revisions(key, 1, 10),
        lambda key: other.save(key, None, content()),
        lambda key: other.require(key, None),
        lambda key: other.archive(key, True),
        other.copy,
        lambda key: other.delete(key, None),
    ]
    for call in calls:
        with pytest.raises(NotFoundError, match=job.id):
            call(job.id)
    assert other.page(1, 10, "", "all") == ([], 0)
    assert other.ids() == []
    assert store.get(job.id) == job


@pytest.mark.parametrize("key", ["", "..", "%", "' or 1=1 --", "\0", "\ud800", "A" * 32])
def test_odd_ids_find_nothing(key: str, store) -> None:
    store.create(content())
    with pytest.raises(NotFoundError):
        store.get(key)


def test_an_owner_has_a_share_of_the_disk(engine) -> None:
    size = 2 * (content().size_bytes + ROW_BYTES) + ROW_BYTES  # two revisions, and the job's row
    store = JobStore(engine, "ann", most_kept_bytes=size)
    job = store.create(content())
    store.save(job.id, ["1"], content())
    for call in (lambda: store.create(content()), lambda: store.save(job.id, ["2"], content())):
        with pytest.raises(TooLargeError, match="Delete rasters or jobs"):
            call()
    assert JobStore(engine, "bob", most_kept_bytes=size).create(content()).tag == "1"
    store.delete(job.id, None)
    assert store.create(content()).tag == "1"


def test_64_save_one_job_and_each_revision_has_one_author(engine) -> None:
    """Each reads, then saves on what it read, until it has saved twice."""
    clients, saves = 64, 2
    job = JobStore(engine, "ann").create(content())
    won: list[tuple[int, str]] = []
    stale = 0
    lock = threading.Lock()

    def client(name: str) -> None:
        """As a good client does: read again when late, try again when told to."""
        nonlocal stale
        store = JobStore(engine, "ann", name)
        left = saves
        while left:
            try:
                tag = store.get(job.id).tag
                saved = store.save(job.id, [tag], content(name))
            except StaleError:
                with lock:
                    stale += 1
                continue
            except UnavailableError:
                continue
            with lock:
                won.append((int(tag) + 1, name))
            assert saved.latest.number >= int(tag) + 1
            left -= 1

    threads = [threading.Thread(target=client, args=(f"client {i}",)) for i in range(clients)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    store = JobStore(engine, "ann")
    kept, total = store.revisions(job.id, 1, 1000)
    assert total == len(kept) == 1 + clients * saves
    by = {revision.number: (revision.saved_by, revision.name) for revision in kept}
    assert sorted(won) == sorted((n, who) for n, (who, _) in by.items() if n > 1)
    assert all(who == name for n, (who, name) in by.items() if n > 1)
    assert stale > 0, "nobody was ever late: the test tested nothing"


def test_a_clock_set_back_unmakes_no_order(store, monkeypatch) -> None:
    job = store.create(content())
    yesterday = datetime.now(UTC) - timedelta(days=1)
    monkeypatch.setattr(module, "now", lambda: yesterday)
    second = store.save(job.id, ["1"], content())
    assert second.changed_at == second.latest.saved_at == job.changed_at
    assert [r.number for r in store.revisions(job.id, 1, 10)[0]] == [2, 1]
    assert store.archive(job.id, True).changed_at == job.changed_at


def test_what_may_be_kept() -> None:
    deep: list = []
    for _ in range(MOST_DEPTH - 1):
        deep = [deep]
    assert is_plain({"a": [1, 1.5, None, "x", True]})
    assert is_plain(deep)
    assert not is_plain([deep])
    assert not is_plain({"a": [float("nan")]})
    assert not is_plain({"a": {"b": float("inf")}})
    assert files_named({"ground": {"raster": FILE}, "x": ["e" * 32, "E" * 32, 5]}) == {
        FILE,
        "e" * 32,
    }
