"""What the papers for the crew say of their own."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    # The head of the sheet, and of each line.
    "sign.yes": "YES",
    "sign.conditional": "YES, ON CONDITIONS",
    "sign.no": "DO NOT DIG FROM THIS SHEET",
    "sign.too_close": "MEASURE AGAIN BEFORE DIGGING",
    "pipe": "{pipe}, {outside} outside. Run {length}. Trench {width} wide. Dig depths go to the "
    "trench bottom.",
    "pipe_in_wide_trench": "{pipe}, {outside} outside. Run {length}. Trench {width} wide, and up "
    "to {widest} where it is deep, to work in. Dig depths go to the trench bottom.",
    "joins": "Joins at {at}, {drop} above that pipe's invert.",
    "joins_too_low": "At {at}, where it should join, it lies {drop} below that pipe's invert.",
    "running": "{job}: stations from the inlet to the end",
    "running_of_line": "{job}, {line}: stations from the inlet to the end",
    "raster": "The ground comes from an elevation raster. Check the start, the outlet and the "
    "high and low places with a string before you dig.",
    "raster_taken_for": "The ground comes from an elevation raster whose heights are good to about "
    "{error} against one another, two times in three: what is usual of aerial lidar, since the "
    "plan gives no accuracy. Check the start, the outlet and the high and low places with a string "
    "before you dig.",
    "raster_good_to": "The ground comes from an elevation raster whose heights are good to about "
    "{error}, two times in three. Check the start, the outlet and the high and low places with a "
    "string before you dig.",
    "opens": "Revision {revision}. Scan the square to check the trench against it.",
    # Staking out.
    "plan_scale": "Plan, {scale}, {up} up",
    "plan_said": "Letters: corners to tape from. Hatched: keep out. Long and short dashes: the lot "
    "line. Cross: something crossed, dug by hand there.",
    "beyond": "Beyond this plan: {names}.",
    "ties": "Corners to tape from: {corners}. Hold one tape on each letter, level; where the two "
    "distances meet, on the side that the plan shows, the stake goes in.",
    "corner_letters": "{name} {letters}",
    "ties_from_stakes": "Where a station stands in place of a letter, tape from its stake, once it "
    "is in.",
    "ties_none": "Where there is no distance, no two corners can be taped from: the tape would go "
    "through a wall, be longer than {most}, or cross the other too flat.",
    "no_corners": "No corners to tape from were given: name the house, or two points that stand "
    "still, and each station gets two tape distances.",
    "tag_dig": "Dig {mark}",
    "tag_rod": "Rod on bottom {mark}",
    "tag_string": "String to bottom {mark}",
    "tags": "Tags for the stakes: cut along the lines",
    # The grade.
    "falls": "falls {amount}",
    "rises": "RISES {amount}",
    "laser_high": "Set to {dial} % the laser comes out {off} high at {at}; check by the tape "
    "marks there.",
    "laser_low": "Set to {dial} % the laser comes out {off} low at {at}; check by the tape marks "
    "there.",
    # The end, with the depth, the cover and the level there.
    "end.daylight": "Daylight: the open end of the pipe at the surface, at {at}.",
    "end.pop_up": "Pop-up: an elbow up to a lid that the water lifts, at {at}.",
    "end.curb": "Through the curb, at {at}.",
    "end.dry_well": "Dry well, at {at}.",
    "end.tie_in": "Tie-in to another line, at {at}.",
    "stays_wet": "The last {length} stay wet after rain: about {volume}.",
    "end_levels": "Trench bottom {deep}, {cover}, invert {level}.",
    "deep": "{amount} deep",
    "deep_above": "{amount} above the ground",
    "cover": "{amount} of cover over the pipe",
    "cover_above": "the pipe stands {amount} out of the ground",
    "level": "elevation {elevation} {unit} ({datum})",
    "level_below_string": "{amount} below the string",
    "level_above_string": "{amount} above the string",
    "level_below_named": "{amount} below string {name}",
    "level_above_named": "{amount} above string {name}",
    # Crossings, what to keep out of, and the lot.
    "passes.over": "over it, {clearance} clear",
    "passes.under": "under it, {clearance} clear",
    "top.given": "{depth}",
    "top.measured": "{depth}, exposed and measured",
    "fills": "Dig by the table: its depths count from the ground as it lies, not from this soil. "
    "Until it is laid the pipe has too little over it. Keep it below the siding, sloping away from "
    "the house.",
    "hand_dig": "Hand-dig zones reach {reach} either side of something crossed square; further "
    "where it is crossed at a slant or the marks say so. Expose it and measure its true depth "
    "first.",
    "runs_through": "Runs through what it must keep out of: {name}, {where}. Move the line or the "
    "outline, or add it as a crossing if a pipe may pass it.",
    "runs_through_of_line": "{line}: runs through what it must keep out of: {name}, {where}. Move "
    "the line or the outline, or add it as a crossing if a pipe may pass it.",
    "crossed": "{name}, {where}: taken for the crossing stated at {at} ({what}).",
    "crossed_of_line": "{line}: {name}, {where}: taken for the crossing stated at {at} ({what}).",
    "leaves_lot": "Leaves the lot: {where}.",
    "leaves_lot_of_line": "{line}: leaves the lot: {where}.",
    "stay_away": "{name}; stay {clearance} away from it",
    "stretch": "{from_} to {to}",
    # The stations.
    "string": "String: the level string, or the laser plane, that the readings were taken from. "
    "From it, measure down to the trench bottom; this check rules over depths from the ground.",
    "rod": "Rod readings hold for the instrument's height in the level book; set up anew, a "
    "reading is the new height less the trench bottom's elevation.",
    "between": "≈ between readings.",
    "strings": "In brackets, the string a reading counts from: {strings}.",
    "string_first": "{name} (read {from_} to {to})",
    "string_lower": "{name} (read {from_} to {to}), {amount} lower than {first}",
    "string_higher": "{name} (read {from_} to {to}), {amount} higher than {first}",
    "levels": "In brackets, what a reading counts from: {levels}.",
    "only_level": "{levels}.",
    "level_at": "{name} is at {elevation} {unit} (read {from_} to {to})",
    # Drawings, map and layers.
    "sketch": "Plan sketch, {scale}, {up} is up",
    "profile": "Profile of {line}: ground, pipe and trench bottom",
    "profile_inches": "Depths in inches. Double line: pipe. Dashes: trench bottom. Heights × "
    "{stretch}.",
    "profile_mm": "Depths in mm. Double line: pipe. Dashes: trench bottom. Heights × {stretch}.",
    "profile_water": "Thin line: highest water from the outlet.",
    "profile_thin_cover": "Slants over the pipe: thin cover.",
    "no_sketch": "No plan sketch: this run was taped, not drawn on a map.",
    "no_glyph": "A question mark in a name may stand for a letter that this file's typeface has "
    "not got; the sheet as a web page (dig-sheet.html) shows them all.",
    "lot_line": "The line of long and short dashes is the lot line.",
    "hatched": "Hatched, with a broken edge: keep out.",
    "clearance_ring": "The dotted ring around it: how far to stay away.",
    "map": "{up} is up. Labels: station and depth to dig; tap a ring for its own.",
    "not_placed": "GeoJSON (RFC 7946) knows only longitude and latitude on WGS 84. This plan's "
    "position on the earth is not known, so the features carry no geometry; x and y of a site "
    "plan stand among the properties, and plan.gpkg draws them.",
    "gone.raster": "The elevation raster of this plan is not kept any more, so no relief lies "
    "beneath.",
    "gone.site_plan": "The site plan that this was drawn on is not kept any more, so it is not "
    "shown.",
}
