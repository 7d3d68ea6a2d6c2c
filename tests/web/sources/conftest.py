"""Sources of invented ground, named to the application as an operator names them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from tile_server import TileServer, serving
from tiles import four

from yardfall.cli.main import main


@pytest.fixture
def ground(tmp_path: Path) -> tuple[Path, Path]:
    """A folder of four tiles, and one file of the same ground."""
    return four(tmp_path / "ground")


@pytest.fixture
def add(app: Flask, tmp_path: Path) -> Callable[..., int]:
    """`yardfall source add`, to the data directory of `app`."""

    def call(*words: Any) -> int:
        return main(["source", "add", *map(str, words), "--data", str(tmp_path / "data")])

    return call


@pytest.fixture
def server(ground: tuple[Path, Path]) -> Iterator[TileServer]:
    """The four tiles at an address, with a text that lists them."""
    tiles, _ = ground
    names = "\n".join(sorted(f"tiles/{path.name}" for path in tiles.iterdir()))
    (tiles.parent / "list.txt").write_text(names)
    with serving(tiles.parent) as found:
        yield found
