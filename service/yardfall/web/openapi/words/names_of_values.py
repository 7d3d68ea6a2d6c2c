"""Words that an answer or a request can hold in a field, by a name of their own in the contract.

CLOSED are all there will be within v1. OPEN may grow, so the contract takes any other text beside
them: a client acts on those that it knows and shows the sentence of the others.
"""

from __future__ import annotations

from typing import Final, get_args

from yardfall.core.asbuilt.check import GradeVerdict
from yardfall.core.asbuilt.dug_readings import By, Surface
from yardfall.core.asbuilt.old_pipe import Drains, On
from yardfall.core.fixes.loosening import Change
from yardfall.core.ground.even_slope import DropOf
from yardfall.core.ground.level_book import Sight
from yardfall.core.ground.profile import Source
from yardfall.core.pipes import CATALOGUE
from yardfall.core.quantities.earthwork import DIGGERS_M
from yardfall.core.quantities.parts import FIGURES, MACHINES, PARTS
from yardfall.core.uncertainty.instruments import INSTRUMENTS
from yardfall.core.uncertainty.lawns import LAWNS, STRAIGHT
from yardfall.core.uncertainty.lidar import LIDAR_OF, LIDARS
from yardfall.papers.registry import PAPERS
from yardfall.sentences import TEXTS
from yardfall.sentences.answer.limits import LIMIT_WORDS

Words = tuple[str, ...]


def _codes(*subjects: str) -> Words:
    """What sentences are told by, of these subjects."""
    return tuple(
        name.removeprefix(f"{subject}.")
        for subject in subjects
        for name in TEXTS
        if name.startswith(f"{subject}.")
    )


CLOSED: Final[dict[str, Words]] = {
    "Units": ("us", "si"),
    "RodUnit": ("ft", "in", "m", "mm"),
    "VerticalUnit": ("m", "ft", "us-ft"),
    "FallVerdict": ("yes", "too_close", "no"),
    "OverallVerdict": ("yes", "conditional", "too_close", "no"),
    "GradeVerdict": get_args(GradeVerdict),
    "DrainsVerdict": get_args(Drains),
    "OutletKind": ("daylight", "pop_up", "curb", "dry_well", "tie_in"),
    "Shape": ("straight", "least_dig"),
    "Aim": ("least_fall", "outlet_depth"),
    "WayOfPassing": ("over", "under", "either"),
    "WayPassed": ("over", "under"),
    "DropOf": get_args(DropOf),
    "Sight": get_args(Sight),
    "Surface": get_args(Surface),
    "PipeSurface": get_args(On),
    "WayOfReading": get_args(By),
    "Lidar": tuple(LIDARS),
    "Lawn": (*LAWNS, STRAIGHT),
    "Digger": tuple(DIGGERS_M),
    "PaperSize": ("letter", "a4"),
    "JobState": ("open", "archived", "all"),
    "FilesOfJob": ("keep", "delete"),
    "FilesOfExport": ("with", "without"),
    "PipeForm": ("coil", "stick"),
    "ReadingState": ("high", "low", "within"),
    "WhatToDo": ("nothing", "shave", "fill", "lower", "raise", "read_again"),
    "ReferenceKind": ("line", "instrument"),
    "OpeningLevel": ("as stated", "the ground"),
    "FloodedKind": ("opening", "inlet", "start"),
    "SourceKind": ("elevation", "lots", "buildings"),
    "OutlineKind": ("lot", "building"),
    "StateOfPart": ("ok", "failing"),
    "PictureType": ("image/png", "image/jpeg"),
}
OPEN: Final[dict[str, Words]] = {
    "PipeCode": tuple(sorted(CATALOGUE)),
    "Instrument": tuple(INSTRUMENTS),
    "HandInstrument": tuple(name for name in INSTRUMENTS if name not in LIDAR_OF),
    "PaperName": tuple(sorted(PAPERS)),
    "GroundOrigin": (*get_args(Source), "not known"),
    "ReasonForStation": (
        *("start", "reading", "bend", "crossing", "join", "grade break", "asked", "outlet"),
    ),
    "Limit": tuple(LIMIT_WORDS),
    "ChangeKind": get_args(Change),
    "ConditionCode": (
        *("run_in", "run_out", "riser", "ditch", "bank", "grade_change", "deep", "fill"),
        *("even_slope", "ground_not_known", "end_open", "crossing", "soil_test"),
        *("well_empties_late", "pipe_too_small", "pipe_too_small_none"),
        *("water_at_house", "water_near_opening", "inlet_backs_up", "opening_too_low"),
    ),
    "AdviceCode": (
        *("one_more_reading", "soil_start", "soil_dip", "soil_hump"),
        *("nearest", "carry_on", "pump"),
    ),
    "CautionCode": _codes("cautions"),
    "WarningCode": (
        *_codes("warnings", "even_slope.warning", "grades"),
        *("pipe_rises", "pipe_steep", "pipe_level", "accuracy_not_stated"),
        *("outlet_under_water", "water_at_house", "water_over_all_ground"),
    ),
    "PartCode": tuple(PARTS),
    "PricedThing": (*FIGURES, *PARTS),
    "Machine": tuple(MACHINES),
    "RouteKind": ("asked", "shortest", "most_spare", "least_dig", "nearest_miss"),
    "PlaceKind": (
        *("outlet", "conditional", "any_changes", "short", "near_start", "too_deep"),
        *("past_unknown", "closed_off", "avoided", "unknown", "outside"),
    ),
    "AreaKind": (
        *("outlet", "conditional", "any_changes", "short", "near_start", "too_deep"),
        *("past_unknown", "closed_off", "avoided", "unknown"),
        *("no", "survey_first", "likely", "sure"),
    ),
    "ErrorCode": (
        *("unknown_field", "missing", "null", "wrong_type", "out_of_range", "not_among"),
        *("wrong_length", "wrong_form", "cannot_be_computed", "more"),
    ),
}
ANY_OTHER: Final = {
    "Limit": "a crossing, a branch, or a stretch that something bears on goes by its own name",
}
"""Words that names of the caller's own may stand in the place of."""
STANDS_IN: Final[dict[str, str]] = {
    "AdviceAnswer.code": "AdviceCode",
    "Alternative.outlet": "OutletKind",
    "Alternative.overall": "OverallVerdict",
    "Alternative.verdict": "FallVerdict",
    "AreaProperties.kind": "AreaKind",
    "CautionAnswer.code": "CautionCode",
    "CheckOutline.verdict": "GradeVerdict",
    "ConditionAnswer.code": "ConditionCode",
    "CostAnswer.left_out": "PricedThing",
    "CostLineAnswer.what": "PricedThing",
    "Alternative.cost_left_out": "PricedThing",
    "CrossingAnswer.pass": "WayPassed",
    "Dependencies.*": "StateOfPart",
    "DugAnswer.by": "WayOfReading",
    "DugAnswer.on": "Surface",
    "FixAnswer.change": "ChangeKind",
    "FloodedPlace.kind": "FloodedKind",
    "Health.status": "StateOfPart",
    "HoursQuantity.machine": "Machine",
    "InletAnswer.opening_is": "OpeningLevel",
    "InletAnswer.serves": "PipeCode",
    "CarriedAnswer.smallest_pipe": "PipeCode",
    "LoosenAnswer.change": "ChangeKind",
    "OutletAnswer.kind": "OutletKind",
    "OutlineProperties.kind": "OutlineKind",
    "PartQuantity.part": "PartCode",
    "Pinch.limits": "Limit",
    "PipeAnswer.code": "PipeCode",
    "PlaceAnswer.limit": "Limit",
    "ProblemItem.code": "ErrorCode",
    "ProfileStation.source": "GroundOrigin",
    "Raster.vertical_unit": "VerticalUnit",
    "ReachAsked.kind": "PlaceKind",
    "ReachRoute.kinds": "RouteKind",
    "ReachSummary.overall": "OverallVerdict",
    "ReachSummary.verdict": "FallVerdict",
    "ReachTarget.kind": "PlaceKind",
    "ReferenceLevel.kind": "ReferenceKind",
    "RevisionOutline.overall": "OverallVerdict",
    "RevisionOutline.verdict": "FallVerdict",
    "SitePlan.media_type": "PictureType",
    "SourceAnswer.kind": "SourceKind",
    "StationAnswer.why": "ReasonForStation",
    "TurnsOn.limit": "Limit",
    "VerdictAnswer.overall": "OverallVerdict",
    "VerdictAnswer.verdict": "FallVerdict",
    "WantedAnswer.on": "Surface",
    "WarningAnswer.code": "WarningCode",
    "Whole.overall": "OverallVerdict",
    "Whole.verdict": "FallVerdict",
}
"""By schema and field: what a text of an answer is one of."""
