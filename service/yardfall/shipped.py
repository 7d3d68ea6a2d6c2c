"""The folders that travel with the code: inside the package where it was installed, beside it in a
checkout."""

from __future__ import annotations

from pathlib import Path
from typing import Final

_PACKAGE: Final = Path(__file__).resolve().parent
_CHECKOUT: Final = _PACKAGE.parents[1]
_IN_CHECKOUT: Final = {"page": Path("frontend"), "demo": Path("fixtures", "demo")}
"""pyproject.toml puts each of these into a wheel, as a folder of the package by this name."""


def folder(name: str) -> Path:
    """The folder `page` or `demo`. Raises FileNotFoundError where neither place has it."""
    for found in (_PACKAGE / name, _CHECKOUT / _IN_CHECKOUT[name]):
        if found.is_dir():
            return found
    raise FileNotFoundError(f"Yardfall was installed without its folder {name!r}.")
