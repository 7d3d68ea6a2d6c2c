"""Likely slips are pointed at; sound readings are left in peace."""

from __future__ import annotations

import numpy as np
import pytest

from yardfall.core.ground.blunders import Readings, likely_blunders, string_sag_m
from yardfall.core.ground.level_line import LineReading, from_level_line
from yardfall.core.units import FOOT_M, INCH_M


def slips(down_in: list[float], *, strung: bool = False, every_ft: float = 10) -> list:
    at_m = np.arange(len(down_in)) * every_ft * FOOT_M
    down_m = np.array(down_in) * INCH_M
    ground = from_level_line([LineReading(x, d) for x, d in zip(at_m, down_m, strict=True)])
    pointers = tuple(f"/{i}" for i in range(len(down_in)))
    return likely_blunders([Readings(at_m, down_m, pointers, strung=strung)], ground)


def test_sound_readings_draw_no_warning() -> None:
    assert slips([9, 10.5, 9.5, 14, 22]) == []


def test_a_reading_that_jumps_is_named() -> None:
    (found,) = slips([9, 10, 11, 31, 13, 14, 15])
    assert (found.code, found.pointer) == ("reading_jumps", "/3")


def test_feet_typed_for_inches() -> None:
    """0.92 among readings of about 11 in is 11 in written in feet."""
    (found,) = slips([9, 10, 0.92, 12, 13, 14])
    assert found.code == "reading_jumps_feet_for_inches"
    assert found.values["meant_m"] == pytest.approx(11.04 * INCH_M)


def test_inches_typed_as_tenths_of_a_foot() -> None:
    """6 ft 9 in is 6.75 ft (common practice, no source); written 6.9 or worse, 5.11 for 5 ft 11."""
    rods_ft = [5.2, 5.25, 6.9, 5.35, 5.4, 5.45]
    at_m = np.arange(6) * 10 * FOOT_M
    ground = from_level_line(
        [LineReading(x, d * FOOT_M) for x, d in zip(at_m, rods_ft, strict=True)]
    )
    readings = Readings(at_m, np.array(rods_ft) * FOOT_M, tuple("abcdef"))
    (found,) = likely_blunders([readings], ground)
    assert found.code == "reading_jumps"  # 6.75 would jump just as much, so nothing is guessed
    rods_ft[2] = 4.11  # meant 4 ft 11 in = 4.92 ft
    rods_ft[:2], rods_ft[3:] = [4.8, 4.86], [5.0, 5.06, 5.1]
    ground = from_level_line(
        [LineReading(x, d * FOOT_M) for x, d in zip(at_m, rods_ft, strict=True)]
    )
    found = likely_blunders([Readings(at_m, np.array(rods_ft) * FOOT_M, tuple("abcdef"))], ground)
    assert found[0].pointer == "c"


def test_a_set_that_runs_the_wrong_way() -> None:
    found = slips([22, 14, 9.5, 10.5, 9])
    assert "runs_uphill" in [f.code for f in found]


def test_string_sag() -> None:
    """w·L²/(8·T): twine of 0.001 lb/ft over 100 ft sags 0.75 in at 20 lb (arithmetic)."""
    assert string_sag_m(100 * FOOT_M) / INCH_M == pytest.approx(0.75)
    assert "string_sags" in [
        f.code for f in slips([9, 10, 11, 12, 13, 14], strung=True, every_ft=20)
    ]
    assert slips([9, 10, 11], strung=True) == []
