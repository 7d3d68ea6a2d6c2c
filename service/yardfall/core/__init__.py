"""The sums. Standard library, numpy, scipy and numba: no files of the user's, no web, no database.

numba keeps what it compiles, and looks at a loop's own file alone to tell whether that still
holds: a loop of another file that it calls, or a constant from one, could change unseen. So what is
compiled is kept apart for each state of all the files with compiled loops.
"""

from __future__ import annotations

import hashlib
import shutil
from pathlib import Path

from numba import config

_HERE = Path(__file__).parent


def state_of_loops(folder: Path) -> str:
    """A digest of every file of a folder that holds a compiled loop."""
    found = hashlib.sha256()
    for path in sorted(folder.glob("*.py")):
        content = path.read_bytes()
        if b"@njit" in content:
            found.update(path.name.encode() + content)
    return found.hexdigest()[:12]


def _keep_loops_apart() -> None:
    """Where the folder cannot be written to, numba goes on to the next place it knows."""
    own = _HERE / "__pycache__"
    told = config.CACHE_DIR  # type: ignore[attr-defined]
    kept = Path(told or own) / f"loops-{state_of_loops(_HERE)}"
    for old in own.glob("loops-*"):
        if old != kept:
            shutil.rmtree(old, ignore_errors=True)
    config.CACHE_DIR = str(kept)  # type: ignore[attr-defined]


_keep_loops_apart()
