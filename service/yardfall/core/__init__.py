"""The sums. Standard library, numpy, scipy and numba: no files of the user's, no web, no database.

numba keeps what it compiles, and looks at a loop's own file alone to tell whether that still
holds: a loop of another file that it calls, or a constant from one, could change unseen. So what is
compiled is kept apart for each state of all the files with compiled loops, and of those that they
take from; and always in a folder of ours, for where numba cannot write it goes on to one of its own
that knows nothing of that.
"""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import tempfile
import time
from pathlib import Path

from numba import config

_HERE = Path(__file__).parent
_OWN_ONLY = 0o700
_KEPT_S = 7 * 86400
_IMPORT = re.compile(rb"^from ([\w.]+) import (\([^)]*\)|[^\n]*)", re.MULTILINE)
_CONSTANT = re.compile(rb"\b[A-Z][A-Z0-9_]+\b")


def state_of_loops(folder: Path) -> str:
    """A digest of every file of a folder that holds a compiled loop, or that one takes from."""
    files = {_module(path, folder): path.read_bytes() for path in sorted(folder.rglob("*.py"))}
    looped = {name for name, content in files.items() if b"@njit" in content}
    if not looped:
        raise FileNotFoundError(f"No file with a compiled loop is in {folder}.")
    taken, waiting = set(looped), list(looped)
    while waiting:
        for name in _taken_from(files[waiting.pop()]) & files.keys() - taken:
            taken.add(name)
            waiting.append(name)
    found = hashlib.sha256()
    for name in sorted(taken):
        found.update(name.encode() + files[name])
    return found.hexdigest()[:12]


def _module(path: Path, folder: Path) -> str:
    """What a file of the core is called in it: `grading.band`."""
    return ".".join(path.relative_to(folder).with_suffix("").parts)


def _taken_from(content: bytes) -> set[str]:
    """The modules of the core that a file takes constants from."""
    return {
        module.decode().partition(".core.")[2]
        for module, names in _IMPORT.findall(content)
        if _CONSTANT.search(names)
    }


def _keep_loops_apart() -> None:
    """Say where compiled loops are kept: where the caller says, else the first place that serves.

    Those are beside the source, in the user's cache, and in a folder that is left behind. What
    another state left is cleared away after a week: its planner may still be running.
    """
    name = f"loops-{state_of_loops(_HERE)}"
    told = config.CACHE_DIR  # type: ignore[attr-defined]
    home = os.environ.get("XDG_CACHE_HOME") or os.path.expanduser("~/.cache")  # noqa: PTH111 - a home that is not there raises nothing
    places = [Path(told)] if told else [_HERE / "__pycache__", Path(home) / "yardfall"]
    kept = next((place / name for place in places if _is_ours(place / name)), None)
    if kept is None:
        kept = Path(tempfile.mkdtemp(prefix="yardfall-loops-"))
    for old in kept.parent.glob("loops-*") if not told else ():
        if time.time() - old.stat().st_mtime > _KEPT_S and old != kept:
            shutil.rmtree(old, ignore_errors=True)
    config.CACHE_DIR = str(kept)  # type: ignore[attr-defined]


def _is_ours(folder: Path) -> bool:
    """Whether a folder can be written to, and by nobody else: what lies there is run."""
    try:
        folder.mkdir(mode=_OWN_ONLY, parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            return not hasattr(os, "getuid") or folder.stat().st_uid == os.getuid()
    except OSError:
        return False


_keep_loops_apart()
