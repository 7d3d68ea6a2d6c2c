"""Compiled loops: none is taken from another state of the sums."""

from __future__ import annotations

from numba import config

from yardfall import core
from yardfall.core import state_of_loops


def test_what_was_compiled_of_other_sums_is_not_taken(tmp_path) -> None:
    """numba looks at a loop's own file alone; a change in one that it calls must count too."""
    for name, text in (("caller", "@njit\n"), ("called", "@njit\nA = 1\n"), ("plain", "B = 1\n")):
        (tmp_path / f"{name}.py").write_text(text, encoding="ascii")
    before = state_of_loops(tmp_path)
    (tmp_path / "plain.py").write_text("B = 2\n", encoding="ascii")
    assert state_of_loops(tmp_path) == before
    (tmp_path / "called.py").write_text("@njit\nA = 2\n", encoding="ascii")
    assert state_of_loops(tmp_path) != before
    assert config.CACHE_DIR.endswith(state_of_loops(core._HERE))
