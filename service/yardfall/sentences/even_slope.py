"""What is said where the ground is known by its drop alone, or not at all, and what to measure."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "warning.even_slope_taken": "Nobody measured the ground between {from_station_m} and "
    "{to_station_m}: it is taken as one even slope, with {drop_m} of drop in all. Measure it where "
    "listed before you dig.",
    "warning.even_slopes_taken": "Between {from_station_m} and {to_station_m} the ground was "
    "measured at {station_m} alone: it is taken as an even slope to there and another from there, "
    "with {drop_m} of drop in all. Measure it where listed before you dig.",
    "warning.ground_not_known": "Only the pipe's two ends are known, not the ground above it. No "
    "depth or cover is told, and limits on them were not held. Measure the ground before you dig.",
    "chance.adds_up": "The chance that a line exists is {chance}, with {label}: the errors of the "
    "steps add up, and the whole fall is good to about {fall} (standard error).",
    "measure.rise_and_dip": "{station}: a rise of more than {rise}, or a dip of more than {dip}, "
    "would spoil it.",
    "measure.rise": "{station}: a rise of more than {rise} would spoil it.",
    "measure.dip": "{station}: a dip of more than {dip} would spoil it.",
    "measure.neither": "{station}: no rise or dip of up to {most} would spoil it.",
    "measure.no": "{station}: read the ground here; on an even slope the line does not fit.",
    "measure.not_known": "{station}: read the ground here, so that depth and cover can be told.",
    "measure.paper": "Measure the ground at {stations}.",
}
