"""What the calls answer, for the generated contract. Values are written by the answer modules."""

from __future__ import annotations

import marshmallow as ma

from yardfall.web.openapi.answer_fields import number, numbers, part, parts, words
from yardfall.web.schemas.even_slope_schemas import ToMeasureAnswer
from yardfall.web.schemas.grade_run_schemas import GradeRun
from yardfall.web.schemas.line_schemas import CoverAnswer, CrossingAnswer, FillAnswer
from yardfall.web.schemas.quantities_schemas import Quantities
from yardfall.web.schemas.survey_answer_schemas import (
    Closure,
    GroundLine,
    GroundSource,
    ProfileStation,
    WarningAnswer,
)
from yardfall.web.schemas.verdict_schemas import OVERALL, VerdictAnswer
from yardfall.web.schemas.water_schemas import (
    CarriedAnswer,
    InletAnswer,
    OutletWater,
    PumpAnswer,
    WaterAnswer,
    WellAnswer,
)


class PipeAnswer(ma.Schema):
    """A pipe; sizes in depth units, nominal size in inches as the trade names it."""

    code = words(nullable=True)
    name = words()
    material = words()
    nominal = number(nullable=True)
    outside = number()
    inside = number()
    wall = number()
    n = number()
    n_range = numbers()
    n_other = number(nullable=True)
    min_percent = number()
    source = words()


class Catalogue(ma.Schema):
    """The pipe catalogue."""

    units = words()
    pipes = parts(PipeAnswer)


class Marks(ma.Schema):
    """What to read on a tape or a rod; null where nothing is read from."""

    dig_depth = words(nullable=True)
    line_to_bottom = words(nullable=True)
    rod_at_bottom = words(nullable=True)


class StationAnswer(ProfileStation):
    """Ground and what is measured from it: null where the ground is not known."""

    ground = number(nullable=True)
    invert = number()
    dig_depth = number(nullable=True)
    cover = number(nullable=True)
    line = words(nullable=True)
    line_to_bottom = number(nullable=True)
    rod_at_bottom = number(nullable=True)
    grade_percent = number()
    fill = number()
    marks = part(Marks)
    why = ma.fields.List(ma.fields.String(), required=True)


class ProfileLine(GroundLine):
    """Ground, pipe and trench bottom along the line, straight between their points."""

    invert = numbers()
    bottom = numbers()
    top = numbers()
    finished = numbers()


class End(ma.Schema):
    """One end of a line."""

    at = number()
    dig_depth = number(nullable=True)
    cover = number(nullable=True)
    invert = number()


class StartAnswer(End):
    """The start of the line."""

    raised_by = number()


class OutletAnswer(End):
    """`ditch` is the level ditch that leads out from a daylight end, null where none does."""

    kind = words()
    ditch = number(nullable=True)


class LeftWetAnswer(ma.Schema):
    """What stays in the line after rain, below the lid of the pop-up that it or its main ends in.

    `depth` is below the lid, where it is greatest.
    """

    length = number()
    depth = number()
    volume = number()
    sentence = words()


class PlanOutletAnswer(OutletAnswer):
    """`water` is null where none is stated to stand there, and for a branch; `left_wet` where the
    line runs empty after rain."""

    water = part(OutletWater, allow_none=True)
    left_wet = part(LeftWetAnswer, allow_none=True)


class MarksFit(ma.Schema):
    """How far the marks dug by depart from the line, and the flattest grade between two.

    They keep the least grade from station to station, the cover and the depth, where the plan does:
    the tape's step is as fine as that needs. `notes` say where no marks can.
    """

    step = number()
    worst_departure = number()
    worst_percent = number(nullable=True)
    least_percent = number()
    notes = ma.fields.List(ma.fields.String(), required=True)


class ReferenceLevel(ma.Schema):
    """A level to measure down from, and the stations it serves."""

    kind = words()
    name = words()
    from_ = number(data_key="from")
    to = number()
    elevation = number()


class AssumptionAnswer(ma.Schema):
    """A value left open, and what was taken for it."""

    pointer = words()
    value = number()
    unit = words()
    text = words()
    source = words()


class CautionAnswer(ma.Schema):
    """What must be kept in mind at this work."""

    code = words()
    text = words()
    source = words()


class Trench(ma.Schema):
    """The slot for the pipe, its width times its depth along the true ground, and what is dug:
    wider where somebody works in it deep down (`basis`), as in `quantities`. Volumes are bank
    measure, null where the ground is not known."""

    width = number()
    volume = number(nullable=True)
    dug_width = number()
    dug_volume = number(nullable=True)
    basis = words()


class GradeChanges(ma.Schema):
    """What so many changes of grade buy; null where no line fits with them."""

    breaks = ma.fields.Integer(required=True)
    volume = number(nullable=True)
    gap = number(nullable=True)


class LeastDig(ma.Schema):
    """How far the line may be from the one that digs least."""

    gap = number()


class HeadAnswer(ma.Schema):
    """Levels from the lowest opening at the house to the water at the outlet."""

    opening = words()
    opening_level = number()
    outlet_level = number()
    water_level = number()
    friction = number()
    margin = number()
    spare = number()
    sentence = words()


class PlanAnswer(ma.Schema):
    """The answer for one line."""

    units = words()
    length = number()
    slope_length = number()
    pipe = part(PipeAnswer)
    datum = words()
    stations = parts(StationAnswer)
    grade_runs = parts(GradeRun)
    profile = part(ProfileLine)
    start = part(StartAnswer)
    outlet = part(PlanOutletAnswer)
    answer = part(VerdictAnswer)
    covers = parts(CoverAnswer)
    fills = parts(FillAnswer)
    crossings = parts(CrossingAnswer)
    trench = part(Trench)
    quantities = part(Quantities, allow_none=True)
    least_dig = part(LeastDig, allow_none=True)
    grade_changes = parts(GradeChanges)
    head = part(HeadAnswer, allow_none=True)
    water = part(WaterAnswer, allow_none=True)
    pump_leg = part(PumpAnswer, allow_none=True)
    dry_well = part(WellAnswer, allow_none=True)
    marks = part(MarksFit)
    references = parts(ReferenceLevel)
    closure = part(Closure, allow_none=True)
    assumptions = parts(AssumptionAnswer)
    cautions = parts(CautionAnswer)
    warnings = parts(WarningAnswer)
    ground_known = ma.fields.Boolean(
        required=True,
        metadata={
            "description": "False where only the pipe's own drop was given: ground, depths, covers "
            "and volumes are null, and `profile.ground` is empty."
        },
    )
    to_measure = parts(ToMeasureAnswer)
    ground_source = part(GroundSource, allow_none=True)


class PlaceAnswer(ma.Schema):
    """A limit at a station; `line` names the branches that lead to its line, none for this one."""

    line = ma.fields.List(ma.fields.String(), required=True)
    at = number()
    label = words()
    limit = words()


class WholePinch(ma.Schema):
    """The pair of points that sets the spare of the whole; `raise_branch` is how much higher the
    branch in the way would have to come in."""

    upstream = part(PlaceAnswer)
    downstream = part(PlaceAnswer)
    turns_on = part(PlaceAnswer, allow_none=True)
    across_a_join = ma.fields.Boolean(required=True)
    raise_branch = number(nullable=True)


class Whole(ma.Schema):
    """The line and all its branches together; `brief` tells in a sentence what decides.

    `chance` is the share of draws of all readings in which every line exists, `spare` the least
    margin over every pair of points of the tree.
    """

    verdict = words()
    overall = words(metadata=OVERALL)
    sentence = words()
    brief = words()
    chance = number(nullable=True)
    spare = number(nullable=True)
    pinch = part(WholePinch, allow_none=True)


class TreeAnswer(PlanAnswer):
    """The answer for a line, with each branch that joins it in the same form."""

    branches = ma.fields.List(ma.fields.Nested(lambda: BranchAnswer()), required=True)
    inlets = parts(InletAnswer)
    whole = part(Whole)


class StepsDown(ma.Schema):
    """A branch that its limits end above its wye: how much higher than asked, and the pipe that
    slants down from there at 45 degrees."""

    height = number()
    piece = number()
    sentence = words()


class BranchAnswer(TreeAnswer):
    """A branch; elevations count from its own datum."""

    name = words()
    joins_at = number()
    joins_label = words()
    drop = number()
    steps_down = part(StepsDown, allow_none=True)


class FlowAnswer(CarriedAnswer):
    """The water in one pipe at one grade."""

    units = words()
    pipe = part(PipeAnswer)
    percent = number()
    rain_alone = number()
    pumped_alone = number()
    sentence = words()
    assumptions = parts(AssumptionAnswer)
    warnings = parts(WarningAnswer)
    cautions = parts(CautionAnswer)
