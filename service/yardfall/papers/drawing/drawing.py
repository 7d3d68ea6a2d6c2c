"""Drawings as lists of marks, in points (1/72 in) from the upper left corner.

One drawing is written as SVG for a page and onto a PDF alike. Everything is black on white.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

Points = Sequence[tuple[float, float]]
Anchor = Literal["start", "middle", "end"]
Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Stroke:
    """A line through points; `fill` closes and fills it."""

    points: tuple[tuple[float, float], ...]
    width: float = 1.0
    dash: tuple[float, ...] = ()
    closed: bool = False
    fill: Literal["none", "black", "white"] = "none"


@dataclass(frozen=True)
class Disc:
    """A circle."""

    x: float
    y: float
    radius: float
    fill: Literal["black", "white"] = "black"


@dataclass(frozen=True)
class Label:
    """Text whose baseline starts, ends or is centred at a point; on white so lines stay behind."""

    x: float
    y: float
    text: str
    size: float = 9.0
    anchor: Anchor = "start"
    bold: bool = False


@dataclass
class Drawing:
    """Marks in the order they are drawn, on a sheet of `width` × `height` points."""

    width: float
    height: float
    about: str
    marks: list[Stroke | Disc | Label] = field(default_factory=list)

    def line(
        self,
        points: Iterable[tuple[float, float]],
        width: float = 1.0,
        dash: tuple[float, ...] = (),
    ) -> None:
        """Draw a line."""
        self.marks.append(Stroke(tuple(points), width, dash))

    def shape(self, points: Points, fill: Literal["black", "white"]) -> None:
        """Draw a filled shape with a black edge."""
        self.marks.append(Stroke(tuple(points), 1.0, (), True, fill))

    def disc(
        self, x: float, y: float, radius: float, fill: Literal["black", "white"] = "black"
    ) -> None:
        """Draw a circle."""
        self.marks.append(Disc(x, y, radius, fill))

    def label(
        self,
        x: float,
        y: float,
        text: str,
        size: float = 9.0,
        *,
        anchor: Anchor = "start",
        bold: bool = False,
    ) -> None:
        """Write a text, kept inside the drawing by guessing its width."""
        wide = text_width(text, size, bold=bold)
        shift = {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
        left = min(max(x - shift, 1.0), max(1.0, self.width - wide - 1))
        self.marks.append(Label(left + shift, y, text, size, anchor, bold))

    def place(self, other: Drawing, x: float, y: float) -> None:
        """Draw another drawing's marks with its corner at a point."""
        for mark in other.marks:
            if isinstance(mark, Stroke):
                moved = tuple((px + x, py + y) for px, py in mark.points)
                self.marks.append(replace(mark, points=moved))
            else:
                self.marks.append(replace(mark, x=mark.x + x, y=mark.y + y))


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """A generous guess of a text's width in a sans-serif face."""
    return len(text) * size * (0.66 if bold else 0.6)


def text_box(x: float, y: float, text: str, size: float, anchor: Anchor) -> Box:
    """The box that a text takes: left, top, right, bottom."""
    wide = text_width(text, size)
    left = x - {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
    return left, y - size, left + wide, y + 0.2 * size


def overlap(one: Box, other: Box) -> bool:
    """Whether two boxes share ground."""
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def shortened(text: str, most: int) -> str:
    """A name cut to fit a drawing; the tables carry it in full."""
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def apart(places: Sequence[float], least: float, always: Sequence[int] = ()) -> list[int]:
    """Indices of places (ascending) at least `least` apart; those in `always` come first."""
    kept: list[int] = []
    for i in [*always, *range(len(places))]:
        if all(abs(places[i] - places[j]) >= least for j in kept):
            kept.append(i)
    return sorted(kept)
