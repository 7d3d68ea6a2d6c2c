"""What would mend a no: each fix sent back, and each single change that no fix names."""

from __future__ import annotations

import copy
import json
from dataclasses import replace
from typing import Any

import numpy as np
from runner import RefusedError, merged
from truth import figures, job
from truth.hand_rule import Rule

Body = dict[str, Any]

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
            put(said, step["path"], step.get("value"), step["op"])
        return said
    if isinstance(patch, dict):
        return merged(said, patch)
    if fix["change"] in NOT_BY_VALUE:
        return None
    put(said, fix["pointer"], fix["to"], "add")
    return said


def put(document: Any, pointer: str, value: Any, op: str) -> None:
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


# What a caller can change by itself, the way that helps, and how far it is tried (in, ft or %):
# no thinner cover than 2 in and no deeper riser than 24 in would be offered by anyone.
CHANGES = (
    ("/limits/max_depth", "more", 60),
    ("/limits/min_cover", "less", 2),
    ("/limits/outlet_taper", "more", 1000),
    ("/outlet/depth/max", "more", 24),
    ("/outlet/depth/min", "less", 0),
    ("/start/cover", "less", 2),
    ("/start/cover", "more", 36),
    ("/start/depth", "less", 2),
    ("/start/depth", "more", 48),
    ("/start/invert", "more", 2),  # levels as depths below the ground: of cover, or of the trench
    ("/start/invert", "less", 48),
    ("/outlet/invert/min", "less", 24),
    ("/outlet/invert/max", "more", 0),
    ("/grade/min_percent", "less", 0.3),
    ("/grade/max_percent", "more", 12),
)
TRIED = 24  # values of each, evenly apart


def unlisted(body: Body, answered: dict[str, Any], pipes: dict[str, Any]) -> list[str]:
    """Single changes of a "no" that alone would mend it, truly, and that no fix names."""
    fixes = answered["answer"]["fixes"]
    listed = {(f["pointer"], _way(f["from"], f["to"])) for f in fixes}
    rule = Rule(job.read(body, pipes))
    found = []
    for pointer, way, far in CHANGES:
        _, part, *rest = pointer.split("/")
        value = body.get(part, {})
        for name in rest:
            value = value.get(name) if isinstance(value, dict) else None
        to = _furthest(rule, pointer, way, far)
        if value is None or to is None or (pointer, way) in listed or _way(value, to) != way:
            continue
        for step in np.linspace(value, to, TRIED + 1)[1:]:
            said = copy.deepcopy(body)
            put(said, pointer, float(step), "add")
            other = Rule(job.read(said, pipes))
            if other.feasible(other.first) and _is_offered(pointer, other):
                found.append(f"{pointer} {way}: {step:g} instead of {value:g}")
                break
    changes = {f["change"] for f in fixes}
    for change, others in (_named(rule) | _swapped(body, pipes)).items():
        if change not in changes and any(other.feasible(other.last) for other in others):
            found.append(f"{change} would mend it")
    return found


def _way(before: Any, after: Any) -> str:
    if isinstance(before, str) or isinstance(after, str):
        return "another"
    return "more" if after > before else "less"


def _furthest(rule: Rule, pointer: str, way: str, far: float) -> float | None:
    """How far a change is tried, in the caller's units; None: it is none to offer."""
    job_, u = rule.job, rule.job.usual
    end = pointer.startswith("/outlet/")
    if end and job_.kind == "curb":
        return None  # the gutter is where it is
    if pointer == "/limits/outlet_taper":
        # What ends under ground keeps its cover to the end.
        return job_.length / u.length if job_.kind in figures.RUN_OUT_KINDS else None
    if pointer.endswith("invert") or "/invert/" in pointer:
        return _furthest_level(rule, end, way, far * _inches(u) * u.small) / u.length
    if end and way == "less":
        return (u.riser_least + rule.larger) / u.small if job_.kind == "pop_up" else 0
    if end and job_.kind == "daylight":
        ditch = rule.ditch_depth(figures.FIX_DITCH[u])
        return max(ditch, rule.bottom + figures.FIX_CUT[u]) / u.small
    if pointer == "/start/depth" and way == "less":
        return far * _inches(u) + rule.bottom / u.small
    return far * (1 if "percent" in pointer else _inches(u))


def _furthest_level(rule: Rule, end: bool, way: str, far: float) -> float:
    """A level that is tried, in metres: to a trench of `far` and no deeper; up to `far` of cover,
    or at the end to where its bottom comes out at the surface, or a riser is as short as can be."""
    job_, u = rule.job, rule.job.usual
    top = float(job_.ground[-1 if end else 0]) + job_.wall
    if way == "less":
        return top + job_.bedding - far
    if not end:
        return top - job_.outside - far
    return top + job_.bedding - (u.riser_least + rule.larger if job_.kind == "pop_up" else 0.0)


def _inches(u: figures.Figures) -> float:
    return 1 if u is figures.US else 25


def _named(rule: Rule) -> dict[str, list[Rule]]:
    """By name: changes to another way, shape or length."""
    job_ = rule.job
    passed = [
        replace(one, ways=("under",) if one.ways == ("over",) else ("over",))
        for one in job_.crossings
        if len(one.ways) == 1
    ]
    flipped = [
        replace(job_, crossings=tuple(new if new.at == c.at else c for c in job_.crossings))
        for new in passed
    ]
    bent = [
        replace(job_, shape="least_dig", max_breaks=n)
        for n in range(1 + rule.first.changes, min(len(job_.stations), figures.FIX_CHANGES) + 1)
    ]
    nearer = [
        replace(
            job_,
            length=float(x),
            stations=job_.stations[job_.stations < x],
            crossings=tuple(c for c in job_.crossings if c.at < x),
        )
        for x in job_.stations
        if x >= figures.NEAREST_END
        and job_.kind in ("daylight", "pop_up", "dry_well")
        and not job_.invert.stated
        and all(abs(c.at - x) > c.clearance + figures.PIT for c in job_.crossings)
    ]
    jobs = {"crossing": flipped, "grade_changes": bent, "end_at": nearer}
    return {change: [Rule(one) for one in some] for change, some in jobs.items()}


def _swapped(body: Body, pipes: dict[str, Any]) -> dict[str, list[Rule]]:
    """By name: another pipe of the same nominal size that may lie flatter, at its own least grade;
    another kind of outlet that needs no level of its own, at its usual depth."""
    now = pipes.get(body["pipe"].get("code", ""))
    least = Rule(job.read(body, pipes)).job.least_grade
    grade = {k: v for k, v in body.get("grade", {}).items() if k != "min_percent"}
    swapped = [
        body | {"pipe": {"code": code}, "grade": grade}
        for code, other in pipes.items()
        if now and other["nominal"] == now["nominal"] and other["min_percent"] / 100 < least - 1e-9
    ]
    kind = body["outlet"]["kind"]
    ended = [body | {"outlet": {"kind": k}} for k in figures.ANYWHERE if k != kind]
    bodies = {"pipe": swapped, "outlet_kind": ended if kind != "curb" else []}
    return {change: [Rule(job.read(one, pipes)) for one in some] for change, some in bodies.items()}


def _is_offered(pointer: str, rule: Rule) -> bool:
    """Along a longer run-out 2 in of cover stay, but for the end: nobody would offer less."""
    if pointer != "/limits/outlet_taper":
        return True
    kept = Rule(replace(rule.job, run_out=None))
    return kept.feasible(replace(kept.first, run_out=rule.first.run_out))


TAPE = {"us": 0.5, "si": 10.0}  # two marks of a tape: one more than rounding may add
DEPTHS = (
    "/limits/max_depth", "/limits/min_cover", "/outlet/depth/max", "/outlet/depth/min",
    "/start/cover", "/start/depth",
)  # fmt: skip


def pair_faults(
    body: Body, answered: dict[str, Any], service: Any, pipes: dict[str, Any]
) -> list[str]:
    """Two changes offered together are a yes, and no depth of theirs goes further than it must."""
    pair, found = answered["answer"]["fix_pair"], []
    if not pair:
        return []
    both = merged(body, pair[0]["patch"])
    told = service(both)["answer"]
    if told["verdict"] != "yes":
        found.append(f"both of {[fix['pointer'] for fix in pair]}: {told['sentence']}")
    for fix in pair if all(fix["pointer"] in DEPTHS for fix in pair) else ():
        back = fix["to"] + TAPE[body["units"]] * (1 if fix["to"] < fix["from"] else -1)
        if _way(fix["from"], back) != _way(fix["from"], fix["to"]):
            continue
        less = copy.deepcopy(both)
        put(less, fix["pointer"], back, "add")
        rule = Rule(job.read(less, pipes))
        if rule.feasible(rule.first):
            found.append(f"{fix['pointer']} {back:g} serves as well as {fix['to']:g}")
    return found
