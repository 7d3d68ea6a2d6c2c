"""What the contract says of the numbers of uploaded pictures and rasters, and of sources."""

from __future__ import annotations

from typing import Final

UPLOAD_FIELDS: Final[dict[str, dict[str, str]]] = {
    "TilesAnswer": {"max_zoom": "The closest zoom that there are tiles for."},
    "SitePlanBeneath": {"turn": "Degrees that the picture is turned, clockwise."},
    "ScaleBody": {"points": "Two points [u, v] of the picture, in pixels."},
    "ScaleAnswer": {"points": "Two points [u, v] of the picture, in pixels."},
    "MapTieBody": {"origin": "[x, y] of the plan's 0, 0 in the `crs`."},
    "MapTieAnswer": {"origin": "[x, y] of the plan's 0, 0 in the `crs`."},
    "PlacementBody": {
        "turn": "Degrees that the picture is turned, clockwise.",
        "north": "Where north is on the picture: degrees clockwise from its upper edge.",
    },
    "PlacementAnswer": {
        "turn": "Degrees that the picture is turned, clockwise.",
        "origin": "[u, v] of the plan's 0, 0, in pixels.",
        "north": "Where north is on the picture: degrees clockwise from its upper edge.",
        "metres_per_pixel": "Metres, whatever the units.",
        "click_error_percent": "By how much every length is off for one pixel at one point.",
        "north_on_plan": "Degrees clockwise from the plan's y axis, 0 to 360.",
        "width": "Of the picture on the ground; {distance}.",
        "height": "Of the picture on the ground; {distance}.",
        "corners": "[x, y] on the plan: upper left, upper right, lower right, lower left; "
        "{distance}.",
        "bounds": "Least x, least y, greatest x, greatest y on the plan; {distance}.",
        "transform": "a, b, c, d, e, f: from pixels to {distance}.",
    },
    "Raster": {
        "width": "Cells.",
        "height": "Cells.",
        "bounds": "Least x, least y, greatest x, greatest y in its `crs`.",
        "metres_per_unit": "Metres that a unit of x and of y in its `crs` is long.",
        "cell": "Size of a cell along x and y; metres, whatever the units.",
        "empty_share": "Of all cells, 0 to 1.",
    },
    "GroundSource": {
        "vertical_rmse": "Vertical error of the elevations, root mean square, as stated; {depth}."
    },
    "SourceAnswer": {
        "vertical_rmse": "Vertical error of the elevations, root mean square, as stated; {depth}.",
        "bounds": "West, south, east, north; degrees.",
    },
    "WindowBody": {
        "bounds": "West, south, east, north in its `crs`: degrees on WGS 84, or the system's unit.",
    },
    "PlaceQuery": {
        "lon": "Degrees east, on WGS 84.",
        "lat": "Degrees north, on WGS 84.",
        "x": "East, in the unit of `crs`.",
        "y": "North, in the unit of `crs`.",
    },
    "GroundAnswer": {
        "lon": "Degrees east, on WGS 84, of the place asked about.",
        "lat": "Degrees north, on WGS 84, of the place asked about.",
    },
    "LotAnswer": {"bounds": "West, south, east, north of the lot; degrees. Null without one."},
    "GroundHereAnswer": {
        "cell": "Size of a cell along x and y; metres, whatever the units.",
    },
    "SitePlan": {"width": "Of the picture, in pixels.", "height": "Of the picture, in pixels."},
    "Elevations": {
        "min": "Lowest, in the raster's `vertical_unit`.",
        "max": "Highest, in the raster's `vertical_unit`.",
    },
}
