"""What was taken for a value that the caller left open."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "min_cover": "Minimum cover under lawn",
    "min_cover_dips": "Minimum cover under lawn, an inch less where the ground dips",
    "min_cover_of_start": "Minimum cover, no more than the start has",
    "outlet_taper": "Length before the outlet on which the cover may run out",
    "outlet_least": "Minimum depth of the trench at the outlet",
    "outlet_greatest": "Maximum depth of the trench at the outlet",
    "max_depth.by_hand": "Maximum depth, by hand",
    "max_depth.trencher_18": "Maximum depth, trencher 18",
    "max_depth.trencher_24": "Maximum depth, trencher 24",
    "max_depth.trencher_36": "Maximum depth, trencher 36",
    "max_depth.small_excavator": "Maximum depth, small excavator",
    "working_width": "Trench width where it is deepest, for somebody to work in",
    "fill_thins": "Soil to be laid thins out at an end over this length",
    "fill_width": "Width of the strip on which soil is laid",
    "trench_width": "Trench width: the pipe and 2 in (51 mm)",
    "station_spacing": "Station spacing",
    "min_grade": "Minimum grade of this pipe",
    "accuracy": "Accuracy of the ground: {instrument}",
    "accuracy_reach": "Accuracy of the ground: {instrument}, for every {feet} ft ({metres} m) of "
    "reach",
    "read_with": "Accuracy of the readings over the raster: {instrument}",
    "read_with_reach": "Accuracy of the readings over the raster: {instrument}, for every {feet} "
    "ft ({metres} m) of reach",
    "roof_coefficient": "All rain on a roof runs off",
    "safety_factor": "Safety factor: the soaking rate as measured is divided by it",
    "radius": "No lot line was given: how far from the start was searched",
    "least_run": "No outlet nearer to the start",
    "tolerance": "How far a level may lie off the plan",
}
