"""The page's folders import downward alone: main > view > state > api > model."""

from __future__ import annotations

import re
from pathlib import Path

FRONTEND = Path(__file__).resolve().parents[2] / "frontend"
LAYERS = ("model", "api", "state", "view")
IMPORT = re.compile(r'^(?:import|export)[^;"]*?"(\.[^"]+)"', re.MULTILINE)
MOST_FILES = 15


def layer(path: Path) -> int:
    folder = path.relative_to(FRONTEND).parts[0]
    return LAYERS.index(folder) if folder in LAYERS else len(LAYERS)


def imports() -> list[tuple[Path, Path]]:
    """Each module with each that it imports."""
    modules = sorted(FRONTEND.rglob("*.js"))
    return [
        (module, (module.parent / name).resolve())
        for module in modules
        for name in IMPORT.findall(module.read_text("utf-8"))
    ]


def test_every_import_goes_downward_or_stays_in_its_layer() -> None:
    found = imports()
    assert len(found) > 300, "the imports were not found"
    up = [(str(a), str(b)) for a, b in found if layer(b) > layer(a)]
    assert not up
    assert not [(str(a), str(b)) for a, b in found if not b.is_file()]


def test_nothing_imports_itself_by_a_way_round() -> None:
    after: dict[Path, set[Path]] = {}
    for module, needed in imports():
        after.setdefault(module, set()).add(needed)
    left = {module: set(needed) & set(after) for module, needed in after.items()}
    while ready := [module for module, needed in left.items() if not needed]:
        for module in ready:
            del left[module]
        for needed in left.values():
            needed.difference_update(ready)
    assert not [str(module.relative_to(FRONTEND)) for module in left]


def test_every_folder_can_be_overlooked() -> None:
    for folder in (one for one in FRONTEND.rglob("*") if one.is_dir()):
        assert len(list(folder.glob("*.js"))) <= MOST_FILES, folder
