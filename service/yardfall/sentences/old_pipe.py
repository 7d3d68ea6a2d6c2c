"""What is said of a pipe that lies already."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "old_pipe.yes": "It drains by these readings: it falls all the way from {first} to {last}, "
    "{grade} overall.",
    "old_pipe.yes_one_flat": "It drains by these readings, but from {from_} to {to} it falls only "
    "{grade}, less than {least}.",
    "old_pipe.yes_more_flat": "It drains by these readings, but {count} stretches fall less than "
    "{least}.",
    "old_pipe.yes_one_level": "Nothing falls back by these readings, but from {from_} to {to} the "
    "pipe lies level, and water stays there.",
    "old_pipe.yes_more_level": "Nothing falls back by these readings, but {count} stretches lie "
    "level, and water stays there.",
    "old_pipe.no_one_belly": "Water stands {depth} deep at {at}, over {length} of pipe, held up at "
    "{held_by}.",
    "old_pipe.no_more_bellies": "Water stands in {count} places. It is deepest at {at}: {depth}, "
    "over {length} of pipe.",
    "old_pipe.close_one_belly": "Too close to call: a belly {depth} deep shows at {at}, but these "
    "readings can tell none shallower than {least_told}.",
    "old_pipe.close_more_bellies": "Too close to call: {count} bellies show, the deepest {depth}, "
    "but these readings can tell none shallower than {least_told}.",
    "old_pipe.belly": "Water stands {depth} deep at {at}, from {from_} to {to}: over "
    "{length} of pipe.",
    "old_pipe.belly_fills": "Water fills the pipe at {at}: it stands {depth} deep, from {from_} to "
    "{to}, over {length} of pipe.",
    "old_pipe.belly_within_error": "Perhaps a belly at {at}: {depth} deep from {from_} to {to}, "
    "less than the {least_told} that these readings can tell.",
    "old_pipe.falls": "From {from_} to {to} it falls {fall}: {grade}.",
    "old_pipe.falls_little": "From {from_} to {to} it falls {fall}: {grade}, less than {least}.",
    "old_pipe.level": "From {from_} to {to} it lies level.",
    "old_pipe.falls_back": "From {from_} to {to} it falls back: it rises {rise}.",
    "old_pipe.lift": "Lift {at} by {mark}.",
    "old_pipe.lower": "Lower {at} by {mark}.",
    "old_pipe.nothing_to_move": "Every stretch falls {least} or more: nothing needs to be moved.",
    "old_pipe.lift_one": "The least work that gives every stretch {least}: lift {at} by {mark}.",
    "old_pipe.lower_one": "The least work that gives every stretch {least}: lower {at} by {mark}.",
    "old_pipe.move_more": "The least work that gives every stretch {least} moves {count} points, "
    "the most of them {at} by {mark}.",
    "old_pipe.no_way": "With what cannot be moved, no lifting or lowering gives every stretch "
    "{least}.",
    "old_pipe.work_basis": "what a point moves times the length half way to each neighbour",
    "old_pipe.least_grade": "Least grade of this pipe",
    "old_pipe.least_grade_unknown": "Least grade of a pipe that is not known",
    "old_pipe.accuracy_reach": "How close each reading is: {instrument}, for every {reach} of "
    "pipe read",
    "old_pipe.datum_stated": "the elevations you gave",
    "old_pipe.datum_line": "the level line",
    "old_pipe.datum_instrument": "the instrument",
    "old_pipe.pipe_rises": "By these readings the pipe rises {rise} from the first point to the "
    "last. Are the stations counted downstream, and are these heights or depths?",
    "old_pipe.pipe_steep": "Between {from_} and {to} the pipe slopes by {grade}, steeper than "
    "pipes in yards lie. Are the readings and their units right?",
    "old_pipe.pipe_level": "From {from_} to {to} the pipe lies level: water stays in it, and what "
    "it carries settles there.",
    "old_pipe.accuracy_not_stated": "It is not said how well these points were read, so a belly "
    "may be no more than an error of the readings. State the accuracy to have that judged.",
    "old_pipe.caution_between": "Between the points the pipe is taken as straight, so a belly "
    "between two of them does not show. Read close together where it matters.",
    "old_pipe.caution_read_again": "Read the points of a belly again before you dig: a single slip "
    "of the tape looks just like one.",
    "old_pipe.caution_move": "An old pipe that is lifted or lowered may crack, and its joints may "
    "open. Bed it firmly where it is moved, and fill with sand or gravel, tamped.",
    "old_pipe.caution_sewer": "This is for rain and sump water alone. A sewer, or a pipe under a "
    "building or a street, is work for whom your town licenses.",
}
