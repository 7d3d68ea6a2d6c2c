"""Where a pipe or its trench would lie above the ground: never a negative tape."""

from __future__ import annotations

from typing import Final

TEXTS: Final = {
    "out_of_ground": "The pipe stands {amount} out of the ground at {label}.",
}
