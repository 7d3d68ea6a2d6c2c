"""What must be said where a usual value gave way, and where the water asks for more.

Each condition has a clause, for a sentence that begins "Yes, if", and a text of its own.
"""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "if.run_in": "only {least} of soil may cover the first {length}",
    "if.run_out": "the cover may run out over the last {length}",
    "if.run_out_whole": "the cover may thin along the whole run",
    "if.riser": "the trench may be {depth} deep at the pop-up, with a longer riser",
    "if.ditch": "a {length} ditch leads on from the end",
    "if.bank": "the ground falls away by {depth} just beyond the end",
    "if.grade_change": "the grade may change once, at {at}",
    "if.deep": "the trench may be {depth} deep, with a protective system",
    "if.even_slope": "the ground between lies as even as it was taken",
    "if.soil_test": "a test shows that the soil soaks the water away",
    "run_in": "Over the first {length} as little as {least} of soil lies over the pipe, less than "
    "the usual {usual}: no wheels and no spade there.",
    "run_out": "From {from_at} to {to_at} the soil over the pipe is less than usual, down to "
    "{least} before it comes up to the outlet: no wheels, no aerating and no spade there.",
    "riser": "The pop-up needs a longer riser: the trench is {depth} deep there, usually {usual} "
    "at the most.",
    "riser_wet": "The pop-up needs a longer riser: the trench is {depth} deep there, usually "
    "{usual} at the most. Without a weep hole, water stays in the last {wet} of the pipe.",
    "ditch": "The pipe ends {depth} deep. From there a ditch with a level bottom leads on "
    "{length} to where the ground has fallen as far.",
    "ditch_unmeasured": "The pipe ends {depth} deep. From there a ditch with a level bottom leads "
    "on {length}, if the ground beyond the end, which was not measured, falls on as before it.",
    "bank": "The pipe ends {depth} deep, and the ground falls too little beyond the end to lead "
    "a short ditch out of that: there must be a bank, a ditch or a swale at least as deep.",
    "grade_change": "The grade changes once, at {at}, from {before} to {after}.",
    "deep": "Between {from_at} and {to_at} the trench is up to {depth} deep. Past {limit} it "
    "needs a protective system (29 CFR 1926.652): shoring, a shield or sloped sides.",
    "soil_test": "A dry well works only where the soil soaks the water away: test that first.",
    "pipe_too_small": "{pipe} is too small for this water: {serves} carries it.",
    "pipe_too_small_none": "{pipe} is too small for this water, and no pipe of the list carries "
    "it at this grade.",
    "water_at_house": "Water would come out at the {opening} before it leaves the outlet, "
    "{amount} short.",
    "inlet_backs_up": "Water would back up and come out at the {inlet} at {at}, {amount} short.",
}
