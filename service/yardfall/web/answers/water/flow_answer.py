"""The water in one pipe at one grade, in the caller's units and in sentences."""

from __future__ import annotations

from typing import Any

from yardfall.core.cautions import water_cautions
from yardfall.core.hydraulics.capacity import Water
from yardfall.core.warnings.plausibility import doubtful_pipe, other_way
from yardfall.web.answers.plan_answer import assumption_answer, caution_answer, pipe_answer
from yardfall.web.answers.warnings import warning_answer
from yardfall.web.answers.water.water_answer import carried_answer, water_sentence, water_warnings
from yardfall.web.openapi.numbers import rounded
from yardfall.web.parse.parse_water import ReadFlow


def flow_answer(water: Water, read: ReadFlow) -> dict[str, Any]:
    """The answer to POST /flow."""
    units = read.units
    run = water.runs[-1]
    return {
        "units": units.name,
        "pipe": pipe_answer(read.pipe, units),
        "percent": rounded(read.grade * 100),
        **carried_answer(run, units),
        "rain_alone": rounded(water.rain_m3s / units.flow_m3s),
        "pumped_alone": rounded(water.pumped_m3s / units.flow_m3s),
        "sentence": water_sentence(water, units),
        "assumptions": [assumption_answer(a, units) for a in read.assumptions],
        "warnings": [
            warning_answer(remark, units)
            for remark in (
                *water_warnings(water),
                *doubtful_pipe(read.pipe),
                *other_way(read.grade, "/grade/percent"),
            )
        ],
        "cautions": [
            caution_answer(c)
            for c in water_cautions(pumped=any(i.kind == "pump" for i in water.inflows))
        ],
    }
