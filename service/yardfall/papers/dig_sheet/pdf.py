"""The dig sheet as PDF, by reportlab alone."""

from __future__ import annotations

import io
from collections.abc import Callable
from functools import partial
from typing import Any, Final

from reportlab.lib.colors import black, white
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import inch
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    KeepTogether,
    NextPageTemplate,
    PageBreak,
    PageTemplate,
    Spacer,
    TableStyle,
)
from reportlab.platypus import Table as Grid

from yardfall.core import deadline
from yardfall.core.errors import InputError, TooLargeError
from yardfall.papers.dig_sheet.page import CODE_PT, code_of, profiles
from yardfall.papers.dig_sheet.sheet_text import LineSheet, Sheet, write_sheet
from yardfall.papers.dig_sheet.stake_out import plan_sheet, tags
from yardfall.papers.drawing.drawing import shortened
from yardfall.papers.drawing.pdf_drawing import BOLD, REGULAR, DrawnOn, inked
from yardfall.papers.drawing.pdf_text import (
    BIG,
    BODY,
    BODY_BOLD,
    HEADING,
    LONG_TITLE,
    SMALL,
    TAG,
    TITLE,
    labelled_block,
    table_block,
    text_block,
)
from yardfall.papers.model import Job
from yardfall.sentences import say

PAGES: Final = {"letter": LETTER, "a4": A4}
MARGIN: Final = 0.5 * inch
HEAD: Final = 18.0
NOTES_HIGH: Final = 30.0
NOTE_LINE: Final = 18.0
MOST_LEFT_EMPTY: Final = 120.0
TAG_HIGH: Final = 130.0
CODE_ROOM: Final = 12.0
LEAST_OF_A_LINE: Final = 260.0
"""Room that a branch's part begins in: its heading, its profile and some rows."""
MOST_ROWS: Final = 4000
"""Stations on one PDF: a hundred pages, some five seconds."""


FRAME: Final = [("BOX", (0, 0), (-1, -1), 1.5, black), ("VALIGN", (0, 0), (-1, -1), "MIDDLE")]


def dig_sheet_pdf(job: Job) -> bytes:
    """The sheet's pages, each numbered out of how many. The same plan makes the same bytes."""
    sheet = write_sheet(job)
    rows = sum(len(line.stations.rows) for line in sheet.lines)
    if rows > MOST_ROWS:
        raise InputError.at(
            "/stations", say("bounds.pdf_rows", rows=f"{rows:,}", most=f"{MOST_ROWS:,}")
        )
    size = PAGES[job.title.page]
    wide = size[0] - 2 * MARGIN
    out = io.BytesIO()
    document = BaseDocTemplate(
        out,
        pagesize=size,
        title=inked(sheet.name),
        subject="Dig sheet",
        creator="Yardfall",
        invariant=1,
    )

    on_side = (size[1], size[0])

    def frame(name: str, head: float, page: tuple[float, float] = size) -> Frame:
        room = page[0] - 2 * MARGIN, page[1] - 2 * MARGIN - head
        return Frame(MARGIN, MARGIN, *room, 0, 0, 0, 0, id=name)

    def first(_canvas: Canvas, _: Any) -> None:
        deadline.check()

    def later(canvas: Canvas, _: Any) -> None:
        deadline.check()
        across, top = canvas._pagesize[0] - MARGIN, canvas._pagesize[1] - MARGIN
        canvas.setFont(BOLD, 10)
        canvas.drawString(MARGIN, top - 9, inked(shortened(sheet.name, 60)))
        canvas.setLineWidth(1.5)
        canvas.line(MARGIN, top - 13, across, top - 13)

    document.addPageTemplates(
        [
            PageTemplate("first", frame("first", 0), autoNextPageTemplate="later", onPage=first),
            PageTemplate("later", frame("later", HEAD), onPage=later),
            PageTemplate("wide", frame("wide", HEAD, on_side), onPage=later, pagesize=on_side),
        ]
    )

    def foot(canvas: Canvas, pages: int) -> None:
        _foot(canvas, sheet, pages)

    try:
        document.build(_story(job, sheet, wide), canvasmaker=partial(Numbered, foot))
    except TooLargeError:
        deadline.check()  # raised anew: reportlab has written into the other's sentence
        raise
    return out.getvalue()


class Numbered(Canvas):
    """Pages that get their foot when it is known how many there are."""

    def __init__(self, foot: Callable[[Canvas, int], None], *given: Any, **named: Any) -> None:
        super().__init__(*given, **named)
        self._draw_foot = foot
        self._drawn: list[dict[str, Any]] = []

    def showPage(self) -> None:  # noqa: N802 - reportlab's own name
        """Keep the page until all are drawn."""
        self._drawn.append(dict(self.__dict__))
        self._startPage()

    def save(self) -> None:
        """Write every page with its foot."""
        for state in self._drawn:
            self.__dict__.update(state)
            self._draw_foot(self, len(self._drawn))
            super().showPage()
        super().save()


def _story(job: Job, sheet: Sheet, wide: float) -> list[Flowable]:
    story: list[Flowable] = [_title(job, sheet, wide), _answer(sheet, wide), Spacer(1, 5)]
    for i, (line, drawn) in enumerate(zip(sheet.lines, profiles(job), strict=True)):
        if i:
            story += [Spacer(1, 8), CondPageBreak(LEAST_OF_A_LINE)]
        story += _line(job, sheet, line, wide, DrawnOn(drawn), first=i == 0)
    if sheet.quantities:
        story.append(KeepTogether([text_block("Quantities", HEADING), *_bills(sheet)]))
    heads = (sheet.name, *(text for _, text in sheet.facts), *(line.name for line in sheet.lines))
    if any(inked(text) != text for text in heads):
        story.append(text_block(say("papers.no_glyph"), SMALL))
    story += [_cautions(sheet, wide), Spacer(1, 5), Notes(wide)]
    return story + _plan(job) + _tags(job, wide)


def _plan(job: Job) -> list[Flowable]:
    """The plan on a page of its own, the ties beneath it."""
    plan = plan_sheet(job)
    if plan is None:
        return []
    return [
        NextPageTemplate("wide" if plan.wide else "later"),
        PageBreak(),
        text_block(plan.heading, HEADING),
        Spacer(1, 3),
        DrawnOn(plan.drawing),
        Spacer(1, 2),
        *(text_block(note, SMALL) for note in plan.notes),
        *(table_block(plan.ties, plan.drawing.width) if plan.ties else []),
        Rest(plan.drawing.width),
    ]


def _tags(job: Job, wide: float) -> list[Flowable]:
    """Tags two in a row, with lines to cut along."""
    every = tags(job)
    if not every:
        return []
    cells = []
    for tag in every:
        deadline.check()
        named = f"{tag.job}, {tag.line}" if tag.line else tag.job
        told = [text_block(text, BIG) for text in tag.figures]
        cells.append([text_block(shortened(named, 60), BODY), text_block(tag.label, TAG), *told])
    rows = [[cells[i], cells[i + 1] if i + 1 < len(cells) else ""] for i in range(0, len(cells), 2)]
    style = [
        ("GRID", (0, 0), (-1, -1), 0.75, black, None, (4, 3)),
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
        ("LEFTPADDING", (0, 0), (-1, -1), 12),
    ]
    grid = Grid(rows, colWidths=[wide / 2] * 2, rowHeights=TAG_HIGH, style=TableStyle(style))
    return [
        NextPageTemplate("later"),
        PageBreak(),
        text_block(say("papers.tags"), HEADING),
        Spacer(1, 4),
        grid,
    ]


def _foot(canvas: Canvas, sheet: Sheet, pages: int) -> None:
    canvas.setFont(REGULAR, 7.5)
    canvas.drawRightString(
        canvas._pagesize[0] - MARGIN, MARGIN * 0.55, f"Page {canvas.getPageNumber()} of {pages}"
    )
    if sheet.stop:
        canvas.setFont(BOLD, 8)
        canvas.drawString(MARGIN, MARGIN * 0.55, sheet.sign)


def _title(job: Job, sheet: Sheet, wide: float) -> Grid:
    code = code_of(job)
    if code is not None:
        wide -= CODE_PT + CODE_ROOM
    facts = Grid(
        [[text_block(label, BODY_BOLD), text_block(text, BODY)] for label, text in sheet.facts],
        colWidths=[38, wide * 0.42 - 38],
        style=TableStyle(
            [
                ("LINEBELOW", (1, 0), (1, -1), 0.75, black),
                ("TOPPADDING", (0, 0), (-1, -1), 0.5),
                ("BOTTOMPADDING", (0, 0), (-1, -1), 1.5),
                ("LEFTPADDING", (0, 0), (-1, -1), 2),
            ]
        ),
    )
    cells = [[text_block(sheet.name, TITLE if len(sheet.name) <= 50 else LONG_TITLE), facts]]
    padding = [("TOPPADDING", (0, 0), (-1, -1), 2), ("BOTTOMPADDING", (0, 0), (-1, -1), 4)]
    columns = [wide * 0.56, wide * 0.44]
    if code is not None:
        drawn, said = code
        cells[0] = [[cells[0][0], text_block(said, SMALL)], facts, DrawnOn(drawn, framed=False)]
        columns.append(CODE_PT + CODE_ROOM)
        padding += [("TOPPADDING", (2, 0), (2, 0), 0), ("BOTTOMPADDING", (2, 0), (2, 0), 0)]
    return Grid(cells, colWidths=columns, style=TableStyle(FRAME + padding))


def _answer(sheet: Sheet, wide: float) -> Grid:
    said = [text_block(sheet.sentence, BIG)]
    if sheet.stop:
        said.append(text_block(f"{sheet.sign}.", BIG))
    if sheet.conditions:
        said.append(text_block(f"{sheet.sign}:", BODY_BOLD))
        said += [text_block(f"\u2022 {text}", BODY_BOLD) for text in sheet.conditions]
    said.append(text_block(sheet.pipe, BODY))
    if sheet.ground:
        said.append(text_block(sheet.ground, BODY_BOLD))
    frame = [("BOX", (0, 0), (-1, -1), 4 if sheet.stop else 1.5, black)]
    padding = [("TOPPADDING", (0, 0), (-1, -1), 3), ("BOTTOMPADDING", (0, 0), (-1, -1), 4)]
    return Grid([[said]], colWidths=[wide], style=TableStyle(frame + padding))


def _line(
    job: Job, sheet: Sheet, line: LineSheet, wide: float, drawn: DrawnOn, *, first: bool
) -> list[Flowable]:
    story: list[Flowable] = []
    if len(sheet.lines) > 1:
        said = line.joins if first else f"{line.joins} {line.sentence}"
        story.append(text_block(line.name, BIG))
        if said:
            story.append(text_block(said, BODY))
    story += [text_block(f"! {text}", BODY_BOLD) for text in line.warnings]
    story.append(Spacer(1, 3))
    story += [drawn, Spacer(1, 2)]
    if first and not any(True for _ in job.placed()):
        story.append(text_block(say("papers.no_sketch"), SMALL))
    story += table_block(line.grades, wide)
    story += table_block(line.stations, wide)
    if line.covers:
        story += table_block(line.covers, wide)
    if line.fills:
        story += table_block(line.fills, wide)
    if line.crossings:
        story += table_block(line.crossings, wide)
    end = "Outlet" if first else "End of the branch"
    story.append(KeepTogether([text_block(end, HEADING), text_block(line.end, BODY), Spacer(1, 3)]))
    return story


def _bills(sheet: Sheet) -> list[Flowable]:
    several = len(sheet.lines) > 1
    return [
        labelled_block(([("", f"{name}.")] if several else []) + [(a, f"{b}.") for a, b in items])
        for name, items in sheet.quantities
    ]


def _cautions(sheet: Sheet, wide: float) -> Flowable:
    half = (len(sheet.cautions) + 1) // 2
    numbered = [text_block(f"{i}. {text}", SMALL) for i, text in enumerate(sheet.cautions, 1)]
    columns = Grid(
        [[numbered[:half], numbered[half:]]],
        colWidths=[wide / 2] * 2,
        style=TableStyle(
            [("VALIGN", (0, 0), (-1, -1), "TOP"), ("LEFTPADDING", (0, 0), (-1, -1), 0),
             ("RIGHTPADDING", (0, 0), (-1, -1), 6), ("TOPPADDING", (0, 0), (-1, -1), 1),
             ("BOTTOMPADDING", (0, 0), (-1, -1), 0)]
        ),
    )  # fmt: skip
    return KeepTogether([text_block("Before you dig", HEADING), columns])


class Notes(Flowable):
    """A ruled frame to write in, as high as the page has room for: no page is half empty."""

    def __init__(self, wide: float) -> None:
        super().__init__()
        self.width, self.height = wide, NOTES_HIGH

    def wrap(self, _wide: float, high: float) -> tuple[float, float]:
        """Take what is left of the page."""
        if high >= NOTES_HIGH:
            self.height = high - 1
        return self.width, self.height

    def draw(self) -> None:
        """The frame and its name."""
        self.canv.setStrokeColor(black)
        self.canv.setFillColor(white)
        self.canv.setLineWidth(0.75)
        self.canv.rect(0, 0, self.width, self.height)
        self.canv.setLineWidth(0.25)
        y = self.height - 2 * NOTE_LINE
        while y > NOTE_LINE / 2:
            self.canv.line(4, y, self.width - 4, y)
            y -= NOTE_LINE
        self.canv.setFillColor(black)
        self.canv.setFont(BOLD, 9)
        self.canv.drawString(4, self.height - 12, "Notes")


class Rest(Notes):
    """What is left of a page as room for notes, where there is enough; never a page more."""

    def wrap(self, _wide: float, high: float) -> tuple[float, float]:
        """All that is left, or nothing."""
        self.height = high - 1 if high >= MOST_LEFT_EMPTY else 0.0
        return self.width, self.height

    def draw(self) -> None:
        """The frame, where it has any height."""
        if self.height:
            super().draw()
