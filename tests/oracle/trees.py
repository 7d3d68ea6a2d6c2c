"""A line and its branches, held to the truth: whether all exist together, and whether they meet."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from runner import NEAR, RefusedError, line_faults
from truth import job
from truth.hand_rule import Rule
from truth.lines import highest_end

Body = dict[str, Any]


def branch_rule(body: Body, branch: Body, pipes: dict[str, Any]) -> Rule:
    """A branch as a line of its own that ends under ground, its cover kept to the join.

    Limits that it leaves out are the main line's, but for the run-out: it has none.
    """
    kept = {k: v for k, v in branch.items() if k not in ("name", "joins_at", "drop", "branches")}
    kept["limits"] = body.get("limits", {}) | {"outlet_taper": 0} | branch.get("limits", {})
    return Rule(job.read({**kept, "units": body["units"], "outlet": {"kind": "tie_in"}}, pipes))


def inside(pipe: Body, pipes: dict[str, Any], small: float) -> float:
    return pipe["inside"] * small if "inside" in pipe else pipes[pipe["code"]]["inside"] * 0.0254


def faults(body: Body, service: Any, pipes: dict[str, Any]) -> dict[str, list[str]]:
    """By check: how the answer to a line with branches departs from the truth.

    Only a branch's end couples two lines: the line it joins may lie no higher there than the
    branch's highest end less the drop: crown to crown the difference of the two insides, but none
    where the branch is the larger.
    """
    main = Rule(job.read(body, pipes))
    u = main.job.usual
    joins, branches, together = [], [], True
    for branch in body["branches"]:
        one = branch_rule(body, branch, pipes)
        drop = branch.get("drop")
        if drop is None:
            bores = [inside(p, pipes, u.small) for p in (body["pipe"], branch["pipe"])]
            drop = max(0.0, bores[0] - bores[1]) / u.small
        band, places = one.band(one.first)
        end = highest_end(band, places, one.first.changes)
        together = together and end is not None
        branches.append((one, drop * u.small))
        if end is not None:
            joins.append((branch["joins_at"] * u.length, end - drop * u.small))
    main = Rule(replace(main.job, joins=tuple(joins)))
    together = together and main.feasible(main.first)
    try:
        answered = service(body)
    except RefusedError as refused:
        return {"refused": [str(refused)]}
    whole = answered["whole"]
    if whole["verdict"] != ("yes" if together else "no"):
        return {"verdict": [f"{whole['verdict']}, truly {together}: {whole['sentence']}"]}
    if not together:
        return {}
    found = {"line": line_faults(answered, main, main.first)}
    for told, (one, drop) in zip(answered["branches"], branches, strict=True):
        found["line"] += [f"{told['name']}: {f}" for f in line_faults(told, one, one.first)]
        there = next(s for s in answered["stations"] if abs(s["at"] - told["joins_at"]) < 1e-6)
        step = (told["outlet"]["invert"] - there["invert"]) * u.length - drop
        down = told["steps_down"]
        piece = 0.0 if down is None else down["height"] * u.small
        if abs(step - piece) > max(NEAR, 1e-3 if down is None else NEAR):
            found["line"].append(f"{told['name']} comes in {1000 * (step - piece):.3f} mm off")
        if abs(told["drop"] * u.small - (step + drop)) > NEAR:
            found["line"].append(
                f"{told['name']} tells a drop of {told['drop']}, truly {step + drop}"
            )
    return {check: some for check, some in found.items() if some}
