"""Which version of the sums this is: kept with every answer, so that an old one can be told."""

from __future__ import annotations

import hashlib
from pathlib import Path
from typing import Final

from yardfall import __version__

HERE: Final = Path(__file__).parent
PARTS: Final = (
    "core/*.py",
    "geo/*.py",
    "web/*reading.py",
    "survey.py",
    "readings.py",
    "trees.py",
    "workflow.py",
    "reach.py",
    "yard_search.py",
    "yard_routes.py",
)


def _digest() -> str:
    found = hashlib.sha256()
    for path in sorted(path for part in PARTS for path in HERE.glob(part)):
        found.update(path.read_bytes())
    return found.hexdigest()[:12]


SUMS: Final = f"{__version__}+{_digest()}"
"""The release, and a digest of every line that takes part in a sum."""
