"""The stations as CSV (RFC 4180), safe to open in a spreadsheet."""

from __future__ import annotations

import csv
import io
from typing import Any, Final

from yardfall.core.units import ROD_UNITS_M
from yardfall.papers import figures
from yardfall.papers.dig_sheet.sheet_text import overall_of
from yardfall.papers.model import DrainLine, Job

FORMULA_STARTS: Final = "=+-@＝＋－＠|%\t\r"
"""A cell of text that begins with one of these, after blanks, could be run as a formula."""


def stations_csv(job: Job) -> bytes:
    """One row a station, every line of the drain, numbers as numbers in the caller's units.

    Tape marks are decimals: `1/2` would open as a date. UTF-8 with a byte order mark, which
    spreadsheets need to read it as such.
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, quoting=csv.QUOTE_NONNUMERIC)
    small, large = job.units.depth_name, job.units.length_name
    rod_units = {line.rod_unit for line in job.lines}
    rod = f"rod_on_ground_{rod_units.pop()}" if len(rod_units) == 1 else "rod_on_ground"
    writer.writerow(
        [
            "line", "station", f"at_{large}", "x", "y", f"ground_{large}", f"invert_{large}",
            f"cut_to_invert_{small}", f"dig_depth_{small}", f"dig_mark_{small}", f"cover_{small}",
            f"line_to_ground_{small}", f"line_to_bottom_{small}", f"line_mark_{small}",
            rod, rod.replace("ground", "bottom"), "grade_percent", "why", "ground_from", "overall",
            rod.replace("on_ground", "mark"), f"soil_to_lay_{small}",
        ]
    )  # fmt: skip
    for line in job.lines:
        for station in line.stations:
            writer.writerow([safe(cell) for cell in _row(job, line, station)])
    return b"\xef\xbb\xbf" + out.getvalue().encode("utf-8")


def _row(job: Job, line: DrainLine, s: dict[str, Any]) -> list[Any]:
    units = job.units
    strung, rodded = s["line_to_bottom"] is not None, s["rod_at_bottom"] is not None
    digits = 4 if ROD_UNITS_M[line.rod_unit] > 0.1 else 2
    return [
        line.name,
        s["label"],
        s["at"],
        s["x"],
        s["y"],
        s["ground"],
        s["invert"],
        round(figures.cut(s, units), 3),
        s["dig_depth"],
        decimal(s["marks"]["dig_depth"]),
        s["cover"],
        round(figures.ground_from_line(s), 3) if strung else None,
        s["line_to_bottom"],
        decimal(s["marks"]["line_to_bottom"]) if s["marks"]["line_to_bottom"] else None,
        round(figures.rod_on_ground(s, line.rod_unit, units), digits) if rodded else None,
        s["rod_at_bottom"],
        s["grade_percent"],
        ", ".join(s["why"]),
        s["source"],
        overall_of(line.answer["answer"]),
        decimal(s["marks"]["rod_at_bottom"]) if s["marks"]["rod_at_bottom"] else None,
        s.get("fill"),  # not in a plan kept from before
    ]


def decimal(mark: str) -> float:
    """A mark as a number: `23 1/2` is 23.5, `-1/4` is -0.25, `4.205` is 4.205."""
    sign = -1.0 if mark.startswith("-") else 1.0
    total = 0.0
    for part in mark.removeprefix("-").split():
        over, _, under = part.partition("/")
        total += float(over) / float(under or 1)
    return sign * total


def safe(cell: Any) -> Any:
    """A text that no spreadsheet takes for a formula; numbers as they are, nothing as nothing."""
    if cell is None:
        return ""
    if isinstance(cell, str) and cell.lstrip()[:1] and cell.lstrip()[0] in FORMULA_STARTS:
        return "'" + cell
    return cell
