"""Every sentence an answer can hold: one text an id, its parameters named in braces.

The texts stand in this package, a module a subject in rooms of what is told, and nowhere else, so
that another language needs another set of texts and no other code. A text is a whole sentence: none
is put together from pieces of grammar. Parameters come as they are read: numbers with their units,
labels, names.
"""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from typing import Final

SUBJECTS: Final = (
    "answer.assumptions",
    "answer.bounds",
    "answer.chance",
    "answer.comparison",
    "answer.conditions",
    "answer.fills",
    "answer.fixes",
    "answer.grades",
    "answer.verdict",
    "answer.whole",
    "cautions",
    "ground.even_slope",
    "ground.sources",
    "ground.survey",
    "papers",
    "problems",
    "quantities",
    "reach",
    "trench.grade_check",
    "trench.level_blocks",
    "trench.marks",
    "trench.old_pipe",
    "trench.trench",
    "warnings",
    "water.backwater",
    "water.water",
)
MODULES: Final = tuple(import_module(f"{__name__}.{subject}") for subject in SUBJECTS)
TEXTS: Final[Mapping[str, str]] = {
    f"{module.__name__.rpartition('.')[2]}.{name}": text
    for module in MODULES
    for name, text in module.TEXTS.items()
}
"""By module, without its room, and name: `conditions.run_out`."""


def say(name: str, /, **parts: str) -> str:
    """The sentence of an id with its parameters put in.

    Raises KeyError for an id without a text, or a parameter that is missing.
    """
    return TEXTS[name].format_map(parts)
