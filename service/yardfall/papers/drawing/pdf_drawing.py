"""A drawing on a PDF page, and the faces that PDFs are written in."""

from __future__ import annotations

from typing import Final

from reportlab.lib.colors import black, white
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.platypus import Flowable

from yardfall.papers.drawing.drawing import Disc, Drawing, Label, Stroke

REGULAR: Final = "Vera"
BOLD: Final = "VeraBd"
FILLS: Final = {"black": black, "white": white}

for _face in (REGULAR, BOLD):
    pdfmetrics.registerFont(TTFont(_face, f"{_face}.ttf"))

_glyphs: Final = set(pdfmetrics.getFont(REGULAR).face.charToGlyph)
LIKE: Final = {"−": "-", "≈": "~", "\u00a0": " ", "→": ">", "\u2011": "-"}
"""What stands for a character that the face has not got."""


def inked(text: str) -> str:
    """A text in characters the face has; the others become a question mark."""
    return "".join(c if ord(c) in _glyphs else LIKE.get(c, "?") for c in text)


class DrawnOn(Flowable):
    """A drawing as a block on a page, framed unless not."""

    def __init__(self, drawing: Drawing, *, framed: bool = True) -> None:
        super().__init__()
        self.drawing, self.framed = drawing, framed
        self.width, self.height = drawing.width, drawing.height

    def wrap(self, _wide: float, _high: float) -> tuple[float, float]:
        """Its size, whatever room there is: drawings are to scale."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw every mark, y turned up."""
        canvas = self.canv
        canvas.setStrokeColor(black)
        canvas.setLineJoin(1)
        if self.framed:
            canvas.setLineWidth(0.75)
            canvas.rect(0, 0, self.width, self.height)
        for mark in self.drawing.marks:
            if isinstance(mark, Label):
                self._label(mark)
            elif isinstance(mark, Disc):
                canvas.setLineWidth(1)
                canvas.setFillColor(FILLS[mark.fill])
                canvas.circle(mark.x, self.height - mark.y, mark.radius, fill=1)
            else:
                self._stroke(mark)

    def _stroke(self, mark: Stroke) -> None:
        canvas = self.canv
        canvas.setLineWidth(mark.width)
        canvas.setDash(list(mark.dash))
        path = canvas.beginPath()
        for i, (x, y) in enumerate(mark.points):
            (path.lineTo if i else path.moveTo)(x, self.height - y)
        if mark.closed:
            path.close()
        if mark.fill != "none":
            canvas.setFillColor(FILLS[mark.fill])
        canvas.drawPath(path, fill=int(mark.fill != "none"))
        canvas.setDash()

    def _label(self, mark: Label) -> None:
        canvas, face = self.canv, BOLD if mark.bold else REGULAR
        text = inked(mark.text)
        wide = pdfmetrics.stringWidth(text, face, mark.size)
        x = mark.x - {"start": 0.0, "middle": wide / 2, "end": wide}[mark.anchor]
        y = self.height - mark.y
        canvas.setFillColor(white)
        canvas.rect(x - 1, y - mark.size * 0.2, wide + 2, mark.size * 0.98, stroke=0, fill=1)
        canvas.setFillColor(black)
        canvas.setFont(face, mark.size)
        canvas.drawString(x, y, text)
