"""Grades perhaps meant in another way than percent, and what a flat one risks."""

from __future__ import annotations

from typing import Final

TEXTS: Final = {
    "grade_in_inches": "A grade is taken in percent, and {stated} hardly falls at all. If "
    "{inches} in per ft was meant, give {meant} %.",
    "grade_as_share": "A grade is taken in percent, and {stated} hardly falls at all. If a fall "
    "of {share} per unit of length was meant, give {meant} %.",
    "lies_flat": "From {from_station_m} to {to_station_m} the pipe falls {grade}, less than the "
    "{least_grade} usual for this pipe. It carries less water, silt settles in it sooner, and it "
    "forgives less: where a joint of 10 ft (3 m) sticks settles by {settles_m}, water stands.",
    "grade_in_ratio": "A grade is taken in percent, and {stated} is steeper than a pipe in a yard "
    "lies. If 1 : {number} was meant, give {meant} %; if {number} mm per m, give {per_metre} %.",
}
