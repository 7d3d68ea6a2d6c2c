"""A line and its branches as one."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "main": "Main line: {sentence}",
    "branch": "Branch {name}: {sentence}",
    "every_branch_joins": "Every branch joins.",
    "chance": "The chance that all pipes work together is {chance}.",
}
