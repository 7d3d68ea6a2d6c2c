"""Sends bodies to the service, and holds its answers to the oracle's. The oracle is in `truth`."""

from __future__ import annotations

import copy
from typing import Any

import numpy as np
from truth import hand_rule, job
from truth.hand_rule import END, RUN_IN, RUN_OUT, SHAPE, Answer, Rule, Taken

Body = dict[str, Any]
NEAR = 2e-6  # m: what rounding in an answer may do to a level


class RefusedError(AssertionError):
    """The service would not compute a body."""


class Service:
    """`POST /plan` and `GET /pipes` of an application's test client."""

    def __init__(self, client: Any) -> None:
        self.client = client

    def __call__(self, body: Body) -> dict[str, Any]:
        response = self.client.post("/api/v1/plan", json=body)
        if response.status_code != 200:
            raise RefusedError(f"{response.status_code}: {response.json.get('detail')}")
        return response.json

    def pipes(self) -> dict[str, dict[str, Any]]:
        listed = self.client.get("/api/v1/pipes").json
        return {p["code"]: p for p in listed["pipes"]}


def differences(body: Body, service: Any, pipes: dict[str, Any]) -> list[str]:
    """Every way in which the service's answer to a body departs from the rule; empty: none."""
    rule = Rule(job.read(body, pipes))
    truth = rule.answer()
    answered = service(body)
    ways = tuple(crossing["pass"] for crossing in answered["crossings"])
    found = _decision(answered["answer"], truth, rule, ways)
    if truth.verdict == "yes" and not [f for f in found if not f.startswith("spare")]:
        assert truth.taken is not None
        found += line_faults(answered, rule, truth.taken, ways)
        found += _least(rule, truth)
        found += _same_when_stated(body, answered, service)
    return found


def _decision(
    answer: dict[str, Any], truth: Answer, rule: Rule, ways: tuple[str, ...]
) -> list[str]:
    u = rule.job.usual
    found = []
    if answer["verdict"] != truth.verdict:
        found.append(f"verdict {answer['verdict']}, truly {truth.verdict}")
    told = {c["pointer"]: c for c in answer.get("conditions", ())}
    ruled = _ruled(answer)
    overall = truth.verdict
    if overall == "yes" and (truth.conditions or len(told) > len(ruled)):
        overall = "conditional"
    if answer.get("overall") != overall:
        found.append(f"overall {answer.get('overall')}, truly {overall}")
    if set(ruled) != set(truth.conditions):
        found.append(f"conditions {sorted(ruled)}, truly {sorted(truth.conditions)}")
        return found
    for pointer, condition in ruled.items():
        assert truth.taken is not None
        true = truth.conditions[pointer]
        for name in ("usual", "taken", "to_at"):
            overlap = rule.job.length - truth.taken.run_out < u.run_in
            if (pointer, name) == (RUN_IN, "taken") and overlap:
                continue  # where both lie, the run-out may leave less
            if name in true and not _same(condition.get(name), true[name]):
                found.append(f"{pointer} {name} {condition.get(name)}, truly {true[name]}")
        if pointer == RUN_OUT:
            start = rule.job.length / u.length - true["taken"]
            if condition["from_at"] < start - 1e-6:
                found.append(f"thin cover from {condition['from_at']}, run-out from {start}")
        if not condition.get("text"):
            found.append(f"{pointer} says nothing")
    return found + spare_faults(
        answer["spare"], rule, rule.last, ways if truth.verdict == "yes" else None
    )


def _ruled(answer: dict[str, Any]) -> dict[str, dict[str, Any]]:
    """By pointer: the conditions that are of this rule, not a soil test or a deep trench's."""
    of_rule = (RUN_OUT, END, SHAPE, RUN_IN)
    return {c["pointer"]: c for c in answer.get("conditions", ()) if c["pointer"] in of_rule}


def spare_faults(
    told: float | None, rule: Rule, taken: Taken, ways: tuple[str, ...] | None = None
) -> list[str]:
    """Fall to spare, in depth units, by `ways` past the crossings."""
    u = rule.job.usual
    true = rule.spare(taken, ways=ways)
    if true is None or told is None:
        return [] if told is true else [f"spare {told}, truly {true}"]
    if abs(told * u.small - true) <= NEAR:
        return []
    return [f"spare {told}, truly {round(true / u.small, 6)}"]


def _same(told: Any, true: Any) -> bool:
    if isinstance(true, str):
        return told == true
    return isinstance(told, int | float) and abs(told - true) < 1e-4


def line_faults(
    answered: dict[str, Any], rule: Rule, taken: Taken, ways: tuple[str, ...] = ()
) -> list[str]:
    """Where the line that is answered breaks a limit, anywhere on its way."""
    job_, u = rule.job, rule.job.usual
    at = np.array(answered["profile"]["at"]) * u.length
    invert = np.array(answered["profile"]["invert"]) * u.length
    band, _ = rule.band(taken, ways)
    z = np.interp(band.x, at, invert)
    found = []
    for i, x in enumerate(band.x):
        where = f"at {x / u.length:g}"
        if z[i] > band.hi[i] + NEAR:
            found.append(f"line {1000 * (z[i] - band.hi[i]):.3f} mm too high {where}")
        if z[i] < band.lo[i] - NEAR:
            found.append(f"line {1000 * (band.lo[i] - z[i]):.3f} mm too low {where}")
    highest = rule.begun_as_stated.job.start_invert
    if job_.start_highest is not None and not rule.begun_as_stated.feasible(taken):
        highest = job_.start_highest
    if not job_.start_invert - NEAR <= z[0] <= highest + NEAR:
        found.append("the line does not begin at the stated start")
    for run in answered["grade_runs"]:
        if run["percent"] / 100 < job_.least_grade - 1e-7:
            found.append(f"grade {run['percent']} under the least")
    if len(answered["grade_runs"]) - 1 > taken.changes:
        found.append(f"{len(answered['grade_runs']) - 1} changes of grade")
    return found


def _least(rule: Rule, truth: Answer) -> list[str]:
    """One rounding step less of what gave way has no solution."""
    taken, u = truth.taken, rule.job.usual
    assert taken is not None
    less = []
    if RUN_OUT in truth.conditions:
        less.append(Taken(taken.run_out - u.length_step, taken.end, taken.changes))
    if END in truth.conditions:
        end = max(d for d in (rule.first.end, *rule.ends) if d < taken.end - NEAR)
        # Least riser or ditch comes first: with all the run-out that its group may take.
        run_out = rule.last.run_out if RUN_OUT in truth.conditions else taken.run_out
        less.append(Taken(run_out, end, taken.changes))
    if SHAPE in truth.conditions:
        less.append(Taken(taken.run_out, taken.end, 0))
    return [f"{one} serves too" for one in less if rule.feasible(one)]


def merged(target: Any, patch: Any) -> Any:
    """RFC 7396."""
    if not isinstance(patch, dict):
        return patch
    result = dict(target) if isinstance(target, dict) else {}
    for name, value in patch.items():
        if value is None:
            result.pop(name, None)
        else:
            result[name] = merged(result.get(name), value)
    return result


def restated(body: Body, answered: dict[str, Any]) -> Body:
    """The body with every usual figure that the answer says it stands on stated."""
    said = copy.deepcopy(body)
    for assumed in answered["assumptions"]:
        _, *path = assumed["pointer"].split("/")
        part = said
        for step in path[:-1]:
            part = part.setdefault(step, {})
        part.setdefault(path[-1], assumed["value"])
    for condition in answered["answer"]["conditions"]:
        said = merged(said, condition["accepts"] or {})
    said.setdefault("grade", {}).setdefault("shape", "straight")
    return said


def _same_when_stated(body: Body, answered: dict[str, Any], service: Any) -> list[str]:
    """The same figures, stated: a yes without a condition, by the same line."""
    again = service(restated(body, answered))
    one = [(r["from"], r["to"], r["percent"]) for r in answered["grade_runs"]]
    two = [(r["from"], r["to"], r["percent"]) for r in again["grade_runs"]]
    if again["answer"]["verdict"] != "yes" or _ruled(again["answer"]):
        return [f"stated, the same figures are {again['answer']['sentence']}"]
    if len(one) != len(two) or not np.allclose(one, two, atol=2e-4):
        return [f"stated, the same figures give {two} instead of {one}"]
    return []


def table(cases: list[tuple[str, list[Any]]]) -> str:
    """A few lines on many cases: how many agree, and the first of each sort of difference."""
    wrong = [(name, found) for name, found in cases if found]
    lines = [f"{len(cases)} cases, {len(cases) - len(wrong)} agree"]
    lines += [f"{name}: {'; '.join(map(str, found[:3]))}" for name, found in wrong[:40]]
    return "\n".join(lines)


__all__ = [
    "RefusedError",
    "Service",
    "differences",
    "hand_rule",
    "line_faults",
    "restated",
    "table",
]
