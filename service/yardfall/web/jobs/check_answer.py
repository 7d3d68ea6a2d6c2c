"""Checks of a kept job's trench: worked out from its plan, and told as JSON."""

from __future__ import annotations

from typing import Any

from yardfall.core.errors import InputError
from yardfall.engine_version import sums
from yardfall.store.records.grade_checks import KeptCheck, Outcome
from yardfall.store.records.jobs import Revision
from yardfall.store.uploads.rasters import RasterStore
from yardfall.web.checks.handlers import answer_grade_check
from yardfall.web.jobs.job_answer import plan_body

PLAN = "/plan"


def outcome_of(body: dict[str, Any], revision: Revision, rasters: RasterStore) -> Outcome:
    """A checked body held against the plan of a revision.

    Raises InputError; a fault of the plan is told of the whole body, which has no plan.
    """
    kept = revision.content
    assert kept is not None
    readings = {name: value for name, value in body.items() if name != "revision"}
    try:
        plan = plan_body(kept.request)
    except InputError as error:
        raise _unfit(revision, error) from error
    try:
        answer = answer_grade_check(readings | {"plan": plan}, rasters)
    except InputError as error:
        if all(problem.pointer.startswith(PLAN) for problem in error.problems):
            raise _unfit(revision, error) from error
        raise
    return Outcome(revision.number, readings, answer, sums(), answer["verdict"])


def _unfit(revision: Revision, error: InputError) -> InputError:
    return InputError.at(
        "",
        f"The plan of revision {revision.number} cannot be worked out, so nothing can be held "
        f"against it: {error}",
    )


def check_outline(check: KeptCheck) -> dict[str, Any]:
    """A check without its readings and its answer."""
    found = check.outcome
    return {
        "number": check.number,
        "revision": found.revision,
        "checked_at": check.checked_at.isoformat(),
        "checked_by": check.checked_by,
        "sums": found.sums,
        "verdict": found.verdict,
        "sentence": found.answer["sentence"],
    }


def kept_check_answer(check: KeptCheck) -> dict[str, Any]:
    """A check, whole."""
    found = check.outcome
    return check_outline(check) | {"request": found.request, "answer": found.answer}
