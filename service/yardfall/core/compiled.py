"""Every compiled loop, made ready before a caller needs it."""

from __future__ import annotations

from importlib import import_module
from typing import Final

from numba import config

MODULES: Final = (
    "route",
    "trench",
    "band",
    "straight",
    "stations",
    "marks",
    "earthwork",
    "standing",
    "blunders",
    "doubts",
    "many_grounds",
    "accuracy",
    "true_ground",
    "knots",
    "fewest_breaks",
    "least_dig",
    "one_break",
    "laid_lines",
    "way",
)
"""Those of the core with compiled loops, which their `warm` makes ready; the usual plan's first."""


def warm() -> None:
    """Compile the loops, or load what was compiled before."""
    for name in MODULES:
        import_module(f"yardfall.core.{name}").warm()


def folder() -> str:
    """Where compiled loops are kept."""
    return str(config.CACHE_DIR)  # type: ignore[attr-defined]
