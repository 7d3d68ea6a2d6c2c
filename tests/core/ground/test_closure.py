"""Levelling notes that close, miss, or cannot be seen to close; sums worked by hand."""

from __future__ import annotations

import pytest

from yardfall.core.ground.closure import closing_remarks
from yardfall.core.ground.level_book import Shot, reduce_levels
from yardfall.core.units import FOOT_M

HUNDREDTH_M = 0.01 * FOOT_M


def loop(*last: Shot, back_ft: float = 4.32) -> list[Shot]:
    return [Shot("BS", back_ft * FOOT_M, "sill"), Shot("IS", 5 * FOOT_M, at_m=0.0), *last]


def closed(fore_ft: float, step_m: float = HUNDREDTH_M) -> list[str]:
    shots = loop(Shot("FS", fore_ft * FOOT_M, "sill"))
    book = reduce_levels("sill", 0.0, shots, {}, None, step_m)
    return [r.code for r in closing_remarks("sill", {}, shots, book.closure)]


def test_rounding_alone_is_no_misclosure() -> None:
    """A back- and a foresight read to 0.01 ft are half of that off each: 0.01 ft between them.

    The instrument's own error, 1.6 mm on each of two sights, is 0.0074 ft.
    """
    assert closed(4.32) == []
    assert closed(4.33) == closed(4.31) == []
    assert closed(4.34) == closed(4.30) == ["does_not_close"]
    assert closed(4.33, step_m=0.0) == closed(4.33, step_m=HUNDREDTH_M / 10) == ["does_not_close"]


def test_only_readings_that_lead_to_the_closing_point_count() -> None:
    """Two set-ups are four readings; intermediate sights, and a run before a known point, none."""
    out = [Shot("FS", 1.0, "TP"), Shot("BS", 1.0, "TP")]
    home = [Shot("IS", 2.0, at_m=3.0), Shot("FS", 1.0, "B")]
    for shots, readings in (
        ([Shot("BS", 1.0, "A"), *out, *home], 4),
        ([Shot("BS", 1.0, "A"), Shot("FS", 1.0, "A"), Shot("BS", 1.0, "A"), *home], 2),
    ):
        book = reduce_levels("A", 0.0, shots, {"B": 0.0}, None, 0.2)
        assert book.closure is not None
        assert book.closure.limit_m == pytest.approx(readings * 0.1)


@pytest.mark.parametrize(
    ("last", "code", "pointer", "meant"),
    [
        (Shot("FS", 4.0, "tree"), "ends_on_unknown", "/ground/shots/2/on", "sill"),
        (Shot("FS", 4.0, "Drian"), "ends_on_unknown", "/ground/shots/2/on", "drain"),
        (Shot("FS", 4.0, "sil", 9.0), "ends_on_unknown", "/ground/shots/2/on", "sill"),
        (Shot("FS", 4.0, "TP1", 9.0), "not_closed", "/ground/shots", None),
        (Shot("FS", 4.0), "not_closed", "/ground/shots", None),
        (Shot("IS", 4.0, "sill"), "not_closed", "/ground/shots", None),
        (Shot("IS", 4.0, at_m=9.0), "not_closed", "/ground/shots", None),
    ],
)
def test_notes_that_nothing_shows_the_closing_of(last, code, pointer, meant) -> None:
    shots, known = loop(last), {"drain": 1.0}
    closure = reduce_levels("sill", 0.0, shots, known, None).closure
    (found,) = closing_remarks("sill", known, shots, closure)
    assert (found.code, found.pointer, found.values.get("meant")) == (code, pointer, meant)
