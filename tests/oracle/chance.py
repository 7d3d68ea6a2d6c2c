"""The chance that a line exists, by draws of the readings' errors."""

from __future__ import annotations

from typing import Any

import numpy as np
from truth import job
from truth.hand_rule import Rule

Body = dict[str, Any]


def true_chance(rule: Rule, sigma: float, draws: int = 4000, seed: int = 3) -> float:
    """Share of draws of the readings' errors in which one straight grade exists.

    Every reading is out by its own normal error of `sigma` (m), the ground straight between them;
    the trench is measured from the ground as it is, so start and limits move with it. What may be
    passed either way is passed as each ground allows.
    """
    one = rule.job
    if one.greatest_grade is not None:
        raise ValueError("a greatest grade is left out here")
    errors = np.random.default_rng(seed).normal(0, sigma, (draws, len(one.at)))
    good = np.zeros(draws, bool)
    for band, _ in rule.bands(rule.first):
        shift = np.array([np.interp(band.x, one.at, e) for e in errors])
        start = one.start_invert + shift[:, :1]
        hi, lo, x = band.hi + shift, band.lo + shift, band.x
        need = np.maximum(band.least, ((start - hi[:, 1:]) / x[1:]).max(axis=1, keepdims=True))
        if min(band.hi[0] - one.start_invert, one.start_invert - band.lo[0]) >= -1e-9:
            good |= (start - need * x[1:] >= lo[:, 1:] - 1e-9).all(axis=1)
    return float(good.mean())


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
