"""What is said of a pipe that lies already."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "yes": "It drains by these readings: it falls all the way from {first} to {last}, "
    "{grade} overall.",
    "yes_one_flat": "It drains by these readings. From {from_} to {to} it is flat: it falls "
    "{grade}, where {least} is asked for. Look for silt there.",
    "yes_more_flat": "It drains by these readings. {count} stretches are flat: they fall less than "
    "the {least} asked for. Look for silt there.",
    "yes_one_level": "Nothing falls back by these readings, but from {from_} to {to} the "
    "pipe lies level, and water stays there.",
    "yes_more_level": "Nothing falls back by these readings, but {count} stretches lie "
    "level, and water stays there.",
    "no_one_belly": "Water stands {depth} deep at {at}, over {length} of pipe, held up at "
    "{held_by}.",
    "no_more_bellies": "Water stands in {count} places. It is deepest at {at}: {depth}, "
    "over {length} of pipe.",
    "close_one_belly": "Too close to call: a belly {depth} deep shows at {at}, but these "
    "readings can tell none shallower than {least_told}.",
    "close_more_bellies": "Too close to call: {count} bellies show, the deepest {depth}, "
    "but these readings can tell none shallower than {least_told}.",
    "belly": "Water stands {depth} deep at {at}, from {from_} to {to}: over {length} of pipe.",
    "belly_fills": "Water fills the pipe at {at}: it stands {depth} deep, from {from_} to "
    "{to}, over {length} of pipe.",
    "belly_within_error": "Perhaps a belly at {at}: {depth} deep from {from_} to {to}, "
    "less than the {least_told} that these readings can tell.",
    "falls": "From {from_} to {to} it falls {fall}: {grade}.",
    "falls_little": "From {from_} to {to} it falls {fall}: {grade}, less than {least}.",
    "level": "From {from_} to {to} it lies level.",
    "falls_back": "From {from_} to {to} it falls back: it rises {rise}.",
    "lift": "Lift {at} by {mark}.",
    "lower": "Lower {at} by {mark}.",
    "nothing_to_move": "Every stretch falls {least} or more: nothing needs to be moved.",
    "lift_one": "The least work that gives every stretch {least}: lift {at} by {mark}.",
    "lower_one": "The least work that gives every stretch {least}: lower {at} by {mark}.",
    "move_more": "The least work that gives every stretch {least} moves {count} points, "
    "the most of them {at} by {mark}.",
    "no_way": "With what cannot be moved, no lifting or lowering gives every stretch {least}.",
    "work_basis": "what a point moves times the length half way to each neighbor",
    "least_grade": "Minimum grade of this pipe",
    "least_grade_unknown": "Minimum grade of a pipe that is not known",
    "accuracy_reach": "How close each reading is: {instrument}, for every {reach} of pipe read",
    "datum_stated": "the elevations you gave",
    "datum_line": "the level line",
    "datum_instrument": "the instrument",
    "pipe_rises": "By these readings the pipe rises {rise} from the first point to the "
    "last. Are the stations counted downstream, and are these heights or depths?",
    "pipe_steep": "Between {from_} and {to} the pipe slopes by {grade}, steeper than "
    "pipes in yards lie. Are the readings and their units right?",
    "pipe_level": "From {from_} to {to} the pipe lies level: water stays in it, and what "
    "it carries settles there.",
    "accuracy_not_stated": "It is not said how well these points were read, so a belly "
    "may be no more than an error of the readings. State the accuracy to have that judged.",
}
