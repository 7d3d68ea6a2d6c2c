"""What the numbers of a search of a yard mean, by schema and field; see `descriptions`."""

from __future__ import annotations

from typing import Final

REACH_FIELDS: Final[dict[str, dict[str, str]]] = {
    "AreaProperties": {
        "from": "Least spare, {depth}, negative is missing; of a chance 0 to 1. Null: no bound.",
        "to": "Most spare, {depth}, negative is missing; of a chance 0 to 1. Null: no bound.",
    },
    "ReachSummary": {
        "outlet_area": "Where it can come out; {area}. Where the warnings tell that no line was "
        "laid on so large a lot, with any number of changes of grade.",
        "searched_area": "On the lot, known, and nowhere to be avoided; {area}.",
        "cell": "Side of a cell of the search; {distance}.",
        "start_ground": "Elevation; {distance}.",
        "start_invert": "Elevation; {distance}.",
    },
    "ReachRoute": {
        "map_spare": "Spare by the search's cells; the route's own `answer` decides; {depth}.",
        "deepest": "{depth}.",
        "trench_volume": "Of the slot for the pipe, bank measure; {volume}.",
        "dug_volume": "What is dug, with room to work in where it is deep, bank measure; {volume}.",
    },
    "ReachAsked": {
        "highest_invert": "Elevation; {distance}.",
        "passing_invert": "Elevation; {distance}.",
        "depth": "From the ground down to the trench bottom there; {depth}.",
    },
    "ReachTarget": {"index": "Of the shape among `targets`, from 0."},
}
