"""What the numbers about water, pits and pumps mean; see `contract_words`."""

from __future__ import annotations

from typing import Final

WATER_FIELDS: Final[dict[str, dict[str, str]]] = {
    "DryWellBody": {
        "rain_depth": "All that falls in the storm; {depth}.",
        "stone_depth": "Of stone below the pipe; {depth}.",
        "voids": "The share of the stone that is void, 0 to 1.",
        "soak_rate": "What the soil takes, as measured; {rain}.",
        "safety_factor": "What `soak_rate` is divided by; left out, 2; no unit.",
    },
    "StormBody": {"rain_depth": "All that falls in the storm; {depth}."},
    "TriedStorm": {
        "rain_depth": "All that falls in the storm; {depth}.",
        "storm_volume": "What the storm brings; {volume}.",
        "storage": "What its pit must hold of it; {volume}.",
        "bottom_area": "Of the pit that this storm alone asks for; {area}.",
    },
    "WellAnswer": {
        "storm_volume": "What the storm that governs brings; {volume}.",
        "storage": "What the pit must hold of it; {volume}.",
        "safety_factor": "What the soaking rate was divided by; no unit.",
        "soak_rate": "What the pit was sized by: the measured rate over `safety_factor`; {rain}.",
        "hours_to_half": "Hours until half of it is gone; null: never.",
        "stone_volume": "{volume}.",
        "diameter": "Of a round pit; {distance}.",
        "hours_to_empty": "Hours; null: never.",
    },
    "LeftWetAnswer": {
        "length": "Of the pipe that stays wet; {distance}.",
        "depth": "From the lid down to the lowest inside bottom; {depth}.",
        "volume": "Of the water that stays; US gallons or litres.",
    },
    "ProtectionQuantity": {
        "length": "Of trench 5 ft (1.5 m) deep or more; {distance}.",
        "top_width": "Across the top, where it is deepest; {distance}.",
        "sloped_bank": "The whole trench with those sides laid back; {volume}.",
    },
    "PumpLegBody": {
        "pump_head": "What the pump gives at `rate`, as height of water; {distance}.",
        "lift": "From the water in the pit up to the highest point of the pipe; {distance}.",
        "fittings_length": "Straight pipe that loses as much as the elbows and the valve; "
        "{distance}.",
        "c": "Hazen-Williams C; no unit.",
    },
    "OutletWater": {
        "level": "Elevation of the water; {distance}.",
        "over_outlet": "From where the outlet lets water out (the lid of a pop-up, else the inside "
        "top of the pipe's end) up to the water; negative: the water lies lower; {depth}.",
        "backs_up_to": "The station up to which it stands above the pipe's own water; null: it "
        "does not come into the pipe; {distance}.",
        "full_length": "Of pipe at the end that it keeps full; {distance}.",
        "stations_under": "Stations whose ground lies lower than the water in the pipe there, "
        "because of it; {distance}.",
    },
    "FloodedPlace": {
        "elevation": "Of the opening or the ground there; {distance}.",
        "water_level": "Elevation; {distance}.",
        "over": "From the place up to the water; {depth}.",
    },
}
