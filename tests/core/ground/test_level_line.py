"""Readings from a level line."""

from __future__ import annotations

import pytest

from yardfall.core.errors import InputError
from yardfall.core.ground.level_line import LineReading, from_level_line


def test_a_bigger_reading_is_lower_ground() -> None:
    """Common practice, no source: the most usual blunder is to read it the other way."""
    ground = from_level_line([LineReading(0, 0.2), LineReading(5, 0.5)])
    assert ground.elevation_m.tolist() == [-0.2, -0.5]


def test_a_line_strung_anew_ties_at_the_shared_station() -> None:
    one = from_level_line([LineReading(x, d) for x, d in ((0, 0.2), (5, 0.5), (10, 0.9))])
    two = from_level_line(
        [
            LineReading(0, 0.2, "A"),
            LineReading(5, 0.5, "A"),
            LineReading(5, 0.1, "B"),  # the new line hangs 0.4 m lower
            LineReading(10, 0.5, "B"),
        ]
    )
    assert two.elevation_m == pytest.approx(one.elevation_m)
    assert [(r.name, r.elevation_m) for r in two.references] == [
        ("A", 0.0),
        ("B", pytest.approx(-0.4)),
    ]


def test_double_ties_report_their_spread() -> None:
    ground = from_level_line(
        [
            LineReading(0, 0.2, "A"),
            LineReading(5, 0.5, "A"),
            LineReading(0, 0.1, "B"),
            LineReading(5, 0.42, "B"),
        ]
    )
    assert ground.tie_gaps_m == pytest.approx({"B": 0.01})


def test_a_line_that_ties_to_nothing_is_refused() -> None:
    with pytest.raises(InputError, match="shares no station") as caught:
        from_level_line([LineReading(0, 0.2, "A"), LineReading(5, 0.1, "B")])
    assert caught.value.problems[0].pointer == "/readings/1/line"


def test_two_readings_at_one_station_on_one_line_are_refused() -> None:
    with pytest.raises(InputError) as caught:
        from_level_line([LineReading(0, 0.2), LineReading(5, 0.1), LineReading(5, 0.3)])
    assert caught.value.problems[0].pointer == "/readings/2/at"
