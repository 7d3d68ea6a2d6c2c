"""What must be said beside an answer, by the code of the caution: this work can hurt someone."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "call_before_you_dig": "Call the utility marking service before digging, usually 2 to 3 "
    "working days ahead. Dig by hand 18 to 24 in (45 to 60 cm) either side of a mark. Private "
    "lines (irrigation, lighting, gas to a grill, septic) are usually not marked.",
    "local_rules": "This is a plan from your measurements, not a permit or a survey. Local codes, "
    "and a licensed professional where one is required, rule over it.",
    "cave_in": "A trench wall can fall without warning. Keep spoil at least 2 ft (0.6 m) back "
    "from the edge, and stay out where the wall cracks, bulges or drips.",
    "trench_bottom": "Lay no pipe on rock, mud or standing water: 3 in (75 mm) of tamped sand "
    "over rock, crushed stone in place of mud.",
    "way_out": "The trench reaches 4 ft (1.2 m) or more: keep a ladder or ramp within 25 ft (7.6 "
    "m) of anyone in it.",
    "protective_system": "The trench reaches 5 ft (1.5 m) or more: nobody goes in without sloped "
    "sides, shoring or a trench box.",
    "engineer": "The trench is deeper than 20 ft (6 m): a registered engineer must design its "
    "protection.",
    "foundation": "Do not dig below or close beside a foundation, and keep the pipe out of the "
    "loose fill along the wall. Ground should fall at least 6 in within 10 ft of the house.",
    "neighbours": "Let no water out where it runs onto a neighbor, over a sidewalk or into the "
    "sanitary sewer. Towns commonly ask 5 or 10 ft (1.5 or 3 m) from the lot line.",
    "septic": "Keep clear of septic tanks and fields and of wells; ask the health department how "
    "far.",
    "pump": "A sump pump needs a check valve, and its line an open relief where it meets the "
    "buried pipe, so that a frozen or blocked outlet does not stall it. Never lead it into a "
    "footing drain or the sanitary sewer.",
    "frost": "A drain that runs empty may lie above the frost; in this one water stands. Where the "
    "ground freezes that deep it freezes and shuts the pipe: keep an open relief at the house.",
    "haunching": "Much bears on this pipe. Lay it on an even bed, pack sand or gravel by hand "
    "under its haunches, up to half its height and in layers, and tamp before the trench is "
    "filled: a plastic pipe is only as strong as the soil at its sides.",
    "buoyancy": "An empty pipe in ground that stands under water floats up. Where the water at the "
    "outlet can rise over the pipe, or stands in the trench, keep the cover on, and fill and tamp "
    "the trench before it floods.",
    "grade_flattens": "The grade flattens downstream: silt that the steep reach carries drops "
    "where the flat one begins. Put a cleanout or a silt basin there.",
    "crossing": "The pipe passes something buried. Have it marked, expose it by hand before any "
    "machine comes near, and measure its true depth: the plan holds only for the depth you gave.",
    "outlet_daylight": "Cut the end to the slope, put stone where the water lands, and fit an "
    "animal guard that opens by hand. Keep the invert above any ditch water.",
    "outlet_pop_up": "Water below the lid stays in the pipe and can freeze: put a weep hole over "
    "stone at the elbow (slow in clay). Lids clog and get mown; the lid must lie below the lowest "
    "opening at the house.",
    "outlet_curb": "An outlet through the curb needs the town's permit. Measure the gutter line "
    "first, and use rigid pipe under the walk.",
    "outlet_dry_well": "A dry well is commonly kept 10 ft from buildings, 25 ft from septic, 50 "
    "ft from a well and 2 ft above the water table, and needs an overflow. Test the soil first.",
    "outlet_tie_in": "Tie in only to a storm drain you are allowed to use, never to the sanitary "
    "sewer.",
    "before_covering": "Cover nothing before it passes. Record where the pipe lies, and have it "
    "inspected where your town asks for it.",
    "over_dug": "Fill what was dug too deep with sand or gravel and tamp it; loose soil settles "
    "and leaves a low spot.",
    "between": "Between the points the pipe is taken as straight, so a belly between two of them "
    "does not show. Read close together where it matters.",
    "read_again": "Read the points of a belly again before you dig: a single slip of the tape "
    "looks just like one.",
    "move": "An old pipe that is lifted or lowered may crack, and its joints may open. Bed it "
    "firmly where it is moved, and fill with sand or gravel, tamped.",
    "sewer": "This is for rain and sump water alone. A sewer, or a pipe under a building or a "
    "street, is work for whom your town licenses.",
}
