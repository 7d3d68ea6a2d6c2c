"""What an answer to a plan with every limit stated must hold, checked one by one."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from changes import fix_faults, pair_faults
from marks import departure_faults, mark_faults
from runner import NEAR, RefusedError, line_faults, spare_faults
from truth import dig, figures, job
from truth.hand_rule import Rule

Body = dict[str, Any]


CHECKS = (
    "refused", "verdict", "spare", "line", "dig", "outlet", "marks", "departure", "fixes", "pair",
)  # fmt: skip


def faults(
    body: Body, service: Any, pipes: dict[str, Any], checks: tuple[str, ...] = CHECKS
) -> dict[str, list[str]]:
    """By check: every way in which the answer departs from the truth."""
    rule = Rule(job.read(body, pipes))
    try:
        answered = service(body)
    except RefusedError as refused:
        return {"refused": [str(refused)]}
    feasible = rule.feasible(rule.first)
    verdict = _verdict(answered, feasible)
    if verdict:
        return {"verdict": verdict}
    judges = {
        "spare": lambda: _spare(answered, rule, feasible),
        "line": lambda: _line(answered, rule) if feasible else [],
        "dig": lambda: _dig(answered, rule) if feasible else [],
        "outlet": lambda: _outlet(body, answered, rule) if feasible else [],
        "marks": lambda: mark_faults(answered, rule),
        "departure": lambda: departure_faults(answered, rule),
        "fixes": lambda: [] if feasible else fix_faults(body, answered, service),
        "pair": lambda: [] if feasible else pair_faults(body, answered, service, pipes),
    }
    found = {check: judge() for check, judge in judges.items() if check in checks}
    return {check: some for check, some in found.items() if some}


def _verdict(answered: dict[str, Any], feasible: bool) -> list[str]:
    truth = "yes" if feasible else "no"
    verdict = answered["answer"]["verdict"]
    return (
        [] if verdict == truth else [f"{verdict}, truly {truth}: {answered['answer']['sentence']}"]
    )


def _spare(answered: dict[str, Any], rule: Rule, feasible: bool) -> list[str]:
    """Straight or with one change: over lines. With more, a yes: over pairs of points."""
    told = answered["answer"]["spare"]
    if rule.job.start_highest is not None:
        begun = rule.begun_as_stated
        if begun.job.start_invert > rule.job.start_invert or not begun.feasible(rule.first):
            return []  # raised by the least that serves, or by all: no fall to spare is defined
        rule = rule.begun_as_stated
    return spare_faults(told, rule, rule.first, _ways(answered) if feasible else None)


def _ways(answered: dict[str, Any]) -> tuple[str, ...]:
    return tuple(c["pass"] for c in answered["crossings"])


def _line(answered: dict[str, Any], rule: Rule) -> list[str]:
    """Within every limit, passing crossings as it says."""
    return line_faults(answered, rule, rule.first, _ways(answered))


def _dig(answered: dict[str, Any], rule: Rule) -> list[str]:
    """Least digging: no line within its limits has a smaller side of the trench."""
    one, u = rule.job, rule.job.usual
    if one.shape != "least_dig":
        return []
    at = np.array(answered["profile"]["at"]) * u.length
    bottom = np.array(answered["profile"]["bottom"]) * u.length
    ground = np.array(answered["profile"]["ground"]) * u.length
    told = float(dig.weights(at) @ (ground - bottom))
    least = np.inf
    if rule.begun_as_stated.feasible(rule.first):
        rule = rule.begun_as_stated
    for band, places in rule.bands(rule.first):
        surface = one.ground_at(band.x) + one.wall + one.bedding
        greatest = max(figures.STEEPEST_LAID, band.least)
        for held in (replace(band, greatest=band.greatest or greatest), band):
            area = dig.least_area(held, surface, places, rule.first.changes)
            if np.isfinite(area):
                least = min(least, area)
                break
    if abs(told - least) > 1e-5 * max(1.0, least):
        return [f"side of the trench {told:.6f} m², at least {least:.6f}"]
    return []


def _outlet(body: Body, answered: dict[str, Any], rule: Rule) -> list[str]:
    """One straight grade is the flattest there is, its whole fall rounded up to the step where
    that fits; or it ends as near as it can to the depth preferred."""
    one, small = rule.job, rule.job.usual.small
    grade = body.get("grade", {})
    if grade.get("shape") != "straight":
        return []
    fall = answered["grade_runs"][0]["fall"] * small
    band, _ = rule.band(rule.first, _ways(answered))
    x, length = band.x[1:], one.length
    begun = answered["profile"]["invert"][0] * one.usual.length
    least = max(band.least, *((begun - band.hi[1:]) / x)) * length
    most = min(((begun - band.lo[1:]) / x).min(), band.greatest or np.inf) * length
    prefer = body["outlet"].get("depth", {}).get("prefer")
    if grade.get("aim") == "outlet_depth" and prefer is not None:
        end = float(one.ground[-1]) + one.wall + one.bedding - prefer * small
        true = float(np.clip(begun - end, least, most))
    else:
        true = least
        step = grade.get("fall_step", 0) * small
        if step:
            stepped = np.ceil(least / step - 1e-6) * step
            true = stepped if stepped <= most + NEAR else least
    if abs(fall - true) > NEAR + 1e-7 * abs(true):
        return [f"fall {fall / small:.6f}, truly {true / small:.6f}"]
    return []
