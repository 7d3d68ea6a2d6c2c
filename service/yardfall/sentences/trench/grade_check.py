"""A trench as it was dug, against its plan."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    # The answer.
    "no_plan": "This plan does not fit its ground: settle it before you go on.",
    "none_read": "No readings yet.",
    "none_read_next": "No readings yet; next read {next}.",
    "pass_one": "Pass: 1 reading lies within {tolerance} of the plan, and everything falls from "
    "{first} to {last}.",
    "pass": "Pass: {count} readings lie within {tolerance} of the plan, and everything falls from "
    "{first} to {last}.",
    "pass_level": "Pass: {count} readings lie within {tolerance} of the plan, and nothing falls "
    "back from {first} to {last}; but it lies level {where}, and water stands there.",
    "pass_near": "Pass: {count} readings lie within {tolerance} of the plan, and everything falls "
    "from {first} to {last}; some of it reads a little flatter than the minimum grade, and no "
    "marks of the tape come nearer.",
    "read_again": "Was {where} read right? What lies beside it is within the tolerance, and "
    "digging seldom leaves such a step: read it again before you shave or fill.",
    "read_again_more": "Were these read right: {where}? What lies beside them is within the "
    "tolerance, and digging seldom leaves such a step: read them again before you shave or fill.",
    "again_high_one": "{label} reads {off} high, and {first} next to it lies within the "
    "tolerance: was it read right? Read it again before you shave.",
    "again_high_both": "{label} reads {off} high, and {first} and {other} on either side lie "
    "within the tolerance: was it read right? Read it again before you shave.",
    "again_low_one": "{label} reads {off} low, and {first} next to it lies within the "
    "tolerance: was it read right? Read it again before you fill.",
    "again_low_both": "{label} reads {off} low, and {first} and {other} on either side lie "
    "within the tolerance: was it read right? Read it again before you fill.",
    "level_from": "from {from_} to {to}",
    "level_and_from": "{before} and from {from_} to {to}",
    "so_far_one_one": "Good so far: 1 reading lies within {tolerance} of the plan; 1 station is "
    "still to be read; next read {next}.",
    "so_far_one_more": "Good so far: 1 reading lies within {tolerance} of the plan; {left} "
    "stations are still to be read; next read {next}.",
    "so_far_more_one": "Good so far: {count} readings lie within {tolerance} of the plan; 1 "
    "station is still to be read; next read {next}.",
    "so_far_more_more": "Good so far: {count} readings lie within {tolerance} of the plan; {left} "
    "stations are still to be read; next read {next}.",
    "so_far_one_one_pipe": "Good so far: 1 reading lies within {tolerance} of the plan; 1 station "
    "is still to be read on the pipe; next read {next}.",
    "so_far_one_more_pipe": "Good so far: 1 reading lies within {tolerance} of the plan; {left} "
    "stations are still to be read on the pipe; next read {next}.",
    "so_far_more_one_pipe": "Good so far: {count} readings lie within {tolerance} of the plan; 1 "
    "station is still to be read on the pipe; next read {next}.",
    "so_far_more_more_pipe": "Good so far: {count} readings lie within {tolerance} of the plan; "
    "{left} stations are still to be read on the pipe; next read {next}.",
    "not_yet": "Not yet: {work}.",
    "not_yet_more": "Not yet: {work} and {count} more.",
    "work.shave": "shave {mark} at {label}",
    "work.fill": "fill {mark} at {label}",
    "work.lower": "lower {mark} at {label}",
    "work.raise": "raise {mark} at {label}",
    # A station.
    "station_within_nothing": "{label} is good.",
    "station_within_shave": "{label} is within tolerance, but with its neighbors it fails: shave "
    "{mark}.",
    "station_within_fill": "{label} is within tolerance, but with its neighbors it fails: fill "
    "{mark}.",
    "station_within_lower": "{label} is within tolerance, but with its neighbors it fails: lower "
    "the pipe {mark}.",
    "station_within_raise": "{label} is within tolerance, but with its neighbors it fails: raise "
    "the pipe {mark}.",
    "station_high_nothing": "{label} is {off} high.",
    "station_high_shave": "{label} is {off} high: shave {mark}.",
    "station_high_fill": "{label} is {off} high: fill {mark}.",
    "station_high_lower": "{label} is {off} high: lower the pipe {mark}.",
    "station_high_raise": "{label} is {off} high: raise the pipe {mark}.",
    "station_low_nothing": "{label} is {off} low.",
    "station_low_shave": "{label} is {off} low: shave {mark}.",
    "station_low_fill": "{label} is {off} low: fill {mark}.",
    "station_low_lower": "{label} is {off} low: lower the pipe {mark}.",
    "station_low_raise": "{label} is {off} low: raise the pipe {mark}.",
    # What should be read next.
    "string_to.trench_bottom": "{label}: {measure} from the string to the trench bottom.",
    "rod_on.trench_bottom": "{label}: the rod on the trench bottom should read {measure}.",
    "ground_to.trench_bottom": "{label}: {measure} from the ground to the trench bottom.",
    "above_ground.trench_bottom": "{label}: the trench bottom should lie {measure} above the "
    "ground.",
    "string_to.pipe_top": "{label}: {measure} from the string to the top of the pipe.",
    "rod_on.pipe_top": "{label}: the rod on the top of the pipe should read {measure}.",
    "ground_to.pipe_top": "{label}: {measure} from the ground to the top of the pipe.",
    "above_ground.pipe_top": "{label}: the top of the pipe should lie {measure} above the ground.",
    "string_to.invert": "{label}: {measure} from the string to the inside bottom of the pipe.",
    "rod_on.invert": "{label}: the rod on the inside bottom of the pipe should read {measure}.",
    "ground_to.invert": "{label}: {measure} from the ground to the inside bottom of the pipe.",
    "above_ground.invert": "{label}: the inside bottom of the pipe should lie {measure} above the "
    "ground.",
    # Water, the line as it lies, the work.
    "pond": "Water would stand {depth} deep at {at} and {length} along the pipe, held up at "
    "{held_by}.",
    "pond_fills": "Water would stand {depth} deep at {at} and {length} along the pipe, held up at "
    "{held_by}: it fills the pipe.",
    "lies_within_limits": "Off its line, but as it lies the pipe would still keep the plan's "
    "grade, cover, depth and outlet, give or take the tolerance.",
    "no_regrading": "No digging or filling at these stations alone keeps the plan's limits.",
    "regrade": "It does not keep the plan's limits as it lies: re-grade at {where}.",
    "regrade_more": "It does not keep the plan's limits as it lies: re-grade at {where} and "
    "{count} more.",
    "work_basis": "width of the trench times the length half way to each neighboring reading",
}
