"""Rasters kept on disk and in the database: whole or not at all."""

from __future__ import annotations

import io
from datetime import UTC, datetime
from pathlib import Path

import pytest

from yardfall.core.errors import NotFoundError, TooLargeError
from yardfall.store.database import open_database
from yardfall.store.uploads import rasters as module
from yardfall.store.uploads.rasters import RasterRecord, RasterStore


@pytest.fixture
def store(tmp_path: Path) -> RasterStore:
    return RasterStore(open_database(tmp_path), tmp_path)


def keep(store: RasterStore, content: bytes = b"cells", name: str = "yard") -> RasterRecord:
    """Keep some bytes as they would come in."""
    with store.incoming(io.BytesIO(content)) as part:
        return store.keep(part, name, {"width": 3, "bounds": [0.5, 1, 2, 3]})


def files(tmp_path: Path) -> list[str]:
    return sorted(path.name for path in (tmp_path / "rasters").iterdir())


def test_what_is_kept_comes_back(store, tmp_path) -> None:
    before = datetime.now(UTC)
    record = keep(store)
    assert record.path.read_bytes() == b"cells"
    assert (record.name, record.size_bytes) == ("yard", 5)
    assert record.facts == {"width": 3, "bounds": [0.5, 1, 2, 3]}
    assert before <= record.uploaded_at <= datetime.now(UTC)
    assert store.get(record.id) == record
    assert files(tmp_path) == [f"{record.id}.tif"]
    assert record.relief_path().parent == record.path.parent


def test_it_outlives_the_store(store, tmp_path) -> None:
    record = keep(store)
    again = RasterStore(open_database(tmp_path), tmp_path)
    assert again.get(record.id) == record


def test_what_is_not_kept_leaves_nothing(store, tmp_path) -> None:
    with store.incoming(io.BytesIO(b"cells")) as part:
        assert part.read_bytes() == b"cells"
    assert files(tmp_path) == []
    with pytest.raises(ZeroDivisionError), store.incoming(io.BytesIO(b"cells")):
        raise ZeroDivisionError
    assert files(tmp_path) == []


def test_a_stream_that_breaks_leaves_nothing(store, tmp_path) -> None:
    class Broken(io.BytesIO):
        def read(self, size: int | None = -1) -> bytes:
            raise OSError("the line went down")

    with pytest.raises(OSError, match="went down"), store.incoming(Broken()):
        pytest.fail("nothing came in")
    assert files(tmp_path) == []


def test_too_large_leaves_nothing(store, tmp_path, monkeypatch) -> None:
    monkeypatch.setattr(module, "MAX_UPLOAD_BYTES", 4)
    assert keep(store, b"1234").size_bytes == 4
    with pytest.raises(TooLargeError, match="MiB"):
        keep(store, b"12345")
    assert len(files(tmp_path)) == 1


def test_deleting_takes_file_and_relief(store, tmp_path) -> None:
    record, other = keep(store), keep(store)
    record.relief_path().write_bytes(b"picture")
    store.delete(record.id)
    assert files(tmp_path) == [f"{other.id}.tif"]
    for call in (store.get, store.delete):
        with pytest.raises(NotFoundError, match=record.id):
            call(record.id)


def test_pages_newest_first(store) -> None:
    assert store.page(1, 10) == ([], 0)
    kept = [keep(store, name=f"{i}") for i in range(5)][::-1]
    assert store.page(1, 2) == (kept[:2], 5)
    assert store.page(3, 2) == (kept[4:], 5)
    assert store.page(4, 2) == ([], 5)


def test_found_by_name_is_the_first(store) -> None:
    assert store.find_named("yard") is None
    first, _ = keep(store), keep(store)
    assert store.find_named("yard") == first


@pytest.mark.parametrize("key", ["", "..", "../rasters", "%", "' or 1=1 --", "\0"])
def test_odd_ids_find_nothing(key: str, store) -> None:
    keep(store)
    with pytest.raises(NotFoundError):
        store.get(key)
    with pytest.raises(NotFoundError):
        store.delete(key)
    assert store.page(1, 10)[1] == 1


def test_a_name_is_cut_and_never_empty(store) -> None:
    assert keep(store, name="n" * 900).name == "n" * 200
    assert keep(store, name="").name == "raster"
