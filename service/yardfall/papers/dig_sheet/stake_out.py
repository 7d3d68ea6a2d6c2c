"""Staking out: the plan on a page of its own, the tape ties beneath it, a tag for each stake."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from yardfall.papers import figures
from yardfall.papers.drawing.drawing import Drawing, shortened, text_width
from yardfall.papers.drawing.plan_sketch import beyond, draw_plan, scale_of, scale_text
from yardfall.papers.drawing.table import Column, Table
from yardfall.papers.drawing.ties import LONG_TAPE_M, StakeOut, Tie, distance_text, stake_out
from yardfall.papers.model import DrainLine, Job
from yardfall.sentences import say

UPRIGHT_PT: Final = {"letter": (540.0, 702.0), "a4": (523.3, 751.9)}
"""What a page leaves between half-inch margins under its running head: wide and high."""
RUNNING_HEAD_PT: Final = 18.0
WORDS_PT: Final = 22.0
"""Headings and the room between parts; notes come on top."""
NOTE_PT: Final = 8.6
NOTE_CHARACTER_PT: Final = 3.8
ROW_PT: Final = 16.5
LINE_PT: Final = 11.5
CELL_PT: Final = 9.5
PADDING_PT: Final = 6.0
LEAST_SHARE: Final = 0.4
"""Of the page that the plan takes at the least; ties that then find no room run on."""
PHONE_PT: Final = (272.0, 330.0)


@dataclass(frozen=True)
class PlanSheet:
    """The plan's page: its heading, its drawing for paper and for a phone, what is said beside it
    and the ties. `wide` where the page lies on its side."""

    heading: str
    drawing: Drawing
    small: Drawing
    notes: tuple[str, ...]
    ties: Table | None
    wide: bool


@dataclass(frozen=True)
class Tag:
    """What stands on the tag of a station's stake."""

    job: str
    line: str
    label: str
    figures: tuple[str, ...]


def plan_sheet(job: Job) -> PlanSheet | None:
    """The plan of what lies on a map; None where nothing does."""
    stakes = stake_out(job)
    ties, notes = _ties(job, stakes)
    across, high = UPRIGHT_PT[job.title.page]
    rows = 1 + sum(_lines(row, ties, across) for row in ties.rows) if ties else 0.0
    said = (say("papers.plan_said"), *notes)
    lines = 1 + sum(1 + int(len(text) * NOTE_CHARACTER_PT / across) for text in said)
    words = WORDS_PT + NOTE_PT * lines  # one line more may name what lies beyond
    sizes = []
    for wide, tall in ((across, high), (high + RUNNING_HEAD_PT, across - RUNNING_HEAD_PT)):
        sizes.append((wide, max(LEAST_SHARE * tall, tall - words - ROW_PT * rows)))
    ratios = [scale_of(job, *size, stakes) for size in sizes]
    if ratios[0] is None or ratios[1] is None:
        return None
    on_side = ratios[1] < ratios[0]
    size, ratio = sizes[on_side], ratios[on_side]
    drawing, small = (draw_plan(job, *room, stakes) for room in (size, PHONE_PT))
    assert drawing is not None
    assert small is not None
    assert ratio is not None
    left_out = beyond(job, *size, stakes)
    if left_out:
        said = (*said, say("papers.beyond", names=", ".join(left_out)))
    scale = scale_text(ratio, us=job.units.name == "us")
    heading = say("papers.plan_scale", scale=scale, up=job.up)
    return PlanSheet(heading, drawing, small, said, ties, on_side)


def _lines(row: tuple[str, ...], table: Table, wide: float) -> float:
    """How many lines high a row of the table is, the room between rows counted in."""
    whole = sum(column.share for column in table.columns)
    return max(
        1
        + (text_width(text, CELL_PT) > wide * column.share / whole - PADDING_PT) * LINE_PT / ROW_PT
        for text, column in zip(row, table.columns, strict=True)
    )


def _ties(job: Job, stakes: StakeOut) -> tuple[Table | None, tuple[str, ...]]:
    """The table of ties, two stations a row, and what is said of it."""
    among = stakes.corners
    if not among:
        return None, (say("papers.no_corners"),)
    cells = [
        (_label(job, job.lines[k], station["label"]), *_told(tie, job))
        for k, ties in stakes.ties.items()
        for station, tie in zip(job.lines[k].stations, ties, strict=True)
    ]
    half = (len(cells) + 1) // 2
    rest = [*cells[half:], ("", "", "")]
    rows = tuple((*cells[i], *rest[i]) for i in range(half))
    parts = [
        say(
            "papers.corner_letters",
            name=name,
            letters=" ".join(c.letter for c in among if c.name == name),
        )
        for name in dict.fromkeys(corner.name for corner in among)
    ]
    head = (
        Column("Station", kind="word", share=1.3),
        Column("One tape", kind="word", share=1.9),
        Column("Other tape", kind="word", share=2.1),
    )
    notes = [say("papers.ties", corners="; ".join(parts))]
    if stakes.from_stakes:
        notes.append(say("papers.ties_from_stakes"))
    if stakes.lacking:
        notes.append(say("papers.ties_none", most=job.units.length_text(LONG_TAPE_M)))
    return Table("Tape ties", (*head, *head), rows), tuple(notes)


def _label(job: Job, line: DrainLine, label: str) -> str:
    return label if line is job.main else f"{shortened(line.name, 16)} {label}"


def _told(tie: Tie | None, job: Job) -> tuple[str, str]:
    if tie is None:
        return "", ""
    first, second = (
        f"{corner.letter}: {distance_text(length_m, job.units)}"
        for corner, length_m in ((tie.first, tie.first_m), (tie.second, tie.second_m))
    )
    return first, second


def tags(job: Job) -> tuple[Tag, ...]:
    """A tag for each station, where they are asked for."""
    if not job.tags:
        return ()
    units = job.units
    found = []
    for line in job.lines:
        for station in line.stations:
            dig, _ = figures.dig(station, units)
            mark = dig if dig == "none" else f"{dig} {units.depth_name}"
            told = [say("papers.tag_dig", mark=mark)]
            string = station["marks"]["line_to_bottom"]
            if string:
                told.append(say("papers.tag_string", mark=f"{string} {units.depth_name}"))
            rod = station["marks"]["rod_at_bottom"]
            if rod:
                told.append(say("papers.tag_rod", mark=f"{rod} {line.rod_unit}"))
            name = "" if line is job.main else line.name
            found.append(Tag(job.name, name, station["label"], tuple(told)))
    return tuple(found)
