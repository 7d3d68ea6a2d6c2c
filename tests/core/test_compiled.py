"""Compiled loops: none is taken from another state of the sums, wherever they are kept."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from numba import config

from yardfall import core
from yardfall.core import state_of_loops

LOOP = """
from numba import njit
from yardfall.core.plain import STEP
@njit
def grow(): return STEP
"""
TOLD = "import yardfall.core, numba; print(numba.config.CACHE_DIR)"


@pytest.fixture
def folder(tmp_path) -> Path:
    parts = {"caller": LOOP, "called": "@njit\nA = 1\n", "plain": "STEP = 1\n", "other": "B = 1\n"}
    for name, text in parts.items():
        (tmp_path / f"{name}.py").write_text(text, encoding="ascii")
    return tmp_path


def test_what_was_compiled_of_other_sums_is_not_taken(folder) -> None:
    """numba looks at a loop's own file alone; a change in one that it calls, or takes a constant
    from, must count too."""
    before = state_of_loops(folder)
    (folder / "other.py").write_text("B = 2\n", encoding="ascii")
    assert state_of_loops(folder) == before
    (folder / "called.py").write_text("@njit\nA = 2\n", encoding="ascii")
    called = state_of_loops(folder)
    assert called != before
    (folder / "plain.py").write_text("STEP = 2\n", encoding="ascii")
    assert state_of_loops(folder) not in (before, called)
    assert config.CACHE_DIR.endswith(state_of_loops(core._HERE))


def test_a_folder_without_loops_is_told(tmp_path) -> None:
    """A move must not empty the digest silently."""
    with pytest.raises(FileNotFoundError):
        state_of_loops(tmp_path)


def kept_at(package: Path, **environment: str) -> Path:
    """Where the loops of a copy of the package are kept, by a process of its own."""
    clean = {k: v for k, v in os.environ.items() if k not in ("NUMBA_CACHE_DIR", "XDG_CACHE_HOME")}
    told = subprocess.run(
        [sys.executable, "-B", "-c", TOLD],
        env=clean | {"PYTHONPATH": str(package)} | environment,
        capture_output=True,
        check=True,
        text=True,
    )
    return Path(told.stdout.strip())


@pytest.fixture
def package(tmp_path) -> Path:
    """A package of one file with a loop, whose folder for compiled code is no folder."""
    inside = tmp_path / "code" / "yardfall" / "core"
    inside.mkdir(parents=True)
    (inside.parent / "__init__.py").touch()
    (inside / "__init__.py").write_bytes(Path(core.__file__).read_bytes())
    (inside / "band.py").write_text("@njit\nA = 1\n", encoding="ascii")
    (inside / "__pycache__").write_text("no folder", encoding="ascii")
    return tmp_path / "code"


def test_where_the_code_cannot_be_written_beside_the_cache_of_the_user_serves(
    package, tmp_path
) -> None:
    kept = kept_at(package, HOME=str(tmp_path / "home"))
    assert kept.parent == tmp_path / "home" / ".cache" / "yardfall"
    (package / "yardfall" / "core" / "band.py").write_text("@njit\nA = 2\n", encoding="ascii")
    other = kept_at(package, HOME=str(tmp_path / "home"))
    assert other.parent == kept.parent
    assert other != kept, "two versions side by side"
    assert kept.exists()


def test_without_a_home_a_folder_of_its_own_serves(package, tmp_path) -> None:
    nowhere = tmp_path / "nowhere"
    nowhere.write_text("no folder", encoding="ascii")
    first, second = (kept_at(package, HOME=str(nowhere), TMPDIR=str(tmp_path)) for _ in range(2))
    assert first != second
    assert {first.parent, second.parent} == {tmp_path}


def test_the_place_told_serves_by_state(package, tmp_path) -> None:
    kept = kept_at(package, NUMBA_CACHE_DIR=str(tmp_path / "told"))
    assert kept.parent == tmp_path / "told"
    assert kept.name.startswith("loops-")


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="folders have no owner there")
def test_a_folder_of_another_user_is_not_taken(monkeypatch, tmp_path) -> None:
    """What lies there is run."""
    assert core._is_ours(tmp_path / "own")
    monkeypatch.setattr(os, "getuid", lambda: tmp_path.stat().st_uid + 1)
    assert not core._is_ours(tmp_path / "own")


PRELOADED = """
import os, sys, threading
from pathlib import Path
from yardfall.app import Settings, create_app
app = create_app(Settings(Path(sys.argv[1])))
assert threading.active_count() == 1, threading.enumerate()
child = os.fork()
if child == 0:
    body = {
        "units": "us", "route": {"length": 60},
        "ground": {"kind": "elevations", "points": [
            {"at": 0, "elevation": 103}, {"at": 60, "elevation": 100}]},
        "pipe": {"code": "pvc-sdr35-4"}, "start": {"cover": 6}, "outlet": {"kind": "daylight"},
    }
    answer = app.test_client().post("/api/v1/plan", json=body)
    print(answer.text[:300], file=sys.stderr, flush=True)
    os._exit(0 if answer.status_code == 200 else 1)
sys.exit(os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]))
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="nothing forks there")
def test_what_was_loaded_before_a_fork_answers_after_it(tmp_path) -> None:
    """A server that loads the application once and then forks its workers must hang on no lock."""
    told = subprocess.run(
        [sys.executable, "-c", PRELOADED, str(tmp_path)],
        capture_output=True,
        text=True,
        timeout=100,
    )
    assert told.returncode == 0, told.stderr
