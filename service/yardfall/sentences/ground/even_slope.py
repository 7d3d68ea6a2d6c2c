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
    "chance.adds_up": "By these readings the chance "
    "that a pipe can be laid so that it drains is {chance}, with {label}: the errors of the "
    "steps add up, and the whole fall is good to about {fall} (standard error).",
    "measure.rise_and_dip": "{station}: a rise of more than {rise}, or a dip of more than {dip}, "
    "would spoil it.",
    "measure.rise": "{station}: a rise of more than {rise} would spoil it.",
    "measure.dip": "{station}: a dip of more than {dip} would spoil it.",
    "measure.neither": "{station}: no rise or dip of up to {most} would spoil it.",
    "measure.no": "{station}: read the ground here; on an even slope the line does not fit.",
    "measure.not_known": "{station}: read the ground here, so that depth and cover can be told.",
    "measure.paper": "Measure the ground at {stations}.",
    "pipe_drop.branches": "With the drop of the pipe alone the ground is not known, so no branch "
    "can be planned. Give the drop of the ground instead.",
    "pipe_drop.crossings": "With the drop of the pipe alone the ground is not known, and what is "
    "crossed is told by its depth below it. Give the drop of the ground instead.",
    "pipe_drop.fills": "With the drop of the pipe alone the ground is not known, so there is none "
    "to lay soil on. Give the drop of the ground instead.",
    "pipe_drop.accuracy": "With the drop of the pipe alone there is no accuracy of the ground to "
    "take. Leave this out.",
    "pipe_drop.dry_well": "With the drop of the pipe alone the pipe ends in another drain. Leave "
    "the dry well out.",
    "pipe_drop.hump": "With the drop of the pipe alone the ground is not known, so it has no hump. "
    "Leave this out, or give the drop of the ground.",
    "pipe_drop.start": "With the drop of the pipe alone the ground is not known, so the start has "
    "no cover or depth. Give its invert, from any level that you take as 0.",
    "pipe_drop.shallowest_cover": "With the drop of the pipe alone the ground is not known, so "
    "there is no cover. Leave this out.",
    "pipe_drop.outlet_kind": "The drop of the pipe goes down to a drain that it ties into. Give "
    "tie_in, or the drop of the ground.",
    "pipe_drop.outlet": "The invert at the start and the drop of the pipe give this already. Leave "
    "it out.",
    "pipe_drop.shape": "With the drop of the pipe alone the ground is not known, so no line can be "
    "found that digs least. Give straight.",
    "pipe_drop.profile": "This is the drop of the pipe and tells nothing of the ground. Give the "
    "drop of the ground.",
    "pipe_drop.paper": "With the drop of the pipe alone there are no depths to dig by, so no paper "
    "can be made. Measure the ground first.",
    "pipe_drop.check": "With the drop of the pipe alone there are no depths to check. Measure the "
    "ground first.",
    "pipe_drop.compare": "With the drop of the pipe alone there is nothing to compare its digging "
    "by. Measure the ground first.",
}
