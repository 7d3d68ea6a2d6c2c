"""What is marked on tape and rod: each stretch keeps its fall, near its line, under its limits."""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from truth.hand_rule import Rule

NEAR = 2e-6
"""What rounding in an answer may do to a level, in m."""
LARGE = 50.0


def inches(mark: str) -> float:
    """A mark as a number: `12`, `1/2`, `12 1/2`, `-3 1/4`, `4.205`."""
    sign, total = (-1.0 if mark.startswith("-") else 1.0), 0.0
    for part in mark.lstrip("-").split():
        top, _, bottom = part.partition("/")
        total += float(top) / float(bottom or 1)
    return sign * total


def mark_faults(answered: dict[str, Any], rule: Rule) -> list[str]:
    """No two marks in a row run back; each stretch keeps the least grade, or the line's own; each
    mark lies within a step of the coarsest tape. Where it says that none can, only the first."""
    if answered["answer"]["verdict"] != "yes":
        return []
    one, small = rule.job, rule.job.usual.small
    coarse = {True: 0.25, False: 5.0}[answered["units"] == "us"] * small
    stations, step = answered["stations"], answered["marks"]["step"] * small
    told = answered["marks"]["notes"]
    found = []
    for name, level, line, mark in _ways(answered, rule):
        if (np.diff(level) > NEAR).any():
            found.append(f"{name} runs back: {np.max(np.diff(level)):.6f}")
        if name != "rod" and (np.abs(mark / step - np.round(mark / step)) > 1e-4).any():
            found.append(f"a mark that is no multiple of {step}")
        least = np.minimum(
            one.least_grade * np.diff([s["at"] * one.usual.length for s in stations]),
            -np.diff(line),
        )
        lost = least + np.diff(level)
        if (lost > NEAR).any() and not any("minimum grade" in note for note in told):
            found.append(f"{name} loses {lost.max():.6f} of the fall unsaid")
        off = float(np.max(np.abs(level - line)))
        if off > coarse + NEAR and not told:
            found.append(f"{name} lies {off:.6f} from its line")
    return found


def _ways(answered: dict[str, Any], rule: Rule) -> list[tuple[str, Any, Any, Any]]:
    """By way of measuring: levels marked, the line's levels and the marks, in m."""
    u, stations = rule.job.usual, answered["stations"]
    line = np.array([s["ground"] * u.length - s["dig_depth"] * u.small for s in stations])
    found = []
    for name, unit in (("dig_depth", u.small), ("line_to_bottom", u.small)):
        marks = [s["marks"][name] for s in stations]
        if None in marks:
            continue
        mark = np.array([inches(m) for m in marks]) * unit
        exact = np.array([s[name] for s in stations]) * unit
        found.append((name, line + exact - mark, line, mark))
    return found


def departure_faults(answered: dict[str, Any], rule: Rule) -> list[str]:
    """No marks of a coarser tape would do, and none on this one lie nearer at the worst.

    From a string there are two sets of marks, which this does not judge.
    """
    u, one = rule.job.usual, rule.job
    stations = answered["stations"]
    if stations[0]["marks"]["line_to_bottom"] or answered["answer"]["verdict"] != "yes":
        return []
    if answered["marks"]["notes"]:
        return []
    us = answered["units"] == "us"
    ground = np.array([s["ground"] for s in stations]) * u.length
    depth = np.array([s["dig_depth"] for s in stations]) * u.small
    at = np.array([s["at"] for s in stations]) * u.length
    cover = np.array([s["cover"] for s in stations]) * u.small
    mark = np.array([inches(s["marks"]["dig_depth"]) for s in stations]) * u.small
    tape = [x * u.small for x in ((0.25, 0.125, 0.0625) if us else (5.0, 1.0))]
    step, far = answered["marks"]["step"] * u.small, tape[0]
    drop = np.minimum(one.least_grade * np.diff(at), -np.diff(ground - depth))
    departure = float(np.max(np.abs(mark - depth)))
    least = least_departure(ground, depth, drop, step, far)
    found = []
    if least is None:
        found.append("marks where none should be")
    elif departure > least + far + NEAR:
        found.append(f"a mark {departure:.6f} from its line, {least:.6f} would do")
    # the limits are the rule's: a coarser tape may fail by them alone, so only deeper is asked for
    for coarser in (q for q in tape if q > step + NEAR):
        lifted = least_departure(ground, depth, drop, coarser, far, over=0.0)
        if lifted is not None and (cover >= 0).all() and _roomy(depth, rule, far):
            found.append(f"marks of {coarser} would do, {step} were taken")
            break
    return found


def _roomy(depth: np.ndarray, rule: Rule, far: float) -> bool:
    """Whether no greatest depth or crossing is near enough to forbid a deeper mark."""
    deepest = rule.job.max_depth
    return not rule.job.crossings and (deepest is None or (depth + 2 * far < deepest).all())


def least_departure(
    ground: np.ndarray,
    depth: np.ndarray,
    drop: np.ndarray,
    step: float,
    far: float,
    over: float = LARGE,
) -> float | None:
    """Least greatest departure of marks on the step that keep every drop; None: there are none.

    A mixed-integer program (HiGHS): whole marks m, the departure t of ground − step·m from the
    line; no mark is more than `over` shallower than its line.
    """
    n, line = len(ground), ground - depth
    eye = np.eye(n)
    upper = np.hstack([-step * eye, -np.ones((n, 1))])
    lower = np.hstack([-step * eye, np.ones((n, 1))])
    falls = np.hstack([-step * (eye[:-1] - eye[1:]), np.zeros((n - 1, 1))])
    apart = ground[1:] - ground[:-1]
    found = milp(
        [0.0] * n + [1.0],
        constraints=[
            LinearConstraint(upper, -np.inf, line - ground),
            LinearConstraint(lower, line - ground, np.inf),
            LinearConstraint(falls, drop + apart - NEAR, np.inf),
        ],
        bounds=Bounds([*np.ceil((depth - over) / step - 1e-4), 0.0], [np.inf] * n + [far + NEAR]),
        integrality=[1] * n + [0],
    )
    return float(found.x[-1]) if found.success else None
