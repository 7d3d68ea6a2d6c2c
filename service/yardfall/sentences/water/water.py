"""What the water does in the pipe, the pump and the dry well."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "carries": "The pipe carries the water: {flow} of {capacity} when full.",
    "carries_both": "The pipe carries the water: {flow} ({rain} of rain and {pumped} pumped, both "
    "at once) of {capacity} when full.",
    "too_small": "The pipe is too small: it carries {capacity} when full, and {flow} comes.",
    "too_small_both": "The pipe is too small: it carries {capacity} when full, and {flow} comes "
    "({rain} of rain and {pumped} pumped, both at once).",
    "would_serve": "{pipe} would serve.",
    "none_would_serve": "No pipe of the list would serve.",
    "not_self_cleaning": "At this grade it does not keep itself clean.",
    "head_left": "The pump must give {needed} of head; {amount} is left.",
    "head_short": "The pump must give {needed} of head; it is {amount} short.",
    "pit_holds": "A round pit {across} across holds the storm.",
    "pit_holds_worst": "A round pit {across} across holds each of the {count} storms; the worst of "
    "them brings {rain} of rain within {time}.",
    "pit_never_empties": "The soil takes nothing, so it never empties.",
    "pit_soaks_less_by_sides": "Only its bottom is counted on to soak. BRE Digest 365 counts the "
    "sides to half their depth and no bottom, as a bottom silts up: for a pit so shallow that asks "
    "for a larger one.",
    "pit_soaks_more_by_sides": "Only its bottom is counted on to soak. BRE Digest 365 counts the "
    "sides to half their depth and no bottom: for a pit so deep that would do with a smaller one, "
    "so this is on the safe side.",
    "pit_empties": "Full, it is half empty in {half} hours and empty in {hours}.",
    "pit_empties_late": "Full, it is half empty in {half} hours, more than the {limit} allowed to "
    "be ready for the next storm, and empty in {hours}: at most {most} are commonly allowed. Make "
    "it shallower and wider.",
}
