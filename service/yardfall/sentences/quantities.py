"""What each quantity of a bill is reckoned from, and the bill in short."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "trench": "Average end area at every profile point, upright sides; loose is {swell} % more "
    "than bank (common earth 25 %, clay 43 %, sand 11 %: US Army FM 5-434, clay and earth from "
    "memory).",
    "trench_widens": "Average end area at every profile point, upright sides; where it is 1 m (39 "
    "in) deep or more, wide enough to work in: 0.8 m (32 in), from 1.75 m (69 in) on 0.9 m (35 "
    "in) and from 4 m (13 ft) on 1 m (39 in) (EN 1610, table 2, from memory), unless you state "
    "the width. Loose is {swell} % more than bank (common earth 25 %, clay 43 %, sand 11 %: US "
    "Army FM 5-434, clay and earth from memory).",
    "slot": "It is dug as wide all along as the slot for the pipe.",
    "slot_and_room": "The width and volume of the slot for the pipe are told first. Where the "
    "trench is 1 m (39 in) deep or more it is dug wider, for somebody to work in: 0.8 m (32 in), "
    "from 1.75 m (69 in) on 0.9 m (35 in) and from 4 m (13 ft) on 1 m (39 in) (EN 1610, table 2, "
    "from memory), unless you state the width. Quantities, hours and costs go by that.",
    "protection": "Over {length} the trench is 5 ft (1.5 m) deep or more, {deepest} at the most: "
    "nobody goes in before its sides are held by shoring or a shield, or laid back (29 CFR "
    "1926.652). Laid back 1-1/2 to 1 from the bottom, as the weakest soil asks for (type C, "
    "Subpart P, Appendix B), it is {top} wide at the top and takes {bank} {unit} of digging in "
    "all.",
    "sod": "The trench's width along its length; what you lay spoil on comes on top.",
    "bedding": "The depth of bedding asked for times the trench's width and length, in place.",
    "spoil": "What the pipe and its bedding take the place of is hauled off, loose; the rest goes "
    "back. A mound of 2 to 3 in (50 to 75 mm) over the trench takes some of it (common practice, "
    "no source).",
    "fill": "The side of the soil to lay times the width of its strip, in place; loose is {swell} "
    "% more. Spoil that is left over goes there first.",
    "pipe_in_coils": "Length along the slope and {waste} % over, in whole coils of {piece} "
    "(common practice, no source).",
    "pipe_in_sticks": "Length along the slope and {waste} % over, in whole sticks of {piece} "
    "(common practice, no source).",
    "parts": "An adapter, a cleanout and a leaf filter for each downspout; a wye and a 45 where "
    "an inflow or a branch comes in; an elbow for each bend over 10 degrees; cleanouts about "
    "every 100 ft (30 m), at sharp bends and at the head (common practice, no source).",
    "hours": "Rule of thumb for digging alone, one person or one machine: {by_hand} an hour by "
    "hand down to 24 in (0.6 m), deeper as much slower as it is deeper (common practice, no "
    "source), and half as long again below 1.5 m (5 ft), where the soil is thrown twice (Guild of "
    "Project Controls). Your own pace rules where you state it.",
    "hours_of_machine": "Rule of thumb for digging alone, one person or one machine: {by_hand} an "
    "hour by hand down to 24 in (0.6 m), deeper as much slower as it is deeper (common practice, "
    "no source), and half as long again below 1.5 m (5 ft), where the soil is thrown twice (Guild "
    "of Project Controls); by machine {by_machine} an hour on site (common practice, no "
    "source). Your own pace rules where you state it.",
    # What a part is for.
    "why.each_roof": "one for each downspout",
    "why.each_yard": "one for each yard inlet",
    "why.each_pump": "one for each pump",
    "why.each_joining": "one for each inflow that joins the line",
    "why.each_slight_bend": "one for each slight bend",
    "why.bend": "one for every 45 degrees of a bend",
    "why.sharp_bend": "one at each sharp bend",
    "why.along_the_line": "about every 100 ft (30 m)",
    "why.head_of_line": "at the head of the line",
    "why.between_coils": "between coils",
    "why.joins_other_pipe": "where it joins the other pipe",
    "why.at_outlet": "at the outlet",
    "why.steps_down": "to turn down to the wye",
    # What it all comes to.
    "cost": "Your prices times the quantities above. What has no price is left out of the total.",
    # In short, on the sheet.
    "in_place_and_loose": "{bank} {unit} in place, {loose} loose",
    "loose": "{haul} {unit} loose",
    "fill_of_spoil": "{volume} {unit} in place: {loose} loose, all of it spoil of the trench",
    "fill_brought": "{volume} {unit} in place: {loose} loose, of which {spoil} is spoil of the "
    "trench and {bring} to bring",
    "coil_one": "1 coil of {piece}",
    "coil_more": "{count} coils of {piece}",
    "stick_one": "1 stick of {piece}",
    "stick_more": "{count} sticks of {piece}",
    "by_hand": "{hours} by hand",
    "by_hand_or_machine": "{hours} by hand or {machine_hours} with a {machine}",
    "total": "{total} {currency}",
    "total_without": "{total} {currency}, without {left_out}",
}
