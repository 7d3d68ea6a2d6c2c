"""A backup made by somebody else: no file of it lands outside, or over what is ours."""

from __future__ import annotations

import io
import json
import tarfile
from pathlib import Path

import pytest

from yardfall.cli.main import main
from yardfall.core.errors import FileRefusedError
from yardfall.store.backup import back_up, restore
from yardfall.store.database import open_database
from yardfall.store.keys import KeyStore
from yardfall.store.migration import newest

ID = "0" * 32


@pytest.fixture
def backup(tmp_path: Path) -> Path:
    (tmp_path / "old").mkdir()
    engine = open_database(tmp_path / "old")
    KeyStore(engine).make("Ann")
    back_up(engine, tmp_path / "old", tmp_path / "all.tar")
    engine.dispose()
    return tmp_path / "all.tar"


def entry(name: str, kind: bytes = tarfile.REGTYPE, target: str = "") -> tarfile.TarInfo:
    made = tarfile.TarInfo(name)
    made.type, made.linkname, made.mode = kind, target, 0o4777
    made.size = 4 if kind == tarfile.REGTYPE else 0
    return made


def with_more(backup: Path, *more: tuple[tarfile.TarInfo, bytes], last: bool = False) -> Path:
    """The backup with more in it, before what says that it is one, or after that."""
    twisted = backup.with_name("twisted.tar")
    with tarfile.open(backup) as old, tarfile.open(twisted, "w") as new:
        entries = [(made, old.extractfile(made).read()) for made in old]
        for made, content in [*entries, *more] if last else [*entries[:-1], *more, entries[-1]]:
            new.addfile(made, io.BytesIO(content))
    return twisted


TWISTED = {
    "up, beside the files": [entry("../x")],
    "absolute, beside the files": [entry("/tmp/x")],
    "a link beside the files": [entry("x", tarfile.SYMTYPE, "/etc/passwd")],
    "a folder": [entry("files/rasters/x", tarfile.DIRTYPE)],
    "a table of nobody's": [entry("tables/others.jsonl")],
    "a table twice": [entry("tables/keys.jsonl")],
    "up": [entry("files/../../out.txt")],
    "up from a folder": [entry("files/rasters/../../../out.txt")],
    "absolute": [entry("files//etc/out.txt")],
    "over the database": [entry("files/yardfall.sqlite")],
    "another folder": [entry(f"files/elsewhere/{ID}.tif")],
    "another name": [entry("files/rasters/out.txt")],
    "a link": [entry(f"files/rasters/{ID}.tif", tarfile.SYMTYPE, "/etc/passwd")],
    "a hard link": [entry(f"files/rasters/{ID}.tif", tarfile.LNKTYPE, "backup.json")],
    "a folder that is a link": [
        entry("files/rasters", tarfile.SYMTYPE, "/tmp"),
        entry(f"files/rasters/{ID}.tif"),
    ],
    "a device": [entry(f"files/rasters/{ID}.tif", tarfile.CHRTYPE)],
    "a pipe": [entry(f"files/rasters/{ID}.tif", tarfile.FIFOTYPE)],
}


@pytest.mark.parametrize("last", [False, True])
@pytest.mark.parametrize("name", TWISTED)
def test_it_is_refused_whole(name: str, last: bool, backup: Path, tmp_path: Path) -> None:
    more = [(made, b"evil" if made.isreg() else b"") for made in TWISTED[name]]
    backup = with_more(backup, *more, last=last)
    (tmp_path / "new").mkdir()
    engine = open_database(tmp_path / "new")
    before = {path for path in tmp_path.rglob("*") if path.suffix not in (".sqlite-wal",)}
    with pytest.raises(FileRefusedError, match="not a file that"):
        restore(engine, tmp_path / "new", backup)
    assert KeyStore(engine).all() == []
    left = {path for path in tmp_path.rglob("*") if path.suffix not in (".sqlite-wal",)} - before
    assert not [path for path in left if path.is_file() or path.is_symlink()], left
    engine.dispose()


@pytest.mark.parametrize("migration", ["0001", "9999", None, ["0001"]])
def test_one_of_an_older_or_a_newer_version_is_told_apart(migration, backup, tmp_path) -> None:
    other = tmp_path / "other.tar"
    with tarfile.open(backup) as old, tarfile.open(other, "w") as new:
        for made in old:
            content = old.extractfile(made).read()
            if made.name == "backup.json":
                content = json.dumps(json.loads(content) | {"migration": migration}).encode()
            made.size = len(content)
            new.addfile(made, io.BytesIO(content))
    (tmp_path / "new").mkdir()
    engine = open_database(tmp_path / "new")
    with pytest.raises(FileRefusedError, match=f"this Yardfall is at {newest()}"):
        restore(engine, tmp_path / "new", other)
    assert KeyStore(engine).all() == []
    engine.dispose()


def test_what_it_restores_is_for_its_owner_alone(backup: Path, tmp_path: Path) -> None:
    backup = with_more(backup, (entry(f"files/rasters/{ID}.tif"), b"good"))
    (tmp_path / "new").mkdir()
    engine = open_database(tmp_path / "new")
    restore(engine, tmp_path / "new", backup)
    assert (tmp_path / "new" / "rasters" / f"{ID}.tif").stat().st_mode & 0o7777 == 0o600
    engine.dispose()


def test_what_comes_after_its_end_is_refused(backup: Path, tmp_path: Path) -> None:
    backup = with_more(backup, (entry(f"files/rasters/{ID}.tif"), b"good"), last=True)
    (tmp_path / "new").mkdir()
    engine = open_database(tmp_path / "new")
    with pytest.raises(FileRefusedError, match="not a file that"):
        restore(engine, tmp_path / "new", backup)
    engine.dispose()


def with_raster(backup: Path, key: str) -> Path:
    """The backup with a row of a raster, and no file of it."""
    row = {
        "id": key, "owner": "local", "name": "yard", "uploaded_at": "2026-01-01T00:00:00+00:00",
        "size_bytes": 4, "facts": {},
    }  # fmt: skip
    twisted = backup.with_name("twisted.tar")
    with tarfile.open(backup) as old, tarfile.open(twisted, "w") as new:
        for made in old:
            content = old.extractfile(made).read()
            if made.name == "tables/rasters.jsonl":
                content = json.dumps(row).encode()
            if made.name == "backup.json":
                told = json.loads(content)
                told["tables"]["rasters"] = 1
                content = json.dumps(told).encode()
            made.size = len(content)
            new.addfile(made, io.BytesIO(content))
    return twisted


@pytest.mark.parametrize("key", ["../../../etc/x", "x", "A" * 32, "0" * 31, 7, None])
def test_an_id_of_another_form_is_refused(key, backup: Path, tmp_path: Path) -> None:
    (tmp_path / "new").mkdir()
    engine = open_database(tmp_path / "new")
    with pytest.raises(FileRefusedError, match="not a file that"):
        restore(engine, tmp_path / "new", with_raster(backup, key))
    assert KeyStore(engine).all() == []
    engine.dispose()


def test_a_file_that_it_lacks_is_named(backup: Path, tmp_path: Path, capsys) -> None:
    data, lacking = tmp_path / "new", with_raster(backup, ID)
    assert main(["restore", str(lacking), "--data", str(data)]) == 2
    assert f"rasters/{ID}" in capsys.readouterr().err
