"""Every compiled loop, made ready before a caller needs it."""

from __future__ import annotations

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


def warm() -> None:
    """Compile the loops, or load what was compiled before."""
    for name in MODULES:
        import_module(f"yardfall.core.{name}").warm()


def folder() -> str:
    """Where compiled loops are kept."""
    return str(config.CACHE_DIR)  # type: ignore[attr-defined]
