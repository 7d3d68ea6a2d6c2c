"""Placeholder until the optimiser lands: every set of breaks by a linear program."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import linprog

from yardfall.core.route import Floats


@dataclass(frozen=True, eq=False)
class GradedLine:
    at_m: tuple[float, ...]
    z_m: tuple[float, ...]
    invert_m: Floats
    area_m2: float


def least_dig_with_breaks(
    at_m: Floats,
    lo_m: Floats,
    hi_m: Floats,
    min_grade: float,
    max_grade: float | None,
    breaks: Sequence[int],
) -> GradedLine | None:
    knots = [0, *breaks, len(at_m) - 1]
    x = at_m[knots]
    w = np.column_stack([np.interp(at_m, x, e) for e in np.eye(len(knots))])
    falls = np.diff(np.eye(len(knots)), axis=0)
    d = np.diff(x)
    finite = np.isfinite(lo_m)
    rows, most = [w, -w[finite], falls], [hi_m, -lo_m[finite], -min_grade * d]
    if max_grade is not None:
        rows.append(-falls)
        most.append(max_grade * d)
    c = -np.trapezoid(w, at_m, axis=0)
    r = linprog(c, np.vstack(rows), np.concatenate(most), bounds=[(None, None)] * len(knots))
    if r.status != 0:
        return None
    return GradedLine(tuple(x), tuple(r.x), w @ r.x, float(-r.fun))


def least_dig(
    at_m: Floats,
    lo_m: Floats,
    hi_m: Floats,
    min_grade: float,
    max_grade: float | None,
    break_index: Sequence[int],
    max_breaks: int,
) -> GradedLine | None:
    found = [
        g
        for g in (
            least_dig_with_breaks(at_m, lo_m, hi_m, min_grade, max_grade, b)
            for k in range(max_breaks + 1)
            for b in itertools.combinations([int(i) for i in break_index], k)
        )
        if g
    ]
    return max(found, key=lambda g: g.area_m2, default=None)
