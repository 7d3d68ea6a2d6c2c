"""What a careful surveyor would look at again, by the code of the warning."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "tape_disagrees": "The line is drawn {drawn_m} long but taped {tape_m}. The tape rules; check "
    "the drawing's scale or the tape.",
    "does_not_close": "The levels miss their closing point by {misclosure_m}; a sound run of this "
    "length misses by {limit_m} at most. Level it again before you dig by it.",
    "ends_on_unknown": "The notes end on '{on}', which is no known point here, so nothing shows "
    "whether they close; did you mean '{meant}'?",
    "not_closed": "The notes do not end on a known point, so nothing shows whether they close: a "
    "slip in them would not be seen. End them with a foresight back on '{benchmark}'.",
    "lines_disagree": "Line {line} ties to the others at more than one station, and the ties "
    "differ by {gap_m} from their mean. Read those stations again.",
    "beyond_the_route": "There are ground readings out to {at_m}, beyond the end of the route; "
    "the pipe is planned to the end of the route only.",
    "runs_uphill": "By these readings the ground rises {rise_m} toward the outlet. A bigger "
    "reading is lower ground: check that they were not taken as heights, and that the route runs "
    "from the house to the outlet.",
    "string_sags": "A string over {span_m} sags about {sag_m} at mid-span, pulled hard: the "
    "reading comes out too small there, and the trench too deep. Support it every 20 to 25 ft "
    "(6 to 8 m) or string it anew.",
    "reading_jumps": "The reading at {station_m} is {jump_m} off its neighbors. Read it again, "
    "unless there is a step in the ground.",
    "reading_jumps_feet_for_inches": "The reading at {station_m}, {typed_m}, is {jump_m} off its "
    "neighbors. If feet were typed where inches are asked, it would be {meant_m}.",
    "reading_jumps_inches_for_feet": "The reading at {station_m}, {typed_m}, is {jump_m} off its "
    "neighbors. If inches were typed where feet are asked, it would be {meant_m}.",
    "reading_jumps_inches_for_tenths": "The reading at {station_m}, {typed_m}, is {jump_m} off "
    "its neighbors. If inches were typed as tenths of a foot (6.9 for 6 ft 9 in), it would be "
    "{meant_m}.",
    "reading_above_raster": "The reading at {station_m} puts the ground {off_m} higher than the "
    "raster and the other readings do, which is more than their errors allow. Read it again; if it "
    "stands, the ground has changed there since the raster was made: read it on both sides too.",
    "reading_below_raster": "The reading at {station_m} puts the ground {off_m} lower than the "
    "raster and the other readings do, which is more than their errors allow. Read it again; if it "
    "stands, the ground has changed there since the raster was made: read it on both sides too.",
    "two_readings_off_raster": "Between {from_station_m} and {to_station_m} the drop by hand and "
    "that of the raster differ by {off_m}, which is more than their errors allow. Read both "
    "stations again, and one between: the readings hold a slip, or the ground has changed since "
    "the raster was made.",
    "head_short": "Water would come out at the {opening} before it leaves the outlet: it is "
    "{short_m} short of head.",
    "water_near_opening": "The {opening} lies {short_m} too low over the water that enters the "
    "pipe, with the margin to be kept.",
    "inlet_drowned": "Water backs up and comes out at {station_m} ({inlet}): when everything runs "
    "at once it stands {short_m} above the opening there.",
    "opening_too_low": "The opening at {station_m} ({inlet}) lies {short_m} too low: even with "
    "nothing running, water stands above it and comes out there.",
    "rain_hides_bursts": "The rain rate is stated over an hour or more. Five-minute bursts within "
    "such rain run about three times as hard (NOAA Atlas 14), and roof drains are designed for "
    "the 10-year 5-minute rate (NRCS Conservation Practice Standard 558).",
    "well_never_empties": "The soaking rate is 0: the soil takes no water, and a dry well in it is "
    "no outlet.",
    "well_empties_late": "The dry well is not half empty within 24 hours, as it should be for the "
    "next storm (BRE Digest 365).",
    "one_storm_tried": "The dry well was sized for one storm alone. A shorter, harder one or a "
    "longer one may ask for a larger pit: give the rain of other durations too, from 15 minutes "
    "to 24 hours (BRE Digest 365).",
    "over_capacity": "More water comes than the pipe carries full: it backs up to the inlets.",
    "not_self_cleaning": "At this grade the water is too slow to keep silt moving (1.4 ft/s or "
    "0.43 m/s at full bore, University of Minnesota Extension, from memory). Plan on flushing it.",
    "starts_too_near": "The start lies closer to something to avoid than its clearance. Around the "
    "start only the area itself is shut, so that the pipe can get away from it.",
    "not_laid": "On so large a lot no line was laid to each place. The map tells where the pipe "
    "comes out with as many changes of grade as that takes. Give a smaller lot line in within, or "
    "ask for the places that matter, to have lines laid.",
    "no_lot_line": "No lot line was given, so the search may cross it. Give one in within.",
    "greatest_grade_on_routes": "The map leaves the maximum grade out; each route's plan has it.",
    "not_all_tried": "There was no time to try everything that could mend this. Ask with fewer "
    "readings, stations or changes of grade to have it all tried.",
    "ditch_leads_out": "The pipe ends {depth} deep: a ditch with a level bottom leads on from "
    "there, about {length} long.",
    "slopes_rise": "Every slope given rises toward the outlet. Where the ground falls, give its "
    "slope with a minus.",
    "ground_steep": "By these numbers the ground changes by {grade} of the route's length; no "
    "yard is dug by hand where it is so steep. Are the units right, of the readings and of the "
    "distances?",
    "ground_steep_between": "Between {from_station_m} and {to_station_m} the ground changes by "
    "{grade}. Unless a wall or a step stands there: are the units of these readings right?",
    "pipe_size_unlikely": "This pipe is {across_m} across; pipes in yards are from 1 in (25 mm) to "
    "24 in (610 mm). Are the units right?",
    "grade_steep": "The pipe would fall by {grade}; hardly any pipe in a yard lies so steep. Are "
    "the units right? If they are, move what forces it down so steeply, or take the fall in a box.",
    "anchors": "From {from_station_m} to {to_station_m} the pipe falls by {grade}: anchor it there "
    "at least every {apart_m}, or it creeps downhill (Ten States Standards, 33.46).",
    "fast": "The water runs at {speed_m_s} at its fastest. Past {fast_m_s} it wears the pipe and "
    "scours the ground at the outlet: put stone where it lands (Lakeside, Texas, code 3.3.8).",
    "fast_if_full": "Running full, the pipe's water reaches {speed_m_s}. Past {fast_m_s} it wears "
    "the pipe and scours the ground at the outlet: put stone where it lands (Lakeside, Texas, code "
    "3.3.8).",
    "very_fast": "The water runs at {speed_m_s} at its fastest. Past {very_fast_m_s} the pipe must "
    "be held against the water's push and wear: anchored bends and joints, and an outlet that "
    "breaks its force (Ten States Standards, 33.45).",
    "very_fast_if_full": "Running full, the pipe's water reaches {speed_m_s}. Past {very_fast_m_s} "
    "the pipe must be held against the water's push and wear: anchored bends and joints, and an "
    "outlet that breaks its force (Ten States Standards, 33.45).",
    "thin_under_wheels": "Cars pass over the {what}, and from {from_station_m} to {to_station_m} "
    "as little as {least_m} of soil lies over the pipe there; under wheels it is usually {usual_m} "
    "at the least (Napa County code 13.36.070). Deepen it, or use pipe and bedding that the pipe's "
    "maker rates for so little.",
    "lies_level": "From {from_station_m} to {to_station_m} the pipe lies level. Water stands in a "
    "level pipe, and what it carries settles there: give it {least_grade} at least.",
    "plan_does_not_fit": "This plan does not fit the ground by its own limits; a trench dug by it "
    "will not drain as asked. Settle the plan first.",
    "far_off_the_plan": "The reading at {station_m} is {off_m} off the plan. Read it again, and "
    "check the station and the units, before anything is dug or filled.",
    "depth_from_unread_ground": "At {station_m} the depth is taken from ground that nobody read by "
    "hand there, so that it cannot show the grade. Measure from a level line or an instrument.",
    "fall_step_left_out": "The whole fall could not be rounded up to {fall_m} without breaking a "
    "limit; the exact grade is kept.",
}
