"""What each quantity of a bill is reckoned from."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "trench": "Average end area at every profile point, upright sides; loose is {swell} % more "
    "than bank (common earth 25 %, clay 43 %, sand 11 %: US Army FM 5-434, clay and earth from "
    "memory).",
    "sod": "The trench's width along its length; what you lay spoil on comes on top.",
    "bedding": "The depth of bedding asked for times the trench's width and length, in place.",
    "spoil": "What the pipe and its bedding take the place of is hauled off, loose; the rest goes "
    "back. A mound of 2 to 3 in (50 to 75 mm) over the trench takes some of it (common practice, "
    "no source).",
    "pipe_in_coils": "Length along the slope and {waste} % over, in whole coils of {piece} "
    "(common practice, no source).",
    "pipe_in_sticks": "Length along the slope and {waste} % over, in whole sticks of {piece} "
    "(common practice, no source).",
    "parts": "An adapter, a cleanout and a leaf filter for each downspout; a wye and a 45 where "
    "an inflow or a branch comes in; an elbow for each bend over 10 degrees; cleanouts about "
    "every 100 ft (30 m), at sharp bends and at the head (common practice, no source).",
    "hours": "Rule of thumb for digging alone, one person or one machine: {by_hand} an hour by "
    "hand (common practice, no source). Your own pace rules where you state it.",
    "hours_of_machine": "Rule of thumb for digging alone, one person or one machine: {by_hand} an "
    "hour by hand (common practice, no source); by machine {by_machine} an hour on site (common "
    "practice, no source, from memory). Your own pace rules where you state it.",
    "cost": "Your prices times the quantities above. What has no price is left out of the total.",
}
