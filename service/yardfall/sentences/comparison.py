"""Plans side by side."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "none_fits": "None of these plans is a plain yes.",
    "fit": "{fit} of {count} fit: {most_spare} has the most fall to spare; {least_dig} digs least.",
    "fit_priced": "{fit} of {count} fit: {most_spare} has the most fall to spare; {least_dig} "
    "digs least; {least_cost} costs least by your prices.",
}
