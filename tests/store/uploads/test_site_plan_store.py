"""Site plans kept on disk and in the database: whole or not at all."""

from __future__ import annotations

import io
from datetime import UTC, datetime
from pathlib import Path

import pytest

from yardfall.core.errors import NotFoundError, TooLargeError
from yardfall.store.database import open_database
from yardfall.store.uploads import site_plans as module
from yardfall.store.uploads.site_plans import SitePlanRecord, SitePlanStore


@pytest.fixture
def store(tmp_path: Path) -> SitePlanStore:
    return SitePlanStore(open_database(tmp_path), tmp_path)


def keep(store: SitePlanStore, content: bytes = b"pixels", name: str = "plot") -> SitePlanRecord:
    """Keep some bytes as if they had been drawn."""
    with store.incoming(io.BytesIO(content)) as (part, picture):
        picture.write_bytes(part.read_bytes())
        return store.keep(picture, name, {"width": 3, "height": 2})


def files(tmp_path: Path) -> list[str]:
    return sorted(path.name for path in (tmp_path / "site_plans").iterdir())


def test_what_is_kept_comes_back(store, tmp_path) -> None:
    before = datetime.now(UTC)
    record = keep(store)
    assert record.path.read_bytes() == b"pixels"
    assert (record.name, record.size_bytes, record.placement) == ("plot", 6, None)
    assert before <= record.uploaded_at <= datetime.now(UTC)
    assert store.get(record.id) == record
    assert files(tmp_path) == [f"{record.id}.picture"]
    again = SitePlanStore(open_database(tmp_path), tmp_path)
    assert again.get(record.id) == record


def test_what_is_not_kept_leaves_nothing(store, tmp_path, monkeypatch) -> None:
    with store.incoming(io.BytesIO(b"sent")) as (part, picture):
        picture.write_bytes(part.read_bytes())
    assert files(tmp_path) == []
    monkeypatch.setattr(module, "MAX_UPLOAD_BYTES", 3)
    with pytest.raises(TooLargeError, match="MiB"):
        keep(store)
    assert files(tmp_path) == []


def test_a_placement_is_kept_in_place_of_the_last(store) -> None:
    record = keep(store)
    store.place(record.id, {"turn_deg": 3})
    assert store.place(record.id, {"turn_deg": 4.25}).placement == {"turn_deg": 4.25}
    assert store.get(record.id).placement == {"turn_deg": 4.25}


def test_pages_newest_first(store) -> None:
    assert store.page(1, 10) == ([], 0)
    kept = [keep(store, name=f"{i}") for i in range(5)][::-1]
    assert store.page(1, 2) == (kept[:2], 5)
    assert store.page(3, 2) == (kept[4:], 5)


@pytest.mark.parametrize("key", ["", "..", "../rasters", "%", "' or 1=1 --", "\0"])
def test_odd_ids_find_nothing(key: str, store) -> None:
    keep(store)
    for call in (store.get, store.delete, lambda key: store.place(key, {})):
        with pytest.raises(NotFoundError):
            call(key)
    assert store.page(1, 10)[1] == 1


def test_deleting_takes_the_picture(store, tmp_path) -> None:
    record, other = keep(store), keep(store)
    store.delete(record.id)
    assert files(tmp_path) == [f"{other.id}.picture"]
    with pytest.raises(NotFoundError, match=record.id):
        store.delete(record.id)
