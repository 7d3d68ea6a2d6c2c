"""Grades that were perhaps meant in another way than percent."""

from __future__ import annotations

from typing import Final

TEXTS: Final = {
    "grade_in_inches": "A grade is taken in percent, and {stated} hardly falls at all. If "
    "{inches} in per ft was meant, give {meant} %.",
    "grade_as_share": "A grade is taken in percent, and {stated} hardly falls at all. If a fall "
    "of {share} per unit of length was meant, give {meant} %.",
    "grade_in_ratio": "A grade is taken in percent, and {stated} is steeper than a pipe in a yard "
    "lies. If 1 : {number} was meant, give {meant} %; if {number} mm per m, give {per_metre} %.",
}
