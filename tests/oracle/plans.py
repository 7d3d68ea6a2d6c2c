"""What an answer to a plan with every limit stated must hold, checked one by one."""

from __future__ import annotations

import copy
import json
from typing import Any

import numpy as np
from runner import NEAR, RefusedError, line_faults, merged, spare_faults
from truth import dig, job
from truth.hand_rule import Rule

Body = dict[str, Any]


CHECKS = (
    "refused", "verdict", "spare", "line", "dig", "outlet", "marks", "departure", "fixes",
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
    """Straight: over lines. Least digging, a yes: over pairs of points, whatever its changes."""
    if rule.job.greatest_grade is not None:
        return []  # a greatest grade makes pairs of its own, which no page defines
    if rule.job.shape != "straight" and not feasible:
        return []
    told = answered["answer"]["spare"]
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
    for band, places in rule.bands(rule.first):
        surface = one.ground_at(band.x) + one.wall + one.bedding
        least = min(least, dig.least_area(band, surface, places, rule.first.changes))
    if abs(told - least) > 1e-5 * max(1.0, least):
        return [f"side of the trench {told:.6f} m², at least {least:.6f}"]
    return []


def _outlet(body: Body, answered: dict[str, Any], rule: Rule) -> list[str]:
    """One straight grade of least fall is the flattest there is, but for a step of the fall."""
    grade = body.get("grade", {})
    if grade.get("shape") != "straight" or grade.get("aim") or grade.get("fall_step"):
        return []
    u, one = rule.job.usual, rule.job
    percent = answered["grade_runs"][0]["percent"] / 100
    flattest = np.inf
    for band, _ in rule.bands(rule.first):
        need = max(band.least, *((one.start_invert - band.hi[1:]) / band.x[1:]))
        if np.all(one.start_invert - need * band.x[1:] >= band.lo[1:] - NEAR):
            flattest = min(flattest, need)
    if abs(percent - flattest) * one.length > NEAR + 1e-8 * one.length:
        return [f"grade {percent * 100:.6f} %, flattest {flattest * 100:.6f} % ({u.length})"]
    return []


def _inches(mark: str) -> float:
    """A tape mark: `12`, `1/2`, `12 1/2`, `-3 1/4`."""
    sign, total = (-1.0 if mark.startswith("-") else 1.0), 0.0
    for part in mark.lstrip("-").split():
        top, _, bottom = part.partition("/")
        total += float(top) / float(bottom or 1)
    return sign * total


def mark_faults(answered: dict[str, Any], rule: Rule) -> list[str]:
    """No two marks in a row run back, the fall needed is kept, and each mark lies within a step."""
    u, one = rule.job.usual, rule.job
    stations, step = answered["stations"], answered["marks"]["step"]
    ground = np.array([s["ground"] for s in stations]) * u.length / u.small
    depth = np.array([s["dig_depth"] for s in stations])
    mark = np.array([_inches(s["marks"]["dig_depth"]) for s in stations])
    level, line = ground - mark, ground - depth
    found = []
    if answered["answer"]["verdict"] == "yes":
        if (np.diff(level) > 2e-5 * u.length / u.small / 10).any():
            found.append(f"marks run back: {np.max(np.diff(level)):.4f}")
        needed = min(one.least_grade * one.length / u.small, line[0] - line[-1])
        if level[0] - level[-1] < needed - 1e-3:
            found.append(f"marks fall {level[0] - level[-1]:.4f}, needed {needed:.4f}")
    if (np.abs(mark / step - np.round(mark / step)) > 1e-9).any():
        found.append(f"a mark that is no multiple of {step}")
    return found


def departure_faults(answered: dict[str, Any], rule: Rule) -> list[str]:
    """No mark further from its line than it must be for marks that never run back.

    From a string there are two sets of marks, which this does not judge.
    """
    u, one = rule.job.usual, rule.job
    stations, step = answered["stations"], answered["marks"]["step"]
    if stations[0]["marks"]["line_to_bottom"] or answered["answer"]["verdict"] != "yes":
        return []
    ground = np.array([s["ground"] for s in stations]) * u.length / u.small
    depth = np.array([s["dig_depth"] for s in stations])
    mark = np.array([_inches(s["marks"]["dig_depth"]) for s in stations])
    departure = float(np.max(np.abs(mark - depth)))
    least = least_departure(ground, depth, step, one.least_grade * one.length / u.small)
    if departure > least + 1e-3:
        return [f"a mark {departure:.4f} from its line, {least:.4f} would do"]
    return []


def least_departure(ground: np.ndarray, depth: np.ndarray, step: float, needed: float) -> float:
    """Least greatest departure of any marks on the step that never run back and keep the fall.

    By brute force: for a first mark, each next one as deep as it must be, within a departure.
    """
    line = ground - depth
    needed = min(needed, float(line[0] - line[-1]))
    near = [step * (np.round(d / step) + np.arange(-4, 5)) for d in depth]
    allowed = sorted({round(float(abs(m - d)), 9) for ms, d in zip(near, depth, strict=True)
                      for m in ms})  # fmt: skip
    for most in allowed:
        choices = [ms[np.abs(ms - d) <= most + 1e-9] for ms, d in zip(near, depth, strict=True)]
        if any(len(c) == 0 for c in choices):
            continue
        level = float(ground[0] - choices[0].min())  # highest first mark: easiest to keep under
        top = level
        for g, c in zip(ground[1:], choices[1:], strict=True):
            lower = g - c[g - c <= level + 1e-4]
            if len(lower) == 0:
                break
            level = float(lower.max())
        else:
            deepest = float(ground[-1] - choices[-1].max())
            if top - min(level, deepest) >= needed - 1e-4:
                return most
    return float("inf")


# Fixes whose pointer and value don't say the whole change.
NOT_BY_VALUE = ("outlet_kind", "end_at", "grade_changes", "pipe", "crossing")


def fixed(body: Body, fix: dict[str, Any]) -> Body | None:
    """The body with a fix's change made, by its patch (RFC 6902 or 7396) or pointer and value.

    None where pointer and value alone don't say the whole change.
    """
    said = copy.deepcopy(body)
    patch = fix.get("patch")
    if isinstance(patch, list):
        for step in patch:
            _put(said, step["path"], step.get("value"), step["op"])
        return said
    if isinstance(patch, dict):
        return merged(said, patch)
    if fix["change"] in NOT_BY_VALUE:
        return None
    _put(said, fix["pointer"], fix["to"], "add")
    return said


def _put(document: Any, pointer: str, value: Any, op: str) -> None:
    *path, last = (p.replace("~1", "/").replace("~0", "~") for p in pointer.split("/")[1:])
    part = document
    for step in path:
        part = part[int(step)] if isinstance(part, list) else part.setdefault(step, {})
    if isinstance(part, list):
        if op == "remove":
            del part[int(last)]
        elif op == "add":
            part.insert(len(part) if last == "-" else int(last), value)
        else:
            part[int(last)] = value
    elif op == "remove":
        del part[last]
    elif op in ("add", "replace"):
        part[last] = value
    else:
        raise ValueError(op)


def fix_faults(body: Body, answered: dict[str, Any], service: Any) -> list[str]:
    """Every fix that is offered is a yes once its change is made."""
    found = []
    for fix in answered["answer"]["fixes"]:
        said = fixed(body, fix)
        if said is None:
            continue
        try:
            again = service(said)["answer"]
        except RefusedError as refused:
            found.append(f"{fix['change']} to {json.dumps(fix['to'])}: {refused}")
            continue
        if again["verdict"] != "yes":
            found.append(f"{fix['change']} to {json.dumps(fix['to'])}: {again['sentence']}")
    return found


def true_chance(rule: Rule, sigma: float, draws: int = 4000, seed: int = 3) -> float:
    """Share of draws of the readings' errors in which one straight grade exists.

    Every reading is out by its own normal error of `sigma` (m), the ground straight between them;
    the trench is measured from the ground as it is, so start and limits move with it.
    """
    band, _ = rule.band(rule.first)
    one = rule.job
    errors = np.random.default_rng(seed).normal(0, sigma, (draws, len(one.at)))
    shift = np.array([np.interp(band.x, one.at, e) for e in errors])
    start = one.start_invert + shift[:, :1]
    hi, lo, x = band.hi + shift, band.lo + shift, band.x
    need = np.maximum(band.least, ((start - hi[:, 1:]) / x[1:]).max(axis=1, keepdims=True))
    if one.greatest_grade is not None:
        raise ValueError("a greatest grade is left out here")
    good = (start - need * x[1:] >= lo[:, 1:] - 1e-9).all(axis=1)
    start_kept = min(band.hi[0] - one.start_invert, one.start_invert - band.lo[0]) >= -1e-9
    return float(good.mean()) if start_kept else 0.0


def chance_faults(body: Body, service: Any, pipes: dict[str, Any]) -> dict[str, list[str]]:
    """The chance told is the share of draws, and the verdict goes by it (5 and 95 %)."""
    rule = Rule(job.read(body, pipes))
    u = rule.job.usual
    # Let the end lie just as deep as makes the fall to spare about as large as its error.
    spare = rule.spare(rule.first)
    if spare is None or not np.isfinite(spare):
        return {}
    sigma = body["accuracy"]["sigma"] * u.small
    aim = sigma * float(np.sin(1e4 * spare) * 2.5)  # as good as random, and the same each time
    depth = body["outlet"]["depth"]
    depth["max"] = round(depth["max"] - (spare - aim) / u.small, 3)
    if depth["max"] <= 0:
        return {}
    rule = Rule(job.read(body, pipes))
    answer = service(body)["answer"]
    true, told = true_chance(rule, sigma), answer["chance"]
    found: dict[str, list[str]] = {}
    if told is None or abs(told - true) > 0.035:  # 3 standard errors of two times 4,000 draws
        found["chance"] = [f"chance {told}, truly {true:.3f}"]
    verdict = "too_close"
    if true > 0.985:
        verdict = "yes"
    elif true < 0.015:
        verdict = "no"
    elif not 0.09 < true < 0.91:
        return found
    if answer["verdict"] != verdict:
        found["verdict"] = [f"{answer['verdict']}, truly {verdict} by a chance of {true:.3f}"]
    return found


# What a caller can change by itself, the way that helps, and how far it is tried (in, ft or %).
CHANGES = (
    ("/limits/max_depth", "deeper", 60),
    ("/limits/min_cover", "less", 0),
    ("/limits/outlet_taper", "longer", 1000),
    ("/outlet/depth/max", "deeper", 60),
    ("/start/cover", "less", 0),
    ("/start/cover", "more", 60),
    ("/grade/min_percent", "less", 0),
    ("/grade/max_percent", "more", 50),
)


def unlisted(body: Body, answered: dict[str, Any], pipes: dict[str, Any]) -> list[str]:
    """Single changes of a "no" that alone would mend it, truly, and that no fix names."""
    listed = {f["pointer"] for f in answered["answer"]["fixes"]}
    rule = Rule(job.read(body, pipes))
    u = rule.job.usual
    found = []
    for pointer, way, far in CHANGES:
        _, part, *rest = pointer.split("/")
        value = body.get(part, {})
        for name in rest:
            value = value.get(name) if isinstance(value, dict) else None
        if value is None or pointer in listed:
            continue
        to = far * (25 if u.small < 0.01 and "percent" not in pointer else 1)
        if pointer == "/limits/outlet_taper":
            to = rule.job.length / u.length
        steps = np.linspace(value, to, 25)[1:]
        for step in steps:
            said = copy.deepcopy(body)
            _put(said, pointer, float(step), "add")
            other = Rule(job.read(said, pipes))
            if other.feasible(other.first):
                found.append(f"{pointer} {way}: {step:g} instead of {value:g}")
                break
    return found
