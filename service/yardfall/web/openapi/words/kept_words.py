"""What the fields that hold no measure stand for, by schema: of checks, a search, what is kept."""

from __future__ import annotations

from typing import Final

CHECK_WORDS: Final[dict[str, dict[str, str]]] = {
    "DugAnswer": {
        "by": "How it was read.",
        "on": "What the tape or the rod stood on.",
        "state": "Whether it lies high, low or within the tolerance.",
        "do": "What to do there so that the whole trench passes.",
    },
    "PondAnswer": {"fills_pipe": "Whether the water fills the whole pipe."},
    "BellyAnswer": {
        "within_error": "Whether the readings' errors alone could show as much; null: not known.",
        "fills_pipe": "Whether the water fills the whole pipe; null: the pipe is not known.",
    },
    "Checks": {
        "within_tolerance": "Every reading lies within the tolerance.",
        "nothing_falls_back": "Between no two readings does it fall back.",
        "fall_enough": "From first to last it falls as much as the least grade asks.",
        "all_read": "Every station was read.",
    },
    "AsItLies": {
        "keeps_limits": "Whether the line as it lies keeps the plan's limits.",
        "changes": "What would make it keep them; null: nothing at these stations.",
    },
    "Work": {"stations": "At how many stations."},
    "WantedTexts": {
        "depth": "Down from the ground.",
        "line_to_bottom": "Down from the level line; null: there is none.",
        "rod": "On the rod; null: there is no instrument.",
    },
    "WantedAnswer": {"on": "What the tape or the rod stands on."},
    "GradeCheckAnswer": {
        "verdict": "Whether what was read of this surface passes.",
        "stations": "The readings, by station.",
        "runs": "Between neighboring readings.",
        "grade_runs": "The plan's grades.",
        "to_read": "Stations not read yet, from the outlet up.",
    },
    "PipeCheckAnswer": {
        "verdict": "Whether the pipe drains.",
        "points": "The points, from upstream.",
        "stretches": "Between neighboring points.",
    },
    "KeptCheck": {
        "request": "The readings, as they were sent.",
        "answer": "The answer of POST /grade-check as it was then.",
    },
    "CheckOutline": {
        "number": "Its number in the job, counted from 1.",
        "revision": "The revision whose plan it was held against.",
        "checked_at": "When it was kept.",
        "checked_by": "Under which key's or link's name it was kept.",
        "verdict": "Whether it passed.",
    },
    "CheckPage": {"grade_checks": "Checks, the newest first."},
}
REACH_WORDS: Final[dict[str, dict[str, str]]] = {
    "AreaProperties": {"kind": "What the area is."},
    "ReachSummary": {"verdict": "Whether the pipe can come out anywhere that was looked."},
    "ReachRoute": {
        "kinds": "What the route is best at.",
        "title": "What the route is, in words.",
        "bends": "How many bends it has.",
        "plan_request": "A body for POST /plan that plans this route.",
    },
    "ReachTarget": {
        "name": "As the request's Feature names it; null: it has none.",
        "kind": "Whether a pipe comes out there, or why not.",
    },
    "ReachAsked": {"kind": "Whether a pipe comes out there, or why not."},
    "LoosenAnswer": {
        "change": "Which change it is.",
        "from": "What it is now, in the unit of its field, or a name.",
        "to": "What it should be, in the unit of its field, or a name.",
    },
    "ReachAnswer": {
        "crs": "Of every point and shape, as in the request.",
        "routes": "The best routes.",
        "targets": "Each of the request's `targets`.",
        "asked": "Each of the points of the request's `ask`.",
        "loosen": "What to loosen, where no outlet was found.",
    },
}
UPLOAD_WORDS: Final[dict[str, dict[str, str]]] = {
    "StatedSource": {"name": "The source's name."},
    "Raster": {
        "name": "As its file was called.",
        "crs": "Its coordinate system: EPSG and a number, or as the file states it.",
        "geographic": "Whether x and y are longitude and latitude.",
        "vertical_unit": "The unit of its elevations; null where the file does not state it.",
        "relief": "The address of its shaded relief.",
    },
    "SitePlan": {
        "name": "As its file was called.",
        "media_type": "Of the picture.",
        "page": "Which page of a PDF it is; null for a picture.",
        "picture": "The address of its picture.",
    },
    "SourceAnswer": {
        "kind": "What it holds.",
        "count": "How many files or outlines it has.",
        "read_at": "When it was last read through.",
    },
    "SourceList": {"sources": "The sources, by name."},
    "GroundHereAnswer": {"problem": "Why there is no elevation; null: there is."},
    "GroundAnswer": {"ground": "By each source, the finest cells first."},
    "OutlineProperties": {
        "kind": "Whether it is a lot or a building.",
        "source": "The name of the source that it comes from.",
    },
    "OutlineFeature": {
        "id": "Its id at its source.",
        "geometry": "Its outline.",
    },
    "LotAnswer": {"features": "The lot, then the buildings that share ground with it."},
}
SERVICE_WORDS: Final[dict[str, dict[str, str]]] = {
    "Dependencies": {
        part: f"Whether {words}."
        for part, words in {
            "database": "the database answers",
            "tables": "its tables are of this version",
            "files": "the files can be read and written",
            "disk": "the disk has room",
            "sums": "no sum is at a standstill",
        }.items()
    },
    "Health": {
        "status": "Of the whole.",
        "version": "Of the service.",
        "broken": "What is broken, each with what to do.",
    },
    "ProblemItem": {
        "pointer": "Where in what was sent, as a JSON pointer (RFC 6901).",
        "code": "A stable code of the fault.",
    },
    "ProblemBody": {
        "type": "The address of a page that says what to do, relative to the service. Its last "
        "part is stable.",
        "title": "The status in words.",
        "status": "The HTTP status.",
        "errors": "Each fault of what was sent; none where it is not the request's.",
    },
    "RevisionOutline": {
        "name": "The job's name then.",
        "sums_changed": "Whether the sums of today are others than those that gave its answer.",
        "verdict": "Whether there was a line that keeps every limit; null: it has no answer.",
        "overall": "What it came to with its branches and conditions; null: it has no answer.",
    },
    "Revision": {
        "request": "The body of POST /plan that was kept; of a draft, whatever was sent.",
        "answer": "The answer of POST /plan as it was then; null for a draft without one.",
        "problems": "Why it has no answer.",
        "form": "What the client's own form held, as it came; null: nothing.",
    },
    "IfMatch": {
        "If-Match": "The ETag that the job had when it was read; * for whatever it is now."
    },
    "OnceHeader": {
        "Idempotency-Key": "A key of your own for this very request, such as a random UUID. Sent "
        "again within a day it is answered as before, and nothing is made twice."
    },
    "JobFacts": {
        "created_at": "When it was first saved.",
        "changed_at": "When it was last changed.",
        "size_bytes": "Bytes that all its revisions take.",
    },
    "JobPage": {"jobs": "The jobs, the last changed first."},
    "RevisionPage": {"revisions": "The revisions, the newest first."},
    "CrewLink": {
        "name": "Whom the link is for.",
        "used_at": "When it was last used, to the minute; null: never.",
    },
    "NewCrewLink": {
        "key": "The link's secret, told this once.",
        "address": "What opens the job with it, below the planner's address.",
    },
    "CrewLinkList": {"crew_links": "The links, the oldest first."},
    "Moved": {
        "jobs": "How many jobs.",
        "revisions": "How many revisions.",
        "rasters": "How many rasters.",
        "site_plans": "How many site plans.",
        "grade_checks": "How many checks.",
    },
    "TilesAnswer": {
        "url": "The tiles' address, with places for z, x and y.",
        "attribution": "The credit to show.",
        "max_zoom": "The greatest zoom that there are tiles for.",
    },
    "PageSettings": {"public_url": "The address at which others reach it; null: nobody said."},
}
