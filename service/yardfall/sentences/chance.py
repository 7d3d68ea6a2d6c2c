"""How sure an answer is."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    # A chance in words, put into the sentences that tell one.
    "about": "about {percent} %",
    "most": "more than 99 %",
    "least": "less than 1 %",
    # The chance of a plan.
    "line_exists": "By these readings the chance "
    "that a pipe can be laid so that it drains is {chance}, with {readings}: a fall between "
    "two readings is good to about {error} (standard error).",
    "raster_cancels": "What the whole raster may be off by, {common}, cancels; what differs from "
    "cell to cell does not, so it cannot settle a fall smaller than that.",
}
