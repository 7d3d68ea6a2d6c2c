"""What the contract's numbers mean: readings of the ground, and grades set without a laser.

{distance} and {depth} stand for the units; see `contract_words`.
"""

from __future__ import annotations

from typing import Final

GROUND_FIELDS: Final[dict[str, dict[str, str]]] = {
    "LineReadingBody": {"down": "From the level line down to the ground; {depth}."},
    "SlopeRunBody": {"percent": "Percent; positive where the ground rises along the route."},
    "StepBody": {
        "length": "On the level, not along the slope; {distance}.",
        "drop": "How far the ground drops along the step; negative where it rises; {depth}.",
    },
    "BranchLengthAndDropBody": {
        "drop": "From the start to the end; negative where the end lies higher; {depth}."
    },
    "HumpBody": {"height": "Of the ground there above the even slope; negative: a dip; {depth}."},
    "SpotsBody": {"points": "[x, y, z]: x and y in the route's `crs`; z an elevation, {distance}."},
    "LevelBlockAnswer": {
        "level": "Length of the level; {depth}.",
        "block": "Exactly; `mark` is to the nearest 1/16 in or half a millimetre; {depth}.",
    },
    "BoardAnswer": {
        "length": "Of the board; {depth}.",
        "gap": "In its middle, where the bottom sags evenly: a quarter of what the run falls along "
        "the board; `mark` is rounded down; {depth}.",
    },
    "ToMeasureAnswer": {
        "rise": "More than this above the even slope turns the yes into a no; null: none up to "
        "3 ft (0.9 m); {depth}.",
        "dip": "More than this below the even slope turns the yes into a no; null: none up to "
        "3 ft (0.9 m); {depth}.",
    },
}
