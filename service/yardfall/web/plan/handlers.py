"""From a body to an answer: what the calls and the command line share."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from yardfall.core.asbuilt.old_pipe import check_pipe
from yardfall.core.errors import GroundGap, InputError, under
from yardfall.core.units import UnitSystem
from yardfall.papers.registry import Paper, require_paper
from yardfall.sentences import say
from yardfall.store.rasters import RasterStore
from yardfall.store.site_plans import SitePlanStore
from yardfall.use_cases import workflow
from yardfall.use_cases.papers import paper
from yardfall.use_cases.survey import survey
from yardfall.web.asked.parse import read_plan
from yardfall.web.asked.parse_survey import read_survey
from yardfall.web.checks.grade_check_answer import check_answer
from yardfall.web.checks.parse_grade_check import read_check
from yardfall.web.checks.parse_pipe_check import read_pipe_check
from yardfall.web.checks.pipe_check_answer import pipe_check_answer
from yardfall.web.told.answer import tree_answer
from yardfall.web.told.survey_answer import gap_error, survey_answer
from yardfall.web.water.flow_answer import flow_answer
from yardfall.web.water.parse_water import read_flow


@contextmanager
def gaps_told_in(units: UnitSystem, below: str = "") -> Iterator[None]:
    """Name a gap's stations in the caller's units, with its pointer under `below`."""
    try:
        yield
    except GroundGap as gap:
        with under(below):
            raise gap_error(gap, units) from gap


def answer_profile(body: dict[str, Any], rasters: RasterStore) -> dict[str, Any]:
    """The answer to a checked profile body. Raises InputError."""
    request, units = read_survey(body)
    with gaps_told_in(units):
        found = survey(request, rasters)
    if not found.ground.known:
        raise InputError.at("/ground/of", say("even_slope.pipe_drop.profile"))
    return survey_answer(found, units)


def answer_plan(body: dict[str, Any], rasters: RasterStore) -> dict[str, Any]:
    """The answer to a checked plan body. Raises InputError."""
    read = read_plan(body)
    with gaps_told_in(read.units):
        return tree_answer(workflow.plan(read.request, rasters), read)


def answer_paper(
    name: str, body: dict[str, Any], rasters: RasterStore, site_plans: SitePlanStore
) -> Paper:
    """A paper of a checked plan body. Raises InputError, NotFoundError for another name."""
    require_paper(name)
    return paper(name, body, answer_plan(body, rasters), rasters, site_plans)


def answer_flow(body: dict[str, Any]) -> dict[str, Any]:
    """The answer to a checked flow body. Raises InputError."""
    read = read_flow(body)
    return flow_answer(workflow.carry(read.inflows, read.pipe, read.grade), read)


def answer_grade_check(body: dict[str, Any], rasters: RasterStore) -> dict[str, Any]:
    """The answer to a checked grade-check body. Raises InputError."""
    read = read_check(body)
    with gaps_told_in(read.plan.units, "/plan"):
        check = workflow.check_grade(read.plan.request, read.as_dug, rasters)
    return check_answer(check, read)


def answer_pipe_check(body: dict[str, Any]) -> dict[str, Any]:
    """The answer to a checked pipe-check body. Raises InputError."""
    read = read_pipe_check(body)
    return pipe_check_answer(check_pipe(read.old), read)
