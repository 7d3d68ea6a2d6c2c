"""What must be said where a usual value gave way, and where the water asks for more.

Each condition has a clause, for a sentence that begins "Yes, if", and a text of its own.
"""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "if.run_in": "{least} of soil over the first {length} is enough",
    "if.run_in_bare": "the pipe may stand out of the ground on the first {length}",
    "if.run_out": "the cover may thin to {least} over the last {length}",
    "if.run_out_whole": "the cover may thin to {least} along the whole run",
    "if.riser": "the trench may be {depth} deep at the pop-up, with a longer riser",
    "if.ditch": "a {length} ditch carries the water on from the end",
    "if.bank": "the ground falls away by {depth} just beyond the end",
    "if.grade_change": "the grade may change once, at {at}",
    "if.deep": "the trench may be {depth} deep, with a protective system",
    "if.even_slope": "the ground between lies as even as it was taken",
    "if.ground_not_known": "the ground above it, which was not measured, leaves it room",
    "if.end_open": "the pipe may end {depth} deep at the outlet",
    "if.crossing": "the {what} at {at}, exposed by hand first, lies as deep as given",
    "if.crossings": "the {count} buried things it passes, exposed by hand first, lie as deep as "
    "given",
    "if.fill": "up to {depth} of soil is laid from {from_at} to {to_at}",
    "if.fills": "soil is laid over {count} stretches as planned",
    "if.soil_test": "a test shows that the soil soaks the water away",
    "run_in": "Over the first {length} as little as {least} of soil lies over the pipe, where even "
    "a shallow start usually has {usual}: no wheels and no spade there.",
    "run_in_bare": "On the first {length} the top of the pipe stands up to {least} out of the "
    "ground: nothing may pass over it there.",
    "run_out": "From {from_at} to {to_at} the soil over the pipe is less than usual: as little as "
    "{least} before the pipe comes up to the outlet. No wheels, no aerating and no spade there.",
    "riser": "The pop-up needs a longer riser: the trench is {depth} deep there, usually {usual} "
    "at the most.",
    "riser_wet": "The pop-up needs a longer riser: the trench is {depth} deep there, usually "
    "{usual} at the most. Without a weep hole, water stays in the last {wet} of the pipe.",
    "riser_wet_whole": "The pop-up needs a longer riser: the trench is {depth} deep there, usually "
    "{usual} at the most. Without a weep hole, water stays in the whole pipe.",
    "ditch": "The trench is {depth} deep at the end of the pipe. A level ditch must carry the "
    "water {length} on from there, to where the ground is as low.",
    "ditch_unmeasured": "The trench is {depth} deep at the end of the pipe. A level ditch must "
    "carry the water {length} on from there, to where the ground is as low. The ground beyond the "
    "end was not measured: it is taken to fall on as it does before the end.",
    "bank": "The trench is {depth} deep at the end of the pipe, and the ground beyond falls too "
    "little for a short ditch. The pipe must end at a bank, a ditch or a swale at least that "
    "deep.",
    "grade_change": "The grade changes once, at {at}, from {before} to {after}.",
    "deep": "Between {from_at} and {to_at} the trench is up to {depth} deep. Past {limit} it "
    "needs a protective system (29 CFR 1926.652): shoring, a shield or sloped sides.",
    "end_open": "Nothing given says how deep the pipe may end, and it would end {depth} deep. "
    "Measure how low the outlet can be, and give that.",
    "crossing": "The top of the {what} at {at} is given as {depth} deep. Marks on the ground tell "
    "no depth: have it marked, expose it by hand before any other digging, and measure.",
    "crossings": "From {at} to {to} it passes {count} buried things, at depths as given. "
    "Marks on the ground tell no depth: have them marked, expose them by hand before any other "
    "digging, and measure.",
    "fill": "{fill} Until then the pipe has too little soil over it: lay it as soon as the trench "
    "is closed, and keep wheels and spades off before.",
    "fills": "Soil is to be laid over {count} stretches between {from_at} and {to_at}. Until then "
    "the pipe has too little soil over it: lay it as soon as the trench is closed, and keep wheels "
    "and spades off before.",
    "soil_test": "A dry well works only where the soil soaks the water away: test that first.",
    "well_empties_late": "The dry well would take {half} hours to be half empty, and {limit} are "
    "allowed (BRE Digest 365). Make it no more than {depth} deep in stone, with a bottom of "
    "{area}, or end the pipe elsewhere.",
    "well_empties_late_any": "The dry well would take {half} hours to be half empty, and {limit} "
    "are allowed (BRE Digest 365). The soil takes too little for any pit: end the pipe elsewhere.",
    "pipe_too_small": "{pipe} is too small for this water: {serves} carries it.",
    "pipe_too_small_none": "{pipe} is too small for this water, and no pipe of the list carries "
    "it at this grade.",
    "water_at_house": "Water would come out at the {opening} before it leaves the outlet, "
    "{amount} short.",
    "water_near_opening": "The {opening} lies {amount} too low over the water that enters the "
    "pipe, with the margin to be kept. Raise it by that much, or bring less water.",
    "opening_too_low": "The opening at {at} ({inlet}) lies {amount} too low: even with nothing "
    "running, water would stand above it and come out there.",
    "inlet_backs_up": "Water would back up and come out at {at} ({inlet}): when everything runs at "
    "once it would stand {amount} above the opening there.",
}
