"""The table a crew digs by: what to read at each station, in a column for each tool."""

from __future__ import annotations

from typing import Any

from yardfall.core.units import UnitSystem
from yardfall.papers import figures
from yardfall.papers.drawing.table import Column, Table
from yardfall.papers.model import DrainLine, Job
from yardfall.sentences import say


def station_table(job: Job, line: DrainLine) -> Table:
    """What the crew reads at each station, with room to write what they find."""
    units, stations = job.units, line.stations
    small, large = units.depth_name, units.length_name
    if any(s["line_to_bottom"] is not None for s in stations):
        columns = [Column("String to ground", f"reading, {small}")]
        cells = [[_from_line(s, units)] for s in stations]
        last = [Column("String to bottom", f"tape, {small}", "mark"), Column("exact", small)]
        for row, s in zip(cells, stations, strict=True):
            down = s["line_to_bottom"]
            row += (
                ["", ""]
                if down is None
                else [s["marks"]["line_to_bottom"] or "", figures.depth(down, units)]
            )
        notes = [say("papers.string")]
    elif any(s["rod_at_bottom"] is not None for s in stations):
        unit = line.rod_unit
        columns = [Column("Rod on ground", f"reading, {unit}")]
        cells = [[_from_rod(s, unit, units)] for s in stations]
        last = [Column("Rod on bottom", unit, "mark")]
        for row, s in zip(cells, stations, strict=True):
            row.append(s["marks"]["rod_at_bottom"] or "")
        notes = [say("papers.rod")]
    else:
        columns = [Column("Ground", f"elevation, {large}")]
        cells = [[_about(s, figures.elevation(s["ground"], units))] for s in stations]
        last = [
            Column("Invert", f"elevation, {large}"),
            Column("Cut", f"ground to invert, {small}"),
        ]
        for row, s in zip(cells, stations, strict=True):
            row += [
                figures.elevation(s["invert"], units),
                figures.depth(figures.cut(s, units), units),
            ]
        notes = []
    digs = [figures.dig(s, units) for s in stations]
    head = (
        Column("Station", large, "mark"),
        *columns,
        Column("Dig depth", f"tape, {small}", "mark"),
        Column("exact", small),
        *last,
        Column("As dug", kind="blank"),
        Column("OK", kind="blank"),
    )
    several = len(line.answer["references"]) > 1
    rows = tuple(
        (_station(s, named=several), cell[0], *dig, *cell[1:], "", "")
        for s, cell, dig in zip(stations, cells, digs, strict=True)
    )
    if any(s["source"] == "interpolated" for s in stations):
        notes.append(say("papers.between"))
    notes += [*line.answer["marks"].get("notes", ()), *_levels(line, units)]
    return Table("Stations, from the inlet to the end", head, rows, tuple(notes))


def _levels(line: DrainLine, units: UnitSystem) -> list[str]:
    """Where the levels that readings count from hold, where there are several or instruments."""
    levels = line.answer["references"]
    if not levels or (len(levels) == 1 and levels[0]["kind"] == "line"):
        return []
    if all(level["kind"] == "line" for level in levels):
        return [say("papers.strings", strings=_hung(levels, units))]
    told = "; ".join(
        say(
            "papers.level_at",
            name=level["name"] or level["kind"],
            elevation=figures.elevation(level["elevation"], units),
            unit=units.length_name,
            from_=figures.label_at(level["from"], units),
            to=figures.label_at(level["to"], units),
        )
        for level in levels
    )
    return [say("papers.levels" if len(levels) > 1 else "papers.only_level", levels=told)]


def _hung(levels: list[dict[str, Any]], units: UnitSystem) -> str:
    """How each string hangs to the one that levels count from."""
    first = figures.zero_string(levels)
    told = []
    for level in levels:
        small = level["elevation"] * units.length_m / units.depth_m
        side = "first" if level is first else "lower" if small < 0 else "higher"
        told.append(
            say(
                f"papers.string_{side}",
                name=level["name"],
                from_=figures.label_at(level["from"], units),
                to=figures.label_at(level["to"], units),
                amount=figures.depth_text(abs(small), units),
                first=first["name"],
            )
        )
    return "; ".join(told)


def _station(s: dict[str, Any], *, named: bool) -> str:
    words = {
        "start": "start",
        "outlet": "outlet",
        "bend": "bend",
        "join": "join",
        "crossing": "crossing",
        "grade break": "grade change",
    }
    why = ", ".join(words[w] for w in s["why"] if w in words)
    level = f" [{s['line']}]" if named and s["line"] else ""
    return f"{s['label']}{' ' + why if why else ''}{level}"


def _about(s: dict[str, Any], text: str) -> str:
    return f"≈ {text}" if s["source"] == "interpolated" else text


def _from_line(s: dict[str, Any], units: UnitSystem) -> str:
    if s["line_to_bottom"] is None:
        return ""
    return _about(s, figures.reading(figures.ground_from_line(s), units))


def _from_rod(s: dict[str, Any], unit: str, units: UnitSystem) -> str:
    if s["rod_at_bottom"] is None:
        return ""
    return _about(s, figures.rod(figures.rod_on_ground(s, unit, units), unit))
