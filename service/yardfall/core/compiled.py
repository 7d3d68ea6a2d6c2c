"""Every compiled loop, made ready before a caller needs it."""

from __future__ import annotations

import threading
from importlib import import_module
from typing import Final

from numba import config

MODULES: Final = (
    "ground.route",
    "grading.limits",
    "grading.band",
    "grading.straight",
    "grade_runs",
    "stakeout.tape_marks",
    "stakeout.sheet_marks",
    "quantities.earthwork",
    "asbuilt.ponding",
    "ground.blunders",
    "warnings.plausibility",
    "chance.monte_carlo",
    "uncertainty.accuracy",
    "uncertainty.true_ground",
    "grading.break_lp",
    "grading.fewest_breaks",
    "grading.least_dig",
    "grading.one_break",
    "reach.laid_lines",
    "reach.least_cost_path",
)
"""Those of the core with compiled loops, which their `warm` makes ready; the usual plan's first."""


_idle: Final = threading.Event()
_idle.set()


def warm() -> None:
    """Compile the loops, or load what was compiled before."""
    _idle.clear()
    try:
        for name in MODULES:
            import_module(f"yardfall.core.{name}").warm()
    finally:
        _idle.set()


def settled(most_s: float) -> bool:
    """Whether no loop is being made ready, once `most_s` have been waited for that.

    A sum that needs one meanwhile would wait for it without a bound: compiling cannot be ended.
    """
    return _idle.wait(most_s)


def folder() -> str:
    """Where compiled loops are kept."""
    return str(config.CACHE_DIR)  # type: ignore[attr-defined]
