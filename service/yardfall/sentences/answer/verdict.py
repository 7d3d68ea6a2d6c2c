"""The headline of a plan: does it fall enough, on which conditions, and if not, why."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "yes": "Yes: {amount} of fall to spare.",
    "yes_just": "Yes, but only just: no fall to spare.",
    "yes_raised": "Yes: {amount} of fall to spare, with the start raised by {raised}.",
    "yes_open": "Yes: nothing limits how deep the pipe may end.",
    "yes_if_1": "Yes, if {one}: {amount} of fall to spare.",
    "yes_if_2": "Yes, if {one} and {two}: {amount} of fall to spare.",
    "yes_if_3": "Yes, if {one}, {two} and {three}: {amount} of fall to spare.",
    "yes_if_many": "Yes, on {count} conditions: {amount} of fall to spare.",
    "yes_open_if": "It falls, and nothing limits how deep the pipe may end, if {one}.",
    "falls_but": "It falls, with {amount} to spare.",
    "falls_but_open": "It falls.",
    "too_close_yes": "Too close to call: by these readings {amount} to spare, but their errors "
    "could turn it.",
    "too_close_raised": "Too close to call: by these readings {amount} to spare with the start "
    "raised by {raised}, but their errors could turn it.",
    "too_close_no": "Too close to call: by these readings {amount} short, but their errors could "
    "turn it.",
    "too_close_open": "Too close to call: by these readings it falls, and nothing limits how deep "
    "the pipe may end, but their errors could turn it.",
    "no_by_errors_open": "No: by these readings it falls, and nothing limits how deep the pipe may "
    "end, but their errors leave hardly any chance that it does.",
    "no_by_errors": "No: by these readings it fits with {amount} to spare, but their errors leave "
    "hardly any chance that it does.",
    "no_soaks": "No: the pipe falls enough, but its dry well would never empty, for the soil takes "
    "no water. End it where the water can run off, or where a test shows that the soil takes it.",
    "no.outlet": "No: the pipe would come out {amount} too deep at {down}.",
    "no.depth": "No: the trench would have to be {amount} deeper than the limit at {down}.",
    "no.over": "No: the pipe would pass {amount} too low {what} at {down}.",
    "no.start": "No: the pipe starts {amount} too high at {down}.",
    "no.steep": "No: even at the maximum grade the pipe would lie {amount} too high at {down}.",
    "no.other": "No: the pipe would lie {amount} too low at {down}.",
    "why.start": "It starts at {up} as stated, and must fall {needed} from there.",
    "why.cover": "The soil over the pipe at {up} keeps it down, and it must fall {needed} from "
    "there.",
    "why.cover_here": "The soil over the pipe keeps it down there.",
    "why.cover_under": "At {up} the {limit} keeps it down, and it must fall {needed} from there.",
    "why.under": "It must pass {limit} at {up}, and fall {needed} from there.",
    "why.branch": "It must be low enough for {limit} to join at {up}, and fall {needed} from "
    "there.",
    "why.surface": "The ground is that low at {up}, and the pipe must fall {needed} from there.",
    "why.other": "The {limit} at {up} keeps it there.",
    "why.turn_cover": "The low ground at {turn}, with its soil over the pipe, forces one straight "
    "grade down so steeply.",
    "why.turn_under": "To pass {limit} at {turn}, one straight grade must be so steep.",
    "why.turn_other": "The {limit} at {turn} forces one straight grade down so steeply.",
    "why.steep": "From {up} to there it can fall only {available}.",
    "more_changes_straight": "A line that changes grade on the way would fit.",
    "more_changes": "A line that changes grade more often would fit.",
    "more_stations": "A line that also changes grade between these stations would fit: ask for "
    "stations closer together.",
    "more_changes_or_stations": "A line that changes grade more often, or between these stations, "
    "would fit.",
}
