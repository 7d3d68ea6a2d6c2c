"""What a careful surveyor would look at again, in sentences."""

from __future__ import annotations

from typing import Final

from yardfall.core.remarks import Remark
from yardfall.core.units import UnitSystem, plain_number
from yardfall.sentences import TEXTS, say
from yardfall.sentences.water.backwater import inlet_words

DISTANCES: Final = ("drawn_m", "tape_m", "at_m", "span_m")
STATIONS: Final = ("station_m", "from_station_m", "to_station_m")
COMPARED: Final = {"does_not_close": ("misclosure_m", "limit_m")}
"""Measures that a sentence holds against each other: told to where they differ."""
GRADES: Final = ("grade", "least_grade")
SPEEDS: Final = ("speed_m_s", "fast_m_s", "very_fast_m_s")


def warning_answer(remark: Remark, units: UnitSystem) -> dict[str, str]:
    words = {name: _word(name, value, units) for name, value in remark.values.items()}
    if remark.code in COMPARED:
        one, other = COMPARED[remark.code]
        apart = units.texts_apart(float(remark.values[one]), float(remark.values[other]))
        words |= dict(zip((one, other), apart, strict=True))
    code, subject = remark.code, "warnings"
    if f"{subject}.{code}" not in TEXTS:
        subject = "even_slope.warning" if f"even_slope.warning.{code}" in TEXTS else "grades"
    text = say(f"{subject}.{code}", **words)
    return {"code": code, "pointer": remark.pointer, "text": text}


def _word(name: str, value: float | str, units: UnitSystem) -> str:
    if isinstance(value, str):
        return inlet_words(value) if name == "inlet" else value
    if name in DISTANCES:
        return units.length_text(value)
    if name in STATIONS:
        return units.station_label(value)
    if name in GRADES:
        return f"{plain_number(value * 100, 2)} %"
    if name in SPEEDS:
        return f"{plain_number(value / units.velocity_m_s, 1)} {units.length_name}/s"
    if name == "apart_m":
        return f"{plain_number(value / units.length_m, 1)} {units.length_name}"
    return units.depth_text(value)
