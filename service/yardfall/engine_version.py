"""Which version of the sums this is: kept with every answer, so that an old one can be told.

It changes when an answer can, and not with a comment: it is a digest of the code without its
comments and its texts about itself, and of the versions of the libraries that do the sums.
"""

from __future__ import annotations

import ast
import hashlib
from functools import cache
from importlib.metadata import version
from pathlib import Path
from typing import Final

from yardfall import __version__

HERE: Final = Path(__file__).parent
PARTS: Final = (
    "core/**/*.py",
    "geo/**/*.py",
    "web/parse/*.py",
    "web/*/parse_*.py",
    "web/**/*schemas.py",
    "web/openapi/fields.py",
    "use_cases/grounds.py",
    "use_cases/survey.py",
    "use_cases/quality.py",
    "use_cases/tree_survey.py",
    "use_cases/trees.py",
    "use_cases/workflow.py",
    "use_cases/reach/*.py",
)
"""Whatever takes part in a sum, defaults of the request's fields among it."""
LIBRARIES: Final = ("numpy", "scipy", "numba", "shapely", "pyproj", "rasterio")
SAID: Final = frozenset({"metadata", "description"})
"""What is said of a field, in its schema."""


@cache
def sums() -> str:
    """The release, and a digest of every line that takes part in a sum."""
    found = hashlib.sha256()
    for library in LIBRARIES:
        found.update(f"{library} {version(library)}\n".encode())
    for part in PARTS:
        paths = sorted(HERE.glob(part))
        if not paths:
            raise FileNotFoundError(f"No file of the sums is called {part}.")
        for path in paths:
            found.update(f"{path.name}\n{normal_form(path.read_text(encoding='utf-8'))}\n".encode())
    return f"{__version__}+{found.hexdigest()[:12]}"


def normal_form(code: str) -> str:
    """Python code as its syntax tree, without comments, docstrings and what schemas say."""
    tree = ast.parse(code)
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef):
            node.body = [one for one in node.body if not _is_text(one)]
        if isinstance(node, ast.Call):
            node.keywords = [one for one in node.keywords if one.arg not in SAID]
    return ast.dump(tree)


def _is_text(node: ast.stmt) -> bool:
    """Whether a statement is a text alone: a docstring, or words below a constant."""
    return isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
