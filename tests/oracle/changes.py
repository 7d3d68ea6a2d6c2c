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
    ("/limits/max_depth", "deeper", 60),
    ("/limits/min_cover", "less", 2),
    ("/limits/outlet_taper", "longer", 1000),
    ("/outlet/depth/max", "deeper", 24),
    ("/start/cover", "less", 2),
    ("/start/cover", "more", 36),
    ("/start/depth", "more", 48),
    ("/grade/max_percent", "more", 12),
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
        to = far * (25 if u.small < 0.01 and "percent" not in pointer else 1)
        if value is None or pointer in listed or (to > value) == (way == "less"):
            continue
        if pointer == "/limits/outlet_taper":
            to = rule.job.length / u.length
            if rule.job.kind not in figures.RUN_OUT_KINDS:
                continue  # what ends under ground keeps its cover to the end
        if pointer == "/outlet/depth/max" and rule.job.kind == "curb":
            continue  # the gutter is where it is
        steps = np.linspace(value, to, 25)[1:]
        for step in steps:
            said = copy.deepcopy(body)
            put(said, pointer, float(step), "add")
            other = Rule(job.read(said, pipes))
            if other.feasible(other.first) and _is_offered(pointer, other):
                found.append(f"{pointer} {way}: {step:g} instead of {value:g}")
                break
    return found


def _is_offered(pointer: str, rule: Rule) -> bool:
    """Along a longer run-out 2 in of cover stay, but for the end: nobody would offer less."""
    if pointer != "/limits/outlet_taper":
        return True
    kept = Rule(replace(rule.job, run_out=None))
    return kept.feasible(replace(kept.first, run_out=rule.first.run_out))
