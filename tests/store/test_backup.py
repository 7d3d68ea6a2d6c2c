"""Backup and restore: all of it, from either database to either, and only into an empty one."""

from __future__ import annotations

import io
import stat
import tarfile

import pytest

from yardfall.core.errors import FileRefusedError
from yardfall.store.backup import back_up, restore
from yardfall.store.database import open_database
from yardfall.store.keys import KeyStore
from yardfall.store.migration import newest
from yardfall.store.records.crew_links import CrewLinkStore
from yardfall.store.records.grade_checks import GradeCheckStore, Outcome
from yardfall.store.records.jobs import JobStore
from yardfall.store.records.revision import Content
from yardfall.store.uploads.rasters import RasterStore


@pytest.fixture
def kept(engine, settings):
    """A service with a key, a raster and a job of two revisions."""
    key, secret = KeyStore(engine).make("Ann")
    rasters = RasterStore(engine, settings.data_dir, key.owner)
    with rasters.incoming(io.BytesIO(b"cells")) as part:
        raster = rasters.keep(part, "yard é", {"width": 3, "unit": None})
    jobs = JobStore(engine, key.owner, "Ann")
    content = Content(
        "a", {"a": "\0\ud800é"}, {"b": [1.5]}, "1", "yes", files=frozenset([raster.id])
    )
    job = jobs.create(content)
    jobs.save(job.id, ["1"], content)
    outcome = Outcome(2, {"as_dug": []}, {"sentence": "é"}, "1", "pass")
    GradeCheckStore(engine, key.owner, "Ann").keep(job.id, outcome)
    CrewLinkStore(engine, key.owner, "Ann").make(job.id, "Dave")
    return key, secret, raster, jobs.get(job.id)


@pytest.mark.parametrize("onto", ["sqlite", "postgresql"])
def test_all_comes_back_on_either_database(onto, kept, engine, settings, tmp_path, request) -> None:
    key, secret, raster, job = kept
    counts = back_up(engine, settings.data_dir, tmp_path / "all.tar")
    kept_rows = {"keys": 1, "rasters": 1, "jobs": 1, "revisions": 2, "job_files": 1}
    kept_rows |= {"grade_checks": 1, "crew_links": 1}
    assert {name: count for name, count in counts.items() if count} == kept_rows
    assert stat.S_IMODE((tmp_path / "all.tar").stat().st_mode) == 0o600
    url = None
    if onto == "postgresql":
        url = request.getfixturevalue("postgres").make_database(f"onto {tmp_path.name}"[-60:])
    (tmp_path / "new").mkdir()
    other = open_database(tmp_path / "new", url)
    assert restore(other, tmp_path / "new", tmp_path / "all.tar") == counts
    assert KeyStore(other).holder(secret) == key
    assert JobStore(other, key.owner, "Ann").get(job.id) == job
    checks = GradeCheckStore(engine, key.owner).page(job.id, 1, 10)
    assert GradeCheckStore(other, key.owner).page(job.id, 1, 10) == checks
    assert checks[0][0].checked_by == "Ann"
    links = CrewLinkStore(engine, key.owner).all(job.id)
    assert CrewLinkStore(other, key.owner).all(job.id) == links
    found = RasterStore(other, tmp_path / "new", key.owner).get(raster.id)
    assert found.path.read_bytes() == b"cells"
    assert (found.name, found.facts) == (raster.name, raster.facts)
    with pytest.raises(FileRefusedError, match="already"):
        restore(other, tmp_path / "new", tmp_path / "all.tar")
    other.dispose()


def broken(path, change) -> None:
    """Write a tar again with each member's bytes changed by `change(name, content)`."""
    out = io.BytesIO()
    with tarfile.open(path) as old, tarfile.open(fileobj=out, mode="w") as new:
        for entry in old:
            content = change(entry.name, old.extractfile(entry).read())
            if content is not None:
                entry.size = len(content)
                new.addfile(entry, io.BytesIO(content))
    path.write_bytes(out.getvalue())


def older(head: bytes) -> bytes:
    """The head of a backup of an older version."""
    return head.replace(f'"{newest()}"'.encode(), b'"0001"')


@pytest.mark.parametrize(
    "change",
    [
        lambda name, content: None if name == "backup.json" else content,
        lambda name, content: None if name == "tables/jobs.jsonl" else content,
        lambda name, content: b"" if name == "tables/revisions.jsonl" else content,
        lambda name, content: b"{}\n" if name == "tables/keys.jsonl" else content,
        lambda name, content: (
            content.replace(newest().encode(), b"0001") if "backup" in name else content
        ),
    ],
    ids=["no head", "no table", "rows lost", "no row", "older"],
)
def test_what_is_not_whole_changes_nothing(change, kept, engine, settings, tmp_path) -> None:
    back_up(engine, settings.data_dir, tmp_path / "all.tar")
    broken(tmp_path / "all.tar", change)
    (tmp_path / "new").mkdir()
    other = open_database(tmp_path / "new")
    with pytest.raises(FileRefusedError, match=r"not a file|migration"):
        restore(other, tmp_path / "new", tmp_path / "all.tar")
    assert KeyStore(other).all() == []
    assert list((tmp_path / "new").glob("*/")) == []
    other.dispose()


def test_a_backup_that_fails_leaves_the_last_one(
    kept, engine, settings, tmp_path, monkeypatch
) -> None:
    back_up(engine, settings.data_dir, tmp_path / "all.tar")
    before = (tmp_path / "all.tar").read_bytes()
    monkeypatch.setattr("yardfall.store.backup._add_file", lambda *_: 1 / 0)
    with pytest.raises(ZeroDivisionError):
        back_up(engine, settings.data_dir, tmp_path / "all.tar")
    assert (tmp_path / "all.tar").read_bytes() == before
    assert not (tmp_path / "all.tar.part").exists()
