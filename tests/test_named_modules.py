"""Comments and docstrings name modules that there are."""

from __future__ import annotations

import re
from pathlib import Path

import yardfall

ROOT = Path(yardfall.__file__).parent
ROOMS = "|".join(sorted(room.name for room in ROOT.iterdir() if (room / "__init__.py").exists()))
NAMED = re.compile(rf"`((?:{ROOMS})(?:\.\w+)+|\w+\.py)")


def is_there(name: str) -> bool:
    """Whether it is a module or a room, or something that stands in one."""
    if name.endswith(".py"):
        return any(ROOT.rglob(name))
    *path, last = name.split(".")
    module, room = ROOT.joinpath(*path), ROOT.joinpath(*path, last)
    if room.is_dir() or room.with_suffix(".py").is_file():
        return True
    parent = module.with_suffix(".py")
    return parent.is_file() and re.search(rf"\b{last}\b", parent.read_text("utf-8")) is not None


def test_every_module_that_a_comment_names_is_there() -> None:
    named = {
        (str(path.relative_to(ROOT)), name)
        for path in ROOT.rglob("*.py")
        for line in path.read_text("utf-8").splitlines()
        for name in NAMED.findall(line)
    }
    assert len(named) > 8, "the finder finds nothing"
    assert not [(path, name) for path, name in sorted(named) if not is_there(name)]
