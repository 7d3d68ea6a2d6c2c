"""What is marked on the tape: it never runs back, keeps the fall, and lies near its line."""

from __future__ import annotations

from typing import Any

import numpy as np
from truth.hand_rule import Rule


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
