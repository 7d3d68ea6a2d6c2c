"""Names put on a drawing: near what they name where there is room, else aside with a leader."""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterator
from typing import Final

import numpy as np

from yardfall.core import deadline
from yardfall.papers.drawing.drawing import Anchor, Box, Drawing, overlap, text_box, text_width

RINGS_PT: Final = (20.0, 34.0, 50.0, 70.0, 95.0, 125.0, 160.0)
WAYS: Final = 16
GAP_PT: Final = 1.5
LINE_STEP_PT: Final = 4.0
CELL_PT: Final = 16.0
"""What is taken is looked up by squares of this size, so that many names take little time."""


class Lettering:
    """Room on a drawing that is taken, and names put where there is some."""

    def __init__(self, drawing: Drawing, *, below: float, size: float) -> None:
        """`below` is the lowest that a name may stand, in points from the top."""
        self.drawing, self.size = drawing, size
        self._cells: dict[tuple[int, int], list[Box]] = defaultdict(list)
        self._room: Box = (2.0, 2.0, drawing.width - 2, below)

    def take(self, box: Box) -> None:
        """Keep names out of a box."""
        for cell in _cells_of(box):
            self._cells[cell].append(box)

    def _is_taken(self, box: Box) -> bool:
        return any(
            overlap(box, other) for cell in _cells_of(box) for other in self._cells.get(cell, ())
        )

    def take_line(self, points: list[tuple[float, float]], half: float = 2.0) -> None:
        """Keep names off a line."""
        for (x0, y0), (x1, y1) in itertools.pairwise(points):
            count = int(max(1.0, np.hypot(x1 - x0, y1 - y0) // LINE_STEP_PT))
            for t in np.linspace(0, 1, count + 1).tolist():
                x, y = x0 + t * (x1 - x0), y0 + t * (y1 - y0)
                self.take((x - half, y - half, x + half, y + half))

    def name(
        self, point: tuple[float, float], text: str, *, bold: bool = False, always: bool = True
    ) -> bool:
        """Name a point; answers whether there was room. `always`: then without room as well."""
        deadline.check()
        x, y = point
        near: list[tuple[float, float, Anchor]] = [
            (x + 6, y + 3, "start"),
            (x - 6, y + 3, "end"),
            (x, y - 7, "middle"),
            (x, y + 14, "middle"),
            (x + 6, y - 6, "start"),
            (x - 6, y - 6, "end"),
            (x + 6, y + 14, "start"),
            (x - 6, y + 14, "end"),
        ]
        for at_x, at_y, anchor in near:
            if self._put(at_x, at_y, anchor, text, bold=bold):
                return True
        for away in RINGS_PT:
            for turn in range(WAYS):
                angle = 2 * np.pi * (turn + 0.5) / WAYS
                at_x, at_y = x + away * float(np.cos(angle)), y + away * float(np.sin(angle))
                anchor = "start" if at_x >= x else "end"
                if self._leads(point, (at_x, at_y)) and self._put(
                    at_x, at_y + 3, anchor, text, bold=bold
                ):
                    shift = -GAP_PT if anchor == "start" else GAP_PT
                    self.drawing.line([point, (at_x + shift, at_y)], 0.5)
                    self.take_line([point, (at_x + shift, at_y)], 0.8)
                    return True
        if always:
            self.drawing.label(*near[0][:2], text, self.size, bold=bold)
        return False

    def _leads(self, point: tuple[float, float], end: tuple[float, float]) -> bool:
        """Whether a leader there crosses no name; it may leave what it points at."""
        for t in np.linspace(0.35, 1.0, 8).tolist():
            x, y = point[0] + t * (end[0] - point[0]), point[1] + t * (end[1] - point[1])
            if self._is_taken((x - 0.5, y - 0.5, x + 0.5, y + 0.5)):
                return False
        return True

    def _put(self, x: float, y: float, anchor: Anchor, text: str, *, bold: bool) -> bool:
        box = text_box(x, y, text, self.size, anchor)
        if bold:
            more = text_width(text, self.size, bold=True) - text_width(text, self.size)
            left, right = {"start": (0.0, more), "end": (more, 0.0)}.get(anchor, (more / 2,) * 2)
            box = (box[0] - left, box[1], box[2] + right, box[3])
        xmin, ymin, xmax, ymax = self._room
        inside = box[0] >= xmin and box[1] >= ymin and box[2] <= xmax and box[3] <= ymax
        if not inside or self._is_taken(box):
            return False
        self.take(box)
        self.drawing.label(x, y, text, self.size, anchor=anchor, bold=bold)
        return True


def _cells_of(box: Box) -> Iterator[tuple[int, int]]:
    """The squares that a box lies on."""
    left, top, right, bottom = (int(side // CELL_PT) for side in box)
    return itertools.product(range(left, right + 1), range(top, bottom + 1))
