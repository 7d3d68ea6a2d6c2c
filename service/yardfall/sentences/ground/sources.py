"""Sources of ground that whoever runs the planner named."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "not_tiff": "The file is not a TIFF. A source of elevations has GeoTIFFs.",
    "mask": "The file marks its empty cells by a mask of its own, which is not read from far away. "
    "Save it with a NODATA value, or keep it on this machine.",
    "turned": "The file's rows do not run west to east and its columns north to south. Save it so.",
    "no_map": "The file's coordinate system is no map and no longitude.",
    "no_unit": "The file does not state the unit of its elevations. Give --unit m, ft or us-ft.",
    "other_unit": "The file states its elevations in {its}, not {given}. Leave --unit out.",
    "other_datum": "The file states its heights by {its}, not {given}. Leave --datum out.",
    "no_listing": "{root} is a folder on the web, which has no standard way to say what is in it. "
    "Name a STAC document (.json) or a text of one address a line (.txt) that lies there, or each "
    "GeoTIFF by itself.",
    "no_folder": "{root} is no folder, GeoTIFF, STAC document (.json) or list of addresses (.txt).",
    "elsewhere": "{root} names {file}, which lies neither beside it nor below. Name what lies "
    "there as a root of its own.",
    "long_listing": "{root} is too long to be a list of files.",
    "not_stac": "{root} is no STAC Item, ItemCollection, Catalog or Collection.",
    "several_assets": "An item of {root} has several GeoTIFFs: {names}. Say which to take with "
    "--asset.",
    "no_tiles": "No file of these roots is a GeoTIFF of elevations.",
    "out_of_reach": "{why} What was read so far is kept. Go on with: "
    "yardfall source refresh {name}",
    "file_changed": "It is not what it was when it was listed.",
    "name": "A source is named in small letters, digits, - and _, 40 at most.",
    "taken": "There is a source named {name}. Remove it first, or take another name.",
    "unknown": "There is no source named {name}. GET /sources lists those there are.",
    "other_kind": "{name} is no source of elevations. GET /sources lists those there are.",
    "unread": "{name} has not been read to its end yet. Whoever runs the planner can go on with "
    "it: yardfall source refresh {name}",
    "index": "What is kept of the source {name} cannot be read at the moment. Try again soon.",
    "none_here": "The source {name} has no ground here. Move the route, or take another ground.",
    "many_tiles": "This lies over more than {most} tiles. Plan it in parts.",
    "seam_crs": "Here tiles of {name} in different coordinate systems or with heights by different "
    "datums meet, and no one system has all of this ground. It is not put together from both: keep "
    "to one side.",
    "seam_grid": "Here tiles of {name} with cells of different sizes or places meet, and neither "
    "grid has all of this ground. It is not put together from both: keep to one side.",
    "seam_unit": "Here tiles of {name} meet that state their elevations in different units. They "
    "are not put together: keep to one side, and tell whoever runs the planner.",
    "slow": "The source {name} does not answer in time. Try again in a minute, or take another "
    "ground.",
    "dead": "The source {name} cannot be reached at the moment. Try again in a minute, or take "
    "another ground.",
    "changed": "A file of the source {name} is not what it was when it was listed. Whoever runs "
    "the planner can list it anew: yardfall source refresh {name}",
    "refused": "A file of the source {name} cannot be read. Tell whoever runs the planner: "
    "yardfall source check {name} says why.",
    "damaged": "A file of the source {name} is damaged here. Move the route, or take another "
    "ground.",
    "readings_accuracy": "To weigh readings over a source, the request has to say how far off its "
    "elevations are: give accuracy.lidar or accuracy.sigma, or leave the readings out. GET "
    "/sources lists what is stated of each.",
    "readings_certain": "These elevations are stated to be free of error (accuracy.sigma is 0), so "
    "readings over them could change nothing. Leave the readings out, or state how far off the "
    "elevations are.",
    "place": "Give a place by lon and lat, or by x, y and crs.",
    "place_crs": "Say which projected system x and y are in: EPSG:<number>. For longitude and "
    "latitude give lon and lat.",
    "window_order": "Give west, south, east and north, in that order, east of west and north of "
    "south.",
    "window_cells": "This is {cells} cells of the source; at most {most} are kept. Give a smaller "
    "part.",
    "relief_cells": "This is {cells} cells of the source; at most {most} are drawn. Ask for a "
    "smaller part.",
    "window_empty": "The source {name} has no ground here.",
    "told.name": "The elevations are those of {name}.",
    "told.date": "They are of {date}.",
    "told.no_date": "Nobody stated when they were measured.",
    "told.datum": "Their vertical datum is {datum}.",
    "told.no_datum": "Nobody stated their vertical datum.",
    "told.error": "Their vertical error is {error} (RMSE), as stated. A plan's chance does not use "
    "that figure: it uses the plan's own accuracy, given or taken.",
    "told.no_error": "Nobody stated how far off they are.",
    "told.licence": "License: {licence}.",
    "told.no_licence": "Nobody stated their license.",
    "crs_elsewhere": "This coordinate system does not reach here. Give one that does, or "
    "OGC:CRS84.",
    "demo_licence": "Invented for the demo; public domain (CC0 1.0).",
    "datum": "elevations of {name}",
    "datum_named": "elevations of {name}, {datum}",
    "not_outlines": "The file is none of these: GeoPackage, FlatGeobuf, GeoJSON, a shapefile in a "
    "ZIP.",
    "parquet": "GeoParquet is read only where pyarrow is installed too: pip install "
    "'yardfall[parquet]'. Or save the file as GeoPackage or FlatGeobuf.",
    "no_field": "The layer has no field named {field}. Its fields: {fields}.",
    "no_crs": "The file does not state its coordinate system, so it cannot be placed on the map.",
    "geojson_crs": "The file states a coordinate system, and GeoJSON is in longitude and latitude "
    "on WGS 84 (RFC 7946). Save it so, or as GeoPackage.",
    "which_layer": "The file has several layers: {names}. Say which with --layer.",
    "broken_outlines": "The file cannot be read: {why}",
    "many_outlines": "The file has {count} shapes; a source takes {most}. Cut it into several.",
    "no_outlines": "No shape of the file is an area.",
    "long_file": "The file is over {most} MiB. Cut it into several.",
}
