"""From a body to an answer: what the calls and the command line share."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from yardfall.core.errors import GroundGap, InputError, under
from yardfall.core.units import UnitSystem
from yardfall.papers.registry import Paper, require_paper
from yardfall.sentences import say
from yardfall.store.uploads.rasters import RasterStore
from yardfall.store.uploads.site_plans import SitePlanStore
from yardfall.use_cases import workflow
from yardfall.use_cases.papers import paper
from yardfall.use_cases.survey import survey
from yardfall.web.answers.plan_answer import tree_answer
from yardfall.web.answers.survey_answer import gap_error, survey_answer
from yardfall.web.answers.water.flow_answer import flow_answer
from yardfall.web.parse.parse_plan import read_plan
from yardfall.web.parse.parse_survey import read_survey
from yardfall.web.parse.parse_water import read_flow


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
