"""What the numbers of the contract mean where their name alone does not say it.

By schema and field, and by field wherever it stands; a schema also takes what is said of those it
is made from. {distance}, {depth}, {area}, {flow}, {volume} and {velocity} stand for the units.
"""

from __future__ import annotations

from typing import Final

from yardfall.web.openapi.words.check_descriptions import CHECK_FIELDS
from yardfall.web.openapi.words.field_words import ANSWER_WORDS, REQUEST_WORDS
from yardfall.web.openapi.words.fill_descriptions import FILL_FIELDS
from yardfall.web.openapi.words.ground_descriptions import GROUND_FIELDS
from yardfall.web.openapi.words.kept_words import (
    CHECK_WORDS,
    REACH_WORDS,
    SERVICE_WORDS,
    UPLOAD_WORDS,
)
from yardfall.web.openapi.words.reach_descriptions import REACH_FIELDS
from yardfall.web.openapi.words.upload_descriptions import UPLOAD_FIELDS
from yardfall.web.openapi.words.water_descriptions import WATER_FIELDS

ANYWHERE: Final = {
    "chance": "0 to 1: the share of draws of the true ground, given what was read of it, in which "
    "it works.",
    "coordinates": "Each point [x, y] in the `crs`, from the inlet to the outlet for a line.",
    "coefficient": "The share of the rain that runs off, 0 to 1.",
    "cost": "In `currency`.",
    "cover": "Soil over the outside top of the pipe; negative: the pipe stands out of the ground; "
    "{depth}.",
    "duration": "Minutes.",
    "height": "Elevation of the line strung anew, or of the instrument set up anew; {distance}.",
    "move": "Positive: to lift; negative: to lower; {depth}.",
    "n": "Manning's n, the pipe's roughness; no unit.",
    "point": "[x, y] in the `crs`.",
    "pumped_alone": "What the pumps bring; {flow}.",
    "rain_alone": "What the rain brings; {flow}.",
    "rod": "The rod's reading, in `rod_unit`.",
    "share_of_capacity": "`flow` by `capacity_full`; 1 is full, over 1 too much.",
    "spare": "Fall to spare: the least margin over every pair of points, for one straight grade "
    "with the point that forces it down on its way; negative: so much is missing; {depth}.",
    "spare_after": "Fall to spare after the change; {depth}.",
    "capacity_full": "What the pipe carries when full, by this n. A sentence tells "
    "`cautious_capacity`; {flow}.",
    "x": "In the route's `crs`, not in `units`; null for a taped run.",
    "y": "In the route's `crs`, not in `units`; null for a taped run.",
}
_OUTLET = (
    "In `depth`: from the ground at the end down to the trench bottom, that is the outside bottom "
    "of the pipe and the bedding below it, {depth}. In `invert`: an elevation, {distance}. "
)
_MEASURES: Final[dict[str, dict[str, str]]] = {
    **GROUND_FIELDS,
    **WATER_FIELDS,
    **CHECK_FIELDS,
    **FILL_FIELDS,
    **REACH_FIELDS,
    "StartByDepth": {"depth": "Ground to trench bottom at station 0; {depth}."},
    "StartByInvert": {"invert": "Elevation of the inside bottom at station 0; {distance}."},
    "StartBody": {
        "shallowest_cover": "How far the start may be raised if that settles it; {depth}."
    },
    "GradeBody": {
        "fall_step": "A straight run's whole fall is rounded up to a multiple of this; {depth}."
    },
    "LimitsBody": {
        "min_cover": "Least soil over the outside top of the pipe; {depth}.",
        "max_depth": "Most from the ground to the trench bottom; {depth}.",
        "outlet_taper": "The last length before the outlet, where min_cover need not hold; "
        "{distance}.",
        "run_out_cover": "Soil kept over the pipe on that length, up to the last 10 ft (3 m); "
        "{depth}. Left out: none where outlet_taper is stated.",
        "run_in": "The first length, where the cover may be as little as run_in_cover; {distance}.",
        "run_in_cover": "Least soil over the pipe on the run-in; {depth}.",
        "bedding": "Below the pipe, as part of the trench's depth; {depth}.",
    },
    "Range": {
        "min": _OUTLET + "Not less than this.",
        "max": _OUTLET + "Not more than this.",
        "prefer": _OUTLET + "What `aim: outlet_depth` steers for, from min to max.",
    },
    "CoverBody": {
        "from": "Station where it begins; {distance}.",
        "to": "Station where it ends; {distance}.",
        "cover": "Least soil over the outside top of the pipe there, never eased; {depth}.",
    },
    "WaterByElevation": {"elevation": "On the ground's datum; {distance}."},
    "WaterByDepth": {"depth": "From the ground where the pipe ends down to the water; {depth}."},
    "CrossingBody": {
        "top_depth": "From the ground down to the top of what is buried there; {depth}.",
        "size": "Its height; {depth}.",
        "clearance": "To keep between it and the outside of the pipe; {depth}.",
    },
    "BySigma": {
        "sigma": "Standard error of one value of the ground; {depth}.",
        "common": "The part that shifts all values alike; {depth}.",
    },
    "BySigmaOnLawn": {
        "sigma": "Standard error of one value of the ground, of a raster's cell with what the "
        "cells around it share; {depth}.",
        "common": "The part that shifts all values alike; {depth}.",
    },
    "HeadBody": {
        "flow": "The design flow; left out, all inflows together; {flow}.",
        "margin": "To keep between the water and the lowest opening; {depth}.",
    },
    "BranchBody": {
        "drop": "How much higher its invert comes in than that of the line it joins; left out, "
        "crown to crown; {depth}."
    },
    "DrawnRoute": {
        "tape_length": "The route by tape, which beats its drawn length and stretches it evenly; "
        "{distance}."
    },
    "StationsBody": {"every": "Spacing; {distance}."},
    "ReachBody": {"ask": "Points [x, y] in the `crs` to be told about."},
    "RainBody": {
        "area": "In plan, as seen from above; {area}.",
    },
    "RoofBody": {
        "wall_area": "The whole face of one wall above that drains on to the roof; half of it is "
        "counted; {area}."
    },
    "SupplyBody": {
        "waste_percent": "Pipe bought beyond what is laid; percent.",
        "swell_percent": "By how much loose soil takes more room than in the bank; percent.",
        "by_hand": "Pace, not a time: length of trench that one person digs an hour; {distance} "
        "an hour.",
        "by_machine": "Pace, not a time: length of trench that one machine digs an hour; "
        "{distance} an hour.",
        "depth_classes": "Depths at which the trench's volume is parted, growing; {depth}.",
    },
    "PricesBody": {
        "pipe_piece": "For one coil or stick.",
        "bedding": "For one {volume} of bedding in place.",
        "haul": "For one {volume} of loose soil hauled off.",
        "fill": "For one {volume} of loose soil brought to be laid.",
        "sod": "For one {area}.",
        "hour_by_hand": "For one hour of one person.",
        "hour_by_machine": "For one hour of the machine.",
    },
    "ByDepth": {
        "width": "Of its widest part; {depth}.",
        "from": "Depth of trench; {depth}.",
        "to": "Depth of trench; null: no bound; {depth}.",
        "volume": "Dug between these depths, bank measure; {volume}.",
    },
    "TrenchQuantity": {
        "bank": "What is dug, as it lies in the ground; {volume}.",
        "loose": "The same once dug, swollen; {volume}.",
    },
    "SodQuantity": {"area": "To lift and lay again: the trench's width along its length; {area}."},
    "BeddingQuantity": {"volume": "In place; {volume}."},
    "SpoilQuantity": {
        "backfill": "What goes back, bank measure; {volume}.",
        "haul": "What is left over, loose; {volume}.",
    },
    "PipeQuantity": {
        "laid": "Along the slope; {distance}.",
        "to_buy": "Whole pieces; {distance}.",
        "waste_percent": "Bought beyond what is laid, as asked; percent.",
    },
    "HoursQuantity": {
        "by_hand": "A time, not a pace: hours of one person.",
        "by_machine": "A time, not a pace: hours of one machine.",
    },
    "CostLineAnswer": {
        "quantity": "In `unit`.",
        "price": "For one of `unit`, in the cost's `currency`.",
        "amount": "`quantity` times `price`, in the cost's `currency`.",
    },
    "CostAnswer": {"total": "In `currency`."},
    "PipeAnswer": {
        "nominal": "The size in the trade's name; inches, whatever the units.",
        "n_range": "Least and greatest published Manning's n.",
        "n_other": "Manning's n of another published source.",
    },
    "StationAnswer": {
        "fill": "Soil to be laid on the ground there: `cover` counts it, `dig_depth` does not; "
        "{depth}.",
        "line_to_bottom": "From the level line down to the trench bottom; {depth}.",
        "rod_at_bottom": "What the rod should read on the trench bottom, in `rod_unit`.",
        "grade_percent": "From here on, downstream; percent.",
    },
    "ProfileLine": {
        "bottom": "Elevation of the trench bottom; {distance}.",
        "finished": "Elevation of the ground with the soil to be laid; empty where none is; "
        "{distance}.",
        "top": "Elevation of the outside top of the pipe; {distance}.",
    },
    "CoverAnswer": {
        "from": "Station where it begins; {distance}.",
        "to": "Station where it ends, on the line; {distance}.",
        "cover": "Least soil asked for over the pipe; {depth}.",
        "least": "Soil over the pipe where it is thinnest there; {depth}.",
    },
    "StartAnswer": {"raised_by": "How much higher than asked the start lies; {depth}."},
    "FixAnswer": {
        "at": "Station of the crossing that is passed the other way, or that an earlier end no "
        "longer passes; {distance}.",
        "trench_area": "The trench seen from the side: its depth along the route. Fixes stand in "
        "the order a contractor tries them, by this within each kind; {area}.",
    },
    "RetakeAnswer": {
        "share": "How much of the variance of the spare goes if this reading alone is certain, 0 "
        "to 1. Shares overlap: they may add up to more than 1.",
        "chance_if_certain": "0 to 1: the chance, were this reading free of error.",
    },
    "MarksFit": {
        "step": "What the tape marks are rounded to; {depth}.",
        "worst_departure": "{depth}.",
        "worst_percent": "Flattest grade between two marks; percent.",
        "least_percent": "The minimum grade that the marks keep; percent.",
    },
    "AssumptionAnswer": {"value": "In `unit`."},
    "Trench": {
        "width": "Of the slot for the pipe; {depth}.",
        "volume": "Of the slot alone, what `grade_changes` compares; {volume}.",
        "dug_width": "Where it is dug widest; {depth}.",
        "dug_volume": "What is dug, the same as `quantities.trench.bank`; {volume}.",
    },
    "GradeChanges": {
        "volume": "Of the slot for the pipe then, bank measure; {volume}.",
        "gap": "As that of `least_dig`.",
    },
    "LeastDig": {
        "gap": "0 to 1: how much less any line with as many changes of grade could dig, at the "
        "most, as a share of what this one digs. 0: it is proven to dig least."
    },
    "HeadAnswer": {
        "opening_level": "Elevation; {distance}.",
        "outlet_level": "Elevation of the water at the outlet; {distance}.",
        "water_level": "Elevation of the water at the opening: what backs up from the outlet, or "
        "what stands where water enters the pipe, if that is higher; {distance}.",
        "friction": "Height lost in the pipe; {depth}.",
        "margin": "{depth}.",
    },
    "PlanAnswer": {"slope_length": "Of the pipe along its slope; {distance}."},
    "WholePinch": {"raise_branch": "{depth}."},
    "BranchAnswer": {
        "drop": "How much higher its end's invert lies than that of the line it joins; {depth}."
    },
    "StepsDown": {
        "height": "How much higher its end lies than `drop` of the request asks; {depth}.",
        "piece": "Pipe to cut to fit, root 2 of `height`; in the bill; {depth}.",
    },
    "InletAnswer": {
        "opening": "Elevation; {distance}.",
        "water_level": "Elevation; {distance}.",
        "still_level": "Elevation; {distance}.",
        "entry": "What of `water_level` it takes to get into the pipe at its start: critical depth "
        "or the pipe's own water, and 1.5 times the velocity head of a square edge (FHWA HDS-5); "
        "{depth}.",
        "spare": "The water below the opening; negative: it comes out there; {depth}.",
    },
    "WaterLine": {"level": "Elevations; {distance}."},
    "CarriedAnswer": {
        "flow": "What comes: rain and pumps at once; {flow}.",
        "capacity_full": "What the pipe carries when full, by its own n. The sentence and "
        "`carries` go by `cautious_capacity`; {flow}.",
        "cautious_capacity": "What it carries when full by the roughest published n: the figure "
        "of the sentence and of `carries`; {flow}.",
        "cautious_share": "`flow` by `cautious_capacity`; 1 is full, over 1 too much.",
        "depth": "Of the water in the pipe; {depth}.",
        "velocity": "Of the water as it flows, by the pipe's own n; {velocity}.",
        "velocity_full": "Of the water in the full pipe; {velocity}.",
        "self_cleaning_velocity": "Where the pipe just keeps itself clean; {velocity}.",
        "largest_roof": "The largest roof it takes away at the rain stated; {area}.",
    },
    "BasisAnswer": {
        "depth": "Of the water in the pipe; {depth}.",
        "velocity": "Of the water as it flows; {velocity}.",
    },
    "PumpAnswer": {
        "friction": "As height of water; {distance}.",
        "head_needed": "Lift and friction, as height of water; {distance}.",
        "head_left": "As height of water; negative: so much is missing; {distance}.",
    },
    "Closure": {
        "misclosure": "Computed less known; {distance}.",
        "limit": "The most that a sound run shows; {distance}.",
        "distance": "Of the levelled run; {distance}.",
    },
    "ProfileAnswer": {"overall_fall": "Ground at the start less ground at the end; {depth}."},
    "VerdictAnswer": {
        "spare_error": "Standard error of the spare; {depth}.",
        "reading_error": "Standard error of one reading; {depth}.",
    },
    "Alternative": {
        "flattest_percent": "Percent.",
        "dig_volume": "Bank measure; {volume}.",
        "haul_volume": "Loose; {volume}.",
        "pipe_laid": "Along the slope; {distance}.",
    },
    "ConditionAnswer": {
        "from_at": "Station from which it holds; {distance}.",
        "to_at": "Station up to which it holds, past the end for a ditch; {distance}.",
    },
    "OutletAnswer": {"ditch": "Length of the level ditch from a daylight end; {distance}."},
    "PlanOutletAnswer": {"ditch": "Length of the level ditch from a daylight end; {distance}."},
    **UPLOAD_FIELDS,
}
_SAID: Final = (
    *(_MEASURES, REQUEST_WORDS, ANSWER_WORDS),
    *(CHECK_WORDS, REACH_WORDS, UPLOAD_WORDS, SERVICE_WORDS),
)
FIELDS: Final[dict[str, dict[str, str]]] = {
    schema: {name: words for said in _SAID for name, words in said.get(schema, {}).items()}
    for schema in dict.fromkeys(name for said in _SAID for name in said)
}
