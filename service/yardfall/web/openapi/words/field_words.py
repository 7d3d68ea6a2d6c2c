"""What the fields that hold no measure stand for, by schema: of a plan's request and its answer."""

from __future__ import annotations

from typing import Final

REQUEST_WORDS: Final[dict[str, dict[str, str]]] = {
    "ByInstrument": {"instrument": "What the ground was measured with."},
    "InflowBody": {"name": "What brings the water."},
    "TitleBody": {
        "title": "The title of the paper; a kept job's papers else bear its name.",
        "place": "Where it is.",
        "prepared_for": "For whom.",
        "prepared_by": "By whom.",
        "date": "The date to print, as it is to stand there.",
        "page": "The size of the page. Left out: letter where units are us, else a4.",
    },
    "PaperPart": {"beneath": "What lies under the map: a raster's relief or a site plan."},
    "KeptPaperQuery": {"revision": "Which revision. Left out: the newest."},
    "RasterBeneath": {"raster": "The id of a kept raster."},
    "SitePlanBeneath": {"site_plan": "The id of a kept site plan."},
    "LineString": {"type": "Always LineString."},
    "LineReadingBody": {"line": "The name of the line, where several were strung."},
    "LevelLineBody": {"readings": "Down from the line to the ground, each at its station."},
    "ReadRasterBody": {"readings": "Readings by hand that pin the raster, each at its station."},
    "ShotBody": {
        "sight": "BS: backsight; IS: intermediate sight; FS: foresight.",
        "on": "The name of the point, where it has one.",
    },
    "LevelBookBody": {
        "shots": "The notes in book order.",
        "known": "Further points of known elevation to close on.",
    },
    "ElevationsBody": {"points": "Elevations at stations."},
    "SlopesBody": {"runs": "Slopes end to end from station 0."},
    "StepsBody": {
        "steps": "Steps end to end down the slope.",
        "reversed": "True where the level was turned end for end at every step.",
    },
    "BranchLengthAndDropBody": {"of": "Whose drop it is."},
    "RasterBody": {
        "raster": "The id of a kept raster.",
        "vertical_unit": "The unit of its elevations, where the file does not state it.",
    },
    "SourceBody": {"name": "The name of a source that GET /sources lists."},
    "ProfileBody": {
        "route": "A taped run by its length, or a drawn line.",
        "ground": "What is known of the ground, by its kind.",
    },
    "PlanBody": {"branches": "Lines that join this one; up to six deep, 50 in all."},
    "BranchBody": {
        "name": "The branch's name; each name once.",
        "route": "A taped run by its length, or a drawn line, from its start to the join.",
        "ground": "What is known of the ground, by its kind.",
        "branches": "Lines that join this one.",
    },
    "ReachBody": {
        "ground": "What is known of the ground, by its kind.",
        "start": "Where the pipe starts, and how deep.",
    },
    "CataloguePipe": {"code": "A pipe of the catalogue, GET /pipes."},
    "GradeBody": {
        "aim": "least_fall: the shallowest line that works; outlet_depth: the one that comes out "
        "nearest to `prefer`. Left out: least_fall."
    },
    "LimitsBody": {"dig_by": "The way of digging, which limits the depth."},
    "CoverBody": {
        "what": "What bears on it.",
        "wheels": "True where cars pass over it.",
    },
    "OutletBody": {"kind": "How the pipe ends."},
    "PlanOutletBody": {"water_level": "How high the water comes where the pipe ends."},
    "CrossingBody": {"pass": "How the pipe is to pass it. Left out: either."},
    "HeadBody": {"openings": "Where water could come out at the house."},
    "BranchHeadBody": {"openings": "Where water could come out along the branch."},
    "AlternativeBody": {"name": "What the plan is called in the answer."},
    "ComparisonBody": {"plans": "The plans, each under a name of its own."},
    "DugBody": {
        "again": "True where it was taken a second time, after the answer asked for it.",
        "on": "What the tape or the rod stands on. Left out: trench_bottom.",
    },
    "DugByLine": {"line": "The name of the level line, where several are strung."},
    "AsDugBody": {
        "next_on": "The surface to be read next, and on which all must be read for a pass. Left "
        "out: the one read last."
    },
    "TrenchBody": {"revision": "Of which revision the plan is taken. Left out: the newest."},
    "PipePointBody": {"fixed": "True for one that cannot be moved, such as the outlet."},
    "PipeByMeasure": {"on": "What the tape or the rod stands on. Left out: invert."},
    "PipeCheckBody": {
        "points": "Points of the pipe, in any order.",
        "pipe": "What pipe it is, where that is known.",
        "accuracy": "How well it was read. Left out: nothing is said of errors.",
    },
    "JobBody": {
        "name": "What the job is called.",
        "request": "A body of POST /plan.",
        "form": "What the client's own form held; kept and returned as it came.",
        "draft": "True: a request that cannot be computed yet is kept without an answer.",
    },
    "CopyBody": {"name": "The copy's name. Left out: the job's own."},
    "ArchiveBody": {"archived": "True puts the job away, false takes it out again."},
    "CrewLinkBody": {"name": "Whom the link is for."},
    "JobsQuery": {
        "search": "Part of a job's name.",
        "state": "Which jobs: those open, those put away, or all.",
    },
    "DeleteQuery": {
        "files": "delete: the rasters and site plans that no other job names go as well."
    },
    "ExportQuery": {"files": "without: rasters and site plans are left out."},
    "ReliefPartQuery": {
        "west": "The western edge of what is drawn, in `crs`.",
        "south": "Its southern edge.",
        "east": "Its eastern edge.",
        "north": "Its northern edge.",
        "units": "The contours' unit system.",
    },
    "ReliefQuery": {"units": "The contours' unit system. Left out: the raster's own unit."},
    "RasterFile": {"file": "One single-band GeoTIFF."},
    "SitePlanFile": {"file": "A PNG, a JPEG or a PDF."},
    "ExportFile": {"file": "A file that GET /export gave."},
    "SheetQuery": {"page": "Which page of a PDF. Left out: the first."},
}
ANSWER_WORDS: Final[dict[str, dict[str, str]]] = {
    "Alternative": {
        "name": "As the request calls it.",
        "pipe": "The pipe's name.",
        "currency": "Of its cost; null without prices.",
        "cost_left_out": "What its cost lacks a price for, by name.",
    },
    "Best": {
        "most_spare": "The name of the one with the most fall to spare.",
        "least_dig": "The name of the one with the least to dig.",
        "least_cost": "The name of the one that costs least.",
    },
    "Comparison": {"alternatives": "The plans, in the order of the request."},
    "TrenchQuantity": {"by_depth": "The trench between depths."},
    "PipeQuantity": {"form": "How the pipe is sold."},
    "PartQuantity": {
        "part": "The part's code, as in `prices.parts`.",
        "name": "The part's name.",
        "count": "How many.",
        "why": "What they are for.",
    },
    "HoursQuantity": {
        "machine": "The least machine that digs so deep; null: none of those known.",
        "machine_name": "The machine's name; null: none of those known.",
    },
    "CostLineAnswer": {
        "what": "A part's code, or what else is priced.",
        "name": "What is priced, in words.",
        "unit": "What one of it is.",
    },
    "CostAnswer": {
        "lines": "Each thing that has a price.",
        "left_out": "What is needed but has no price, by code.",
        "left_out_names": "The same in words.",
    },
    "Quantities": {
        "fittings": "Fittings to buy.",
        "outlet_parts": "What the outlet is made of.",
        "parts_basis": "What the parts are reckoned from, in a sentence.",
    },
    "LevelBlockAnswer": {"tool": "The level, by its length."},
    "BoardAnswer": {"tool": "The board, by its length."},
    "GradeRun": {"level_blocks": "What to put under a level's low end, for levels of each length."},
    "Closure": {
        "on": "The point closed on.",
        "set_ups": "Set-ups of the instrument.",
        "distance_known": "False where the length of the levelled run was taken from the route.",
        "within": "Whether the misclosure is within its limit.",
    },
    "ProfileStation": {"source": "Where the ground there comes from."},
    "StationAnswer": {
        "line": "The level line or the set-up that it is measured from; null: none.",
        "why": "Why there is a station: a code each, or what lies there in the caller's words.",
    },
    "GroundSource": {"name": "The source's name."},
    "TurnsOn": {"limit": "The limit that the line turns on."},
    "PlaceAnswer": {
        "line": "The branches that lead to its line; none for this one.",
        "limit": "The limit there.",
    },
    "Pinch": {"limits": "The two limits that collide, the upper first."},
    "FixAnswer": {
        "change": "Which change it is.",
        "from": "What it is now, in the unit of its field, or a name.",
        "to": "What it should be, in the unit of its field, or a name.",
        "patch": "The whole change as a JSON merge patch (RFC 7396) of the request; in "
        "`fix_pair` of both changes. A branch's is for its own member of `branches`. Null where "
        "no patch says it.",
    },
    "ConditionAnswer": {
        "usual": "The usual value, in the unit of its field, or a name; null: none.",
        "taken": "What was taken, in the unit of its field, or a name; null: none.",
        "accepts": "What states the value that was taken; null: nothing does.",
        "insists": "What states the usual value; null: nothing does.",
    },
    "VerdictAnswer": {
        "verdict": "Whether there is a line that keeps every limit, by the fall alone.",
        "conditions": "What a yes rests on.",
        "chance_sentence": "How sure the answer is, and what that stands on; null: not known.",
        "fixes": "Each single change that alone makes it a yes, the first to try first.",
        "fix_pair": "Two changes that do it together, where no single one does; null: none.",
        "advice": "What may help, but no patch of the request says it.",
        "retake": "The readings whose errors move the answer most.",
    },
    "InletAnswer": {
        "opening_is": "Where the opening's level comes from.",
        "drowned": "Whether water comes out there.",
        "serves": "The code of the smallest larger pipe that keeps it in; null: none, or no need.",
        "what": "What enters there.",
    },
    "FloodedPlace": {
        "line": "The branches that lead to its line; none for the main line.",
        "kind": "Which kind of place it is.",
        "at_house": "Whether water could come out at the house there.",
    },
    "OutletWater": {
        "running": "True: with all inflows running at once; false: in still water.",
        "label": "The station up to which it stands, as on a stake; null: it does not come in.",
        "places": "Places that it stands above, the deepest under water first.",
    },
    "TriedStorm": {"governs": "Whether it is the one that asks for the largest pit."},
    "PipeAnswer": {
        "code": "Its code in the catalogue; null for one by its measures.",
        "material": "What it is made of.",
    },
    "Catalogue": {"pipes": "The pipes."},
    "Marks": {
        "dig_depth": "Ground to trench bottom, as a tape shows it; null: the ground is not known.",
        "line_to_bottom": "Level line to trench bottom, as a tape shows it; null: no line.",
        "rod_at_bottom": "What the rod shows on the trench bottom; null: no instrument.",
    },
    "OutletAnswer": {"kind": "How the line ends."},
    "ReferenceLevel": {
        "kind": "line: a level line; instrument: a set-up of the instrument.",
        "name": "Its name.",
    },
    "AssumptionAnswer": {"unit": 'The unit of `value`; "" where it has none.'},
    "CrossingAnswer": {"pass": "How the pipe passes it."},
    "GradeChanges": {"breaks": "So many changes of grade."},
    "HeadAnswer": {"opening": "The lowest opening, in the caller's words."},
    "PlanAnswer": {"references": "Levels that a crew measures down from."},
    "BranchAnswer": {
        "name": "The branch's name, as the request has it.",
        "joins_label": "The station of the line it joins, as on a stake.",
    },
    "WholePinch": {"across_a_join": "Whether the two lie on different lines."},
    "Whole": {
        "verdict": "Whether there is a line for every one of the tree.",
        "brief": "What decides, in a sentence.",
    },
    "ProfileAnswer": {"stations": "Stations of the route."},
}
