"""Texts and tables on a PDF page."""

from __future__ import annotations

from typing import Final
from xml.sax.saxutils import escape

from reportlab.lib.colors import black
from reportlab.lib.enums import TA_LEFT, TA_RIGHT
from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Flowable, KeepTogether, Paragraph, Spacer, TableStyle
from reportlab.platypus import Table as Grid

from yardfall.core import deadline
from yardfall.papers.drawing.pdf_drawing import BOLD, REGULAR, inked
from yardfall.papers.drawing.table import Column, Table


def _style(size: float, *, bold: bool = False, align: int = TA_LEFT) -> ParagraphStyle:
    return ParagraphStyle(
        f"s{size}{bold}{align}",
        fontName=BOLD if bold else REGULAR,
        fontSize=size,
        leading=size * 1.18,
        alignment=align,
        textColor=black,
        splitLongWords=1,
    )


TITLE: Final = _style(17, bold=True)
LONG_TITLE: Final = _style(11, bold=True)
HEADING: Final = _style(10.5, bold=True)
BIG: Final = _style(13, bold=True)
BODY: Final = _style(9)
BODY_BOLD: Final = _style(9, bold=True)
SMALL: Final = _style(7.2)
TAG: Final = _style(40, bold=True)
CELL: Final = {
    "word": _style(9.5),
    "figure": _style(10.5, align=TA_RIGHT),
    "mark": _style(13.5, bold=True, align=TA_RIGHT),
    "blank": _style(10),
}
COLUMN: Final = _style(7.5, bold=True, align=TA_RIGHT)
COLUMN_LEFT: Final = _style(7.5, bold=True)
STATION: Final = _style(13.5, bold=True)
LINES: Final = [
    ("GRID", (0, 0), (-1, -1), 0.75, black),
    ("LINEBELOW", (0, 0), (-1, 0), 1.8, black),
    ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
    ("VALIGN", (0, 1), (-1, -1), "MIDDLE"),
    ("TOPPADDING", (0, 0), (-1, -1), 1.5),
    ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
    ("LEFTPADDING", (0, 0), (-1, -1), 3),
    ("RIGHTPADDING", (0, 0), (-1, -1), 3),
]
SHARES: Final[dict[str, float]] = {"word": 2.2, "figure": 1.0, "mark": 1.25, "blank": 1.3}


def text_block(text: str, style: ParagraphStyle) -> Paragraph:
    """A text, set in a style, none of it read as markup."""
    return Paragraph(escape(inked(text)), style)


def labelled_block(items: list[tuple[str, str]]) -> Paragraph:
    """Labels in bold, each before its text, run together."""
    words = [
        f'<font name="{BOLD}">{escape(inked(label))}:</font> {escape(inked(text))}'
        if label
        else escape(inked(text))
        for label, text in items
    ]
    return Paragraph(" ".join(words), BODY)


def table_block(table: Table, wide: float) -> list[Flowable]:
    """A table under its heading; a long one runs over pages with its head repeated."""
    is_stations = table.columns[0].kind == "mark"
    shares = [SHARES[c.kind] for c in table.columns]
    if is_stations:
        shares[0], shares[-1] = 2.0, 0.6
    else:
        shares = [c.share or (2.8 if c.kind == "mark" else 2.0) for c in table.columns]
    total = sum(shares)
    rows: list[list[Paragraph]] = [[_heading(c, i) for i, c in enumerate(table.columns)]]
    for row in table.rows:
        deadline.check()
        cells = [text_block(text, CELL[c.kind]) for text, c in zip(row, table.columns, strict=True)]
        if is_stations:
            label, _, why = row[0].partition(" ")
            small = f' <font size="8" name="{REGULAR}">{escape(inked(why))}</font>' if why else ""
            cells[0] = Paragraph(escape(label) + small, STATION)
        rows.append(cells)
    grid = Grid(
        rows,
        colWidths=[wide * share / total for share in shares],
        repeatRows=1,
        style=TableStyle(LINES),
    )
    heading = text_block(table.title, HEADING)
    notes = [text_block(note, SMALL) for note in table.notes]
    if len(table.rows) <= 6:
        return [KeepTogether([heading, Spacer(1, 2), grid, *notes, Spacer(1, 3)])]
    heading.keepWithNext = 1
    return [heading, Spacer(1, 2), grid, *notes, Spacer(1, 3)]


def _heading(column: Column, i: int) -> Paragraph:
    unit = f'<br/><font name="{REGULAR}">{escape(column.unit)}</font>' if column.unit else ""
    left = column.kind in ("word", "blank") or i == 0
    return Paragraph(f"{escape(column.head)}{unit}", COLUMN_LEFT if left else COLUMN)
