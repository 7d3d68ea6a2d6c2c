"""A drawing as SVG: presentation attributes only, so that it lives under a strict policy."""

from __future__ import annotations

from xml.sax.saxutils import escape, quoteattr

from yardfall.papers.drawing.drawing import Disc, Drawing, Label, Stroke

FACES = "DejaVu Sans, Verdana, Arial, sans-serif"


def to_svg(drawing: Drawing, *, standalone: bool = False) -> str:
    """SVG markup, every text escaped; with an XML declaration where it stands `standalone`.

    Its size is in points, so that a printed drawing keeps its scale.
    """
    w, h = f"{drawing.width:.1f}", f"{drawing.height:.1f}"
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{w}pt" height="{h}pt" '
        f'viewBox="0 0 {w} {h}" role="img" aria-label={quoteattr(drawing.about)} '
        f'font-family={quoteattr(FACES)} stroke-linejoin="round" stroke-linecap="round">'
    )
    paper = f'<rect width="{w}" height="{h}" fill="white"/>' if standalone else ""
    body = "".join(_mark(mark) for mark in drawing.marks)
    declaration = '<?xml version="1.0" encoding="UTF-8"?>\n' if standalone else ""
    return f"{declaration}{head}<title>{escape(drawing.about)}</title>{paper}{body}</svg>"


def _mark(mark: Stroke | Disc | Label) -> str:
    if isinstance(mark, Disc):
        return (
            f'<circle cx="{mark.x:.2f}" cy="{mark.y:.2f}" r="{mark.radius:g}" '
            f'fill="{mark.fill}" stroke="black"/>'
        )
    if isinstance(mark, Label):
        weight = ' font-weight="bold"' if mark.bold else ""
        return (
            f'<text x="{mark.x:.2f}" y="{mark.y:.2f}" font-size="{mark.size:g}" '
            f'text-anchor="{mark.anchor}"{weight} paint-order="stroke" stroke="white" '
            f'stroke-width="2.5">{escape(mark.text)}</text>'
        )
    points = " ".join(f"{x:.2f},{y:.2f}" for x, y in mark.points)
    tag = "polygon" if mark.closed else "polyline"
    dash = f' stroke-dasharray="{" ".join(f"{d:g}" for d in mark.dash)}"' if mark.dash else ""
    return (
        f'<{tag} points="{points}" fill="{mark.fill}" stroke="black" '
        f'stroke-width="{mark.width:g}"{dash}/>'
    )
