"""Plans side by side."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "none_fits": "None of these plans is a plain yes.",
    "fit": "{fit} of {count} fit.",
    "most_spare": "{name} has the most fall to spare.",
    "least_dig": "{name} digs least.",
    "least_cost": "{name} costs least by your prices.",
}
