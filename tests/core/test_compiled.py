"""Compiled loops: all are made ready at start, and none is taken from another state of the sums."""

from __future__ import annotations

import importlib
import pkgutil

from numba import config
from numba.core.registry import CPUDispatcher

from yardfall import core
from yardfall.core import compiled, state_of_loops


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


def test_every_loop_is_ready_before_a_caller_needs_it() -> None:
    compiled.warm()
    loops = {
        f"{module.name}.{name}": value
        for module in pkgutil.iter_modules(core.__path__)
        for name, value in vars(importlib.import_module(f"yardfall.core.{module.name}")).items()
        if isinstance(value, CPUDispatcher)
    }
    assert len(loops) > 20
    assert [name for name, loop in loops.items() if not loop.signatures] == []
