"""Water that stands at the outlet, and water at the inlets."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    # What the water at the outlet does.
    "outlet_water_below_pipe": "At its highest, the water stands {amount} below the inside bottom "
    "of the pipe's end: it does not reach the pipe.",
    "outlet_water_in_pipe": "At its highest, the water stands {amount} below the inside top of the "
    "pipe's end: it stands in the last {length} of the pipe and holds nothing back.",
    "outlet_water_below_lid": "At its highest, the water stands {amount} below the outlet's lid: "
    "it holds nothing back.",
    "outlet_water_over_crown": "At its highest, the water stands {amount} above the inside top of "
    "the pipe's end.",
    "outlet_water_over_lid": "At its highest, the water stands {amount} above the outlet's lid.",
    "outlet_water_backs_up": "It backs up to {station}, and the last {length} of pipe stand full.",
    "outlet_water_backs_up_running": "When everything runs at once it backs up to {station}, and "
    "the last {length} of pipe run full.",
    "outlet_water_fills": "It fills the pipe from end to end.",
    "outlet_water_fills_running": "When everything runs at once the pipe runs full from end to "
    "end.",
    "outlet_water_stays_in": "It stays below the ground at the start of every line, and below "
    "every opening and inlet given.",
    # Where it comes out.
    "water_over_opening": "Water could come out at the house: the water at the outlet backs up to "
    "{amount} above the stated opening at {station} ({what}).",
    "water_over_opening_of_branch": "Water could come out at the house: the water at the outlet "
    "backs up to {amount} above the stated opening at {station} of branch {branch} ({what}).",
    "water_over_start": "Water could come out at the house: the water at the outlet backs up to "
    "{amount} above the ground at the start of the line.",
    "water_over_start_of_branch": "Water could come out at the house: the water at the outlet "
    "backs up to {amount} above the ground at the start of branch {branch}.",
    "water_over_house_inlet": "Water could come out at the house: the water at the outlet backs up "
    "to {amount} above the ground at {station} ({what}).",
    "water_over_house_inlet_of_branch": "Water could come out at the house: the water at the "
    "outlet backs up to {amount} above the ground at {station} of branch {branch} ({what}).",
    "water_over_inlet": "Water comes out in the yard: the water at the outlet backs up to {amount} "
    "above the ground at {station} ({what}).",
    "water_over_inlet_of_branch": "Water comes out in the yard: the water at the outlet backs up "
    "to {amount} above the ground at {station} of branch {branch} ({what}).",
    # What stays in the pipe.
    "left_wet": "After rain about {volume} of water stays below the lid, in the last {length} of "
    "the pipe, until it soaks away through a weep hole.",
    "left_wet_whole": "After rain about {volume} of water stays below the lid, in the whole pipe, "
    "until it soaks away through a weep hole.",
    "left_wet_of_branch_whole": "After rain about {volume} of water stays in the whole of this "
    "branch, below the lid of the line it joins.",
    "left_wet_of_branch": "After rain about {volume} of water stays in the last {length} of this "
    "branch, below the lid of the line it joins.",
    # Warnings.
    "outlet_under_water": "The outlet lies under water when the water there is at its highest. An "
    "outlet belongs above the usual water, so that the drain runs free most of the time.",
    "water_over_all_ground": "The water level stated lies above all the ground along this line. "
    "Check its sign and its units, and that it counts from the same datum as the ground.",
    # The water at an inlet.
    "inlet_below_ground": "When everything runs at once, the water stands {amount} below the "
    "ground at {station} ({what}).",
    "inlet_below_opening": "When everything runs at once, the water stands {amount} below the "
    "stated opening at {station} ({what}).",
    "still_below_opening": "With the water at the outlet at its highest, it stands {amount} below "
    "the stated opening at {station} ({what}).",
    "still_over_opening": "With the water at the outlet at its highest, it stands {amount} above "
    "the stated opening at {station} ({what}) and comes out there, whatever the pipe. Raise the "
    "opening by that much, or end the pipe where the water stands lower.",
    "rest_below_opening": "Even before the outlet lets any water out, it stands {amount} below the "
    "stated opening at {station} ({what}).",
    "rest_over_opening": "The stated opening at {station} ({what}) lies {amount} too low: water "
    "comes out there before it leaves the outlet, whatever the pipe. Raise the opening by that "
    "much, or lower the outlet.",
    "inlet_drowned_by_outlet_water": "Water backs up and comes out at {station} ({what}): when "
    "everything runs at once it stands {amount} above the opening there. Raise the opening by that "
    "much, or end the pipe where the water stands lower: even with nothing running, the water at "
    "the outlet stands above it, whatever the pipe.",
    "inlet_drowned_by_still_water": "Water backs up and comes out at {station} ({what}): when "
    "everything runs at once it stands {amount} above the opening there. Raise the opening by that "
    "much, or lower the outlet: even still water stands above it, whatever the pipe.",
    "inlet_drowned": "Water backs up and comes out at {station} ({what}): when everything runs at "
    "once it stands {amount} above the opening there. Raise the opening by that much, or bring "
    "less water: no larger pipe of the list would keep it in.",
    "inlet_drowned_larger_pipe": "Water backs up and comes out at {station} ({what}): when "
    "everything runs at once it stands {amount} above the opening there. Raise the opening by that "
    "much, bring less water, or lay {pipe} from there to the outlet.",
    # The head at the house.
    "head_to_lid": "Between the {opening} and the outlet's lid there is {amount} to spare, after "
    "{friction} of friction and {margin} of margin.",
    "head_to_end": "Between the {opening} and the outlet there is {amount} to spare, after "
    "{friction} of friction and {margin} of margin.",
    "head_to_water": "Between the {opening} and the water standing at the outlet there is {amount} "
    "to spare, after {friction} of friction and {margin} of margin.",
    "head_to_entry": "Between the {opening} and the water that enters the pipe there is {amount} "
    "to spare, after {margin} of margin: it stands higher there than what backs up from the "
    "outlet.",
    "head_to_entry_short": "The {opening} lies {amount} too low over the water that enters the "
    "pipe, after {margin} of margin: water would come out there.",
    "head_to_lid_short": "The {opening} lies {amount} too low over the outlet's lid, after "
    "{friction} of friction and {margin} of margin: water would come out at the house before the "
    "outlet.",
    "head_to_end_short": "The {opening} lies {amount} too low over the outlet, after {friction} of "
    "friction and {margin} of margin: water would come out at the house before the outlet.",
    "head_to_water_short": "The {opening} lies {amount} too low over the water standing at the "
    "outlet, after {friction} of friction and {margin} of margin: water could come out at the "
    "house before the outlet.",
}

INLETS: Final[dict[str, str]] = {"roof": "downspout", "yard": "grate", "other": "inlet"}
"""What an inlet without a name is called, by its kind, where the kind is no word for it."""


def inlet_words(what: str) -> str:
    """An inlet as people call it: its name, or that of its kind; several joined by "and"."""
    return " and ".join(INLETS.get(one, one) for one in what.split(" and "))
