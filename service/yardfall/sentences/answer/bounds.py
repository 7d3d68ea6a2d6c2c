"""What one request, one key or one file may not go beyond."""

from __future__ import annotations

from typing import Final

TEXTS: Final = {
    "memory": "This takes more memory than the service has left. Ask for less at once, or try "
    "again in a moment.",
    "waited": "Others' plans are being worked out, and yours has waited {seconds} s for its turn. "
    "Send it again in a moment.",
    "getting_ready": "The planner is still getting ready, as it does once after it was installed. "
    "Try again in a minute.",
    "stuck": "A plan has been worked on for {seconds} s, far longer than one may take: the service "
    "is at a standstill. Start it again.",
    "at_once": "This key has {most} requests being answered, the most at once. Wait for one of "
    "them.",
    "lot_cells": "This lot is {cells} cells of the raster; at most {most} are searched. Give a "
    "smaller lot line or radius, or upload a raster whose cells are {times} times as wide.",
    "lot_places": "This lot is {cells} cells of the raster. On so many, at most {most} places can "
    "be asked about at once, targets counted too, and these are {given}. Ask about them in several "
    "requests, or draw a smaller lot line.",
    "clearances": "Outlines of more than 200 points may have at most {most} different clearances "
    "among them. Give several the same.",
    "joined": "A lot line in several parts may have {most} points in all. Draw it as one outline, "
    "or with fewer points.",
    "paper_positions": "A paper shows outlines of {most} points in all. Draw these with fewer.",
    "fill_backwards": "Soil must end beyond where it begins.",
    "fill_outside": "This must lie between where the soil begins and where it ends.",
    "fill_full_backwards": "This must not lie before the station from which on the soil is full.",
    "branches": "A plan takes {most} branches in all, branches of branches counted too. Plan the "
    "rest as a plan of their own.",
    "corners": "The areas of this map have more than {most} corners, too many to send. Draw a "
    "smaller lot line, or ask for fewer bands.",
    "crosses_itself": "This outline crosses itself. One of more than {most} points must not: draw "
    "it with fewer, or in its order.",
    "pdf_rows": "That is a dig sheet of {rows} stations; a PDF takes {most}. Space them further "
    "apart, or take the sheet as a page.",
    "crs_elsewhere": "The raster's coordinate system names another file or an address, which is "
    "not opened. Save the raster in a system that needs none, such as one with an EPSG number.",
    "one_more_error": "One more error is not listed. Mend these first.",
    "more_errors": "{count} more errors are not listed. Mend these first.",
}
