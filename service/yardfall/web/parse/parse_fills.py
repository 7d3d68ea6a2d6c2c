"""Soil to be laid, from a body in the caller's units; what was taken where it is left open."""

from __future__ import annotations

from typing import Any, Final

from yardfall.core.errors import InputError, Problem
from yardfall.core.fill import STRIP_M, THINS_M, Fill
from yardfall.core.units import UnitSystem
from yardfall.sentences import say
from yardfall.web.parse.assumption import COMMON, Assumption

OPEN: Final = ("full_from", "full_to")


def read_fills(
    rows: list[dict[str, Any]], units: UnitSystem, assumed: list[Assumption]
) -> tuple[Fill, ...]:
    """Soil to be laid. Raises InputError, with every fault, for stations in the wrong order."""
    problems = [problem for i, row in enumerate(rows) for problem in _faults(i, row)]
    if problems:
        raise InputError(*problems)
    thins_m, width_m = THINS_M[units.name], STRIP_M[units.name]
    if any(name not in row for row in rows for name in OPEN):
        words = say("assumptions.fill_thins")
        assumed.append(Assumption("/fills", thins_m, "length", words, COMMON))
    if any("width" not in row for row in rows):
        words = say("assumptions.fill_width")
        assumed.append(Assumption("/fills", width_m, "length", words, COMMON))
    return tuple(_fill(row, units, thins_m, width_m) for row in rows)


def _fill(row: dict[str, Any], units: UnitSystem, thins_m: float, width_m: float) -> Fill:
    length_m = units.length_m
    from_m, to_m = row["from_"] * length_m, row["to"] * length_m
    first, last = (row[name] * length_m if name in row else None for name in OPEN)
    before_m = 0.0 if from_m == 0 else min(thins_m, (to_m - from_m) / 2)
    if first is None:
        first = min(from_m + before_m, to_m if last is None else last)
    if last is None:
        last = max(to_m - min(thins_m, (to_m - from_m) / 2), first)
    width = row.get("width")
    return Fill(
        from_m,
        first,
        last,
        to_m,
        row["depth"] * units.depth_m,
        width_m if width is None else width * length_m,
    )


def _faults(i: int, row: dict[str, Any]) -> list[Problem]:
    start, end = row["from_"], row["to"]
    if end <= start:
        return [Problem(f"/fills/{i}/to", say("bounds.fill_backwards"))]
    found = [
        Problem(f"/fills/{i}/{name}", say("bounds.fill_outside"))
        for name in OPEN
        if name in row and not start <= row[name] <= end
    ]
    if not found and row.get("full_to", end) < row.get("full_from", start):
        found.append(Problem(f"/fills/{i}/full_to", say("bounds.fill_full_backwards")))
    return found
