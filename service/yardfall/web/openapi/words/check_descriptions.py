"""What the numbers of a check of a trench or an old pipe mean; see `descriptions`."""

from __future__ import annotations

from typing import Final

CHECK_FIELDS: Final[dict[str, dict[str, str]]] = {
    "DugByDepth": {"depth": "From the ground down to what the tape stands on (`on`); {depth}."},
    "DugByLine": {
        "line_to_bottom": "From the level line down to what the tape stands on (`on`); {depth}."
    },
    "DugAnswer": {
        "reads": "What was read: by `rod` in `rod_unit`, else {depth}.",
        "should_read": "What the plan wants there, in the unit of `reads`.",
        "off": "Positive: it lies too high; {depth}.",
        "standing_water": "That would stand here; {depth}.",
        "fill": "Soil to be laid on the ground there, counted in `cover`; {depth}.",
        "change": "Negative: to take off; positive: to fill; {depth}.",
        "to_the_line": "Up to the planned line; negative: down to it; {depth}.",
    },
    "DugRun": {"fall": "Negative: it falls back; {depth}.", "planned_percent": "Percent."},
    "PondAnswer": {
        "deepest_at": "Station; {distance}.",
        "held_by": "Station; {distance}.",
    },
    "FallAnswer": {"needed": "{depth}."},
    "Change": {"change": "Negative: to take off; positive: to fill; {depth}."},
    "Work": {"volume": "Bank measure; {volume}."},
    "WantedAnswer": {
        "fill": "Soil to be laid on the ground there, once the trench is closed; {depth}.",
        "depth": "From the ground down to the surface `on`; {depth}.",
        "line_to_bottom": "From the level line down to the surface `on`; {depth}.",
        "rod": "What the rod should read on the surface `on`, in `rod_unit`.",
    },
    "PipeByDepth": {"depth": "From the ground down to what the tape stands on (`on`); {depth}."},
    "PipeByLine": {"down": "From the level line to what the tape stands on (`on`); {depth}."},
    "PipeCheckBody": {
        "height": "Elevation of the level line or the instrument that points are read from; "
        "{distance}."
    },
    "PipePointAnswer": {
        "grade_percent": "From here to the next point; negative: it falls back; percent.",
        "standing_water": "That stands here; {depth}.",
    },
    "PipeStretch": {"fall": "Negative: it falls back; {depth}."},
    "PipeCheckAnswer": {
        "fall": "From the first point to the last; negative: it rises; {depth}.",
        "percent": "From the first point to the last; percent.",
        "least_percent": "What every stretch should fall; percent.",
        "reading_error": "Standard error of one reading; {depth}.",
        "least_told": "The shallowest belly that these readings can tell from their own errors, "
        "19 times out of 20; {depth}.",
    },
}
