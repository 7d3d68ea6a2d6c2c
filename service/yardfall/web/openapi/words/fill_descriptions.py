"""What the numbers of soil to be laid mean; see `descriptions`."""

from __future__ import annotations

from typing import Final

FILL_FIELDS: Final[dict[str, dict[str, str]]] = {
    "FillBody": {
        "from": "Station where it begins; {distance}.",
        "to": "Station where it ends; {distance}.",
        "depth": "Of soil in place, on the ground as it lies; {depth}.",
        "full_from": "Station from which on it is full; {distance}.",
        "full_to": "Station up to which it is full; {distance}.",
        "width": "Of the strip along the pipe, for its volume alone; left out, 6 ft (2 m); "
        "{distance}.",
    },
    "FillQuantity": {
        "volume": "In place; {volume}.",
        "loose": "The same as it is brought; {volume}.",
        "from_spoil": "What of it the trench gives, loose; {volume}.",
        "bring": "What of it is to be brought, loose; {volume}.",
    },
    "FillAnswer": {
        "from": "Station where it begins; {distance}.",
        "to": "Station where it ends; {distance}.",
        "depth": "Of soil in place, where it is full; {depth}.",
        "full_from": "Station from which on it is full; {distance}.",
        "full_to": "Station up to which it is full; {distance}.",
        "width": "Of the strip along the pipe; {distance}.",
        "volume": "In place; {volume}.",
    },
}
