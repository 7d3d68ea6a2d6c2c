"""An address as a QR code (ISO/IEC 18004), which a phone's camera opens. reportlab encodes it."""

from __future__ import annotations

from itertools import groupby
from typing import Final

from reportlab.graphics.barcode.qrencoder import QRCode, QRErrorCorrectLevel

from yardfall.papers.drawing.drawing import Drawing, Stroke

QUIET: Final = 4
"""Modules left white all around (ISO/IEC 18004, "quiet zone")."""
EDGE_PT: Final = 0.05
"""So much line about each run of dark modules that no seam shows between two rows."""


def qr_code(text: str, side_pt: float, about: str) -> Drawing:
    """A square of that side which reads as a text; 15 % of it may be dirty (level M)."""
    code = QRCode(None, QRErrorCorrectLevel.M)
    code.addData(text)
    code.make()
    step = side_pt / (code.getModuleCount() + 2 * QUIET)
    drawing = Drawing(side_pt, side_pt, about)
    for down, row in enumerate(code.modules, QUIET):
        for dark, run in groupby(enumerate(row, QUIET), key=lambda module: bool(module[1])):
            if dark:
                columns = [column for column, _ in run]
                left, right = columns[0] * step, (columns[-1] + 1) * step
                top, bottom = down * step, (down + 1) * step
                corners = ((left, top), (right, top), (right, bottom), (left, bottom))
                drawing.marks.append(Stroke(corners, EDGE_PT, (), True, "black"))
    return drawing
