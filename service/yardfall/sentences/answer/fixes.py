"""What would mend a "no", one change a sentence, with its price in words."""

from __future__ import annotations

from typing import Final

THIN: Final = "no wheels, no aerating and no spade there."
READ_AGAIN: Final = "Read the ground again once it is off, and plan by that."

TEXTS: Final[dict[str, str]] = {
    "one_more_reading": "Read the ground at {at} as well: if it lies there as these readings lead "
    "to expect, the chance that it works rises from {now} to {then}. What is found may turn it the "
    "other way.",
    "one_more_reading_less": "Read the ground at {at} as well: if it lies there as these readings "
    "lead to expect, the chance that it works falls from {now} to {then}. What is found may turn "
    "it the other way.",
    "start_cover": "Start with {after} of soil over the pipe instead of {before}.",
    "start_cover_deeper": "Start deeper, with {after} of soil over the pipe instead of {before}.",
    "start_depth": "Start with the trench {after} deep instead of {before}.",
    "start_depth_deeper": "Start deeper, with the trench {after} deep instead of {before}.",
    "start_invert": "Start higher, with the invert at {after} instead of {before}.",
    "start_invert_deeper": "Start deeper, with the invert at {after} instead of {before}.",
    "min_cover": f"Allow a minimum cover of {{after}} instead of {{before}}: {THIN}",
    "run_out": "Let the cover run out over the last {after} instead of {before}, down to {least} "
    f"before it comes up to the outlet: {THIN}",
    "run_out_first": "Let the cover run out over the last {after}, down to {least} before it "
    f"comes up to the outlet: {THIN}",
    "max_depth": "Allow a maximum depth of {after} instead of {before}.",
    "min_grade": "Allow a minimum grade of {after} instead of {before}.",
    "min_grade_cleans": "Allow a minimum grade of {after} instead of {before}. Full, the pipe then "
    "carries {carries} instead of {carried}, and the flow still takes sand and silt along. Lay it "
    "with care: where a joint of {stick} sticks settles {settles}, or a stick sags {sags}, water "
    "begins to stand.",
    "min_grade_silts": "Allow a minimum grade of {after} instead of {before}. Full, the pipe then "
    "carries {carries} instead of {carried}, too slowly to take sand and silt along: it needs a "
    "cleanout. Lay it with care: where a joint of {stick} sticks settles {settles}, or a stick "
    "sags {sags}, water begins to stand.",
    "max_grade": "Allow a maximum grade of {after} instead of {before}.",
    "pipe": "Use {after}, which may lie at {grade}, instead of {before}.",
    "outlet_pop_up": "Let the trench be {after} deep at the pop-up instead of {before}, with a "
    "longer riser. Without a weep hole, water stays in the end of the pipe.",
    "outlet_ditch": "Let the pipe end {after} deep instead of {before}: a ditch with a level "
    "bottom then leads on {length} to where the ground has fallen as far.",
    "outlet_ditch_unmeasured": "Let the pipe end {after} deep instead of {before}: a ditch with a "
    "level bottom then leads on {length}, if the ground beyond the end, which was not measured, "
    "falls on as before it.",
    "outlet_daylight": "Let the pipe end {after} deep instead of {before}, where there is a bank, "
    "a ditch or a swale at least as deep.",
    "outlet_curb": "Let the pipe end {after} deep at the curb instead of {before}, through a lower "
    "notch in the curb.",
    "outlet_dry_well": "Let the pipe enter the dry well {after} deep instead of {before}.",
    "outlet_tie_in": "Let the pipe tie in {after} deep instead of {before}, if what it joins lies "
    "low enough.",
    "outlet_shallower": "Let the pipe end no more than {after} deep instead of at least {before}.",
    "outlet_invert": "Let the pipe end with its invert as low as {after} instead of {before}, if "
    "what it leads to lies low enough.",
    "outlet_invert_max": "Let the pipe end with its invert as high as {after} instead of {before}.",
    "kind_daylight": "End in a daylight end instead of {before}.",
    "kind_pop_up": "End in a pop-up instead of {before}.",
    "kind_dry_well": "Only if a test shows that the soil soaks the water away: end in a dry well "
    "instead of {before}.",
    "end_at": "End the line at {after} instead of {before}.",
    "end_before": "End the line at {after} instead of {before}, before the {what} at {where}, "
    "which it then does not cross.",
    "end_in_hollow": "{fix} From there on the line's ground only rises: let out in that low "
    "place, the water stays there.",
    "crossing_over": "Pass over the crossing at {where} instead of under it.",
    "crossing_under": "Pass under the crossing at {where} instead of over it.",
    "grade_changes_one": "Let the grade change once on the way.",
    "grade_changes": "Let the grade change up to {after} times on the way.",
    "soil_start": "Lay soil on the start, {after} at {full_from} and thinning out to {to_at}: "
    "about {volume} on a strip {width} wide. Keep it below the siding, and sloping away from the "
    "house.",
    "soil_dip": "Fill the low ground, {after} from {full_from} to {full_to} and thinning out to "
    "{from_at} and {to_at}: about {volume} on a strip {width} wide.",
    "soil_dip_peak": "Fill the low ground, {after} at {full_from} and thinning out to {from_at} "
    "and {to_at}: about {volume} on a strip {width} wide.",
    "soil_hump": "Take the high ground down by {after} at {peak_at}, thinning out to {from_at} and "
    f"{{to_at}}: about {{volume}} from a strip {{width}} wide. {READ_AGAIN}",
    "much": "{fix} That is a deep dig, for where nothing else will do.",
    "nearest": "{fix} Of all single changes this comes nearest, and even so the line is {short} "
    "short.",
    "carry_on": "Carry the line on by about {length}. By the slope of the ground before its end it "
    "comes out there; the ground beyond was not measured, so measure it first.",
    "pump": "Pump it: from the start of this pipe to the highest ground on the line the lift is "
    "about {lift}. Size the pump and its discharge pipe for {rate}, with a check valve.",
    "pump_unknown": "Pump it: from the start of this pipe to the highest ground on the line the "
    "lift is about {lift}. Size the pump and its discharge pipe for the water that comes, with a "
    "check valve.",
}

OUTLETS: Final[dict[str, str]] = {
    "daylight": "a daylight end",
    "pop_up": "a pop-up",
    "curb": "a curb outlet",
    "dry_well": "a dry well",
    "tie_in": "a tie-in",
}
"""How the pipe ends, as a name with its article."""
