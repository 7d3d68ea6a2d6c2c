"""A grade in words for a crew with a level, a block and a straight board."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "grade_laser": "A laser or grade rod is set falling toward the outlet.",
    "grade_tools": "A laser or grade rod is set falling toward the outlet. A level's low end "
    "sits on a block this thick; under a straight board, allow no wider gap.",
    "level_block": "Under the low end of a {level} level: {block}. At grade its bubble is in the "
    "middle.",
    "board_gap": "Under a straight {board} board laid along the trench bottom the gap in the "
    "middle may be up to {gap}; water stands in a deeper sag.",
}
