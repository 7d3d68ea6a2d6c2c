"""The two unit systems a caller may speak. Inside, everything is SI.

Factors are exact by definition: the international foot is 0.3048 m, the US survey foot
1200/3937 m, the US gallon 231 cubic inches (NIST Handbook 44, Appendix C).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

UnitName = Literal["us", "si"]

FOOT_M: Final = 0.3048
INCH_M: Final = 0.0254
EIGHTHS: Final = ("", "1/8", "1/4", "3/8", "1/2", "5/8", "3/4", "7/8")
SIXTEENTHS: Final = 16
FINEST: Final = 6
GALLON_M3: Final = 231 * INCH_M**3


@dataclass(frozen=True)
class Divisions:
    """What a crew's tape and rod show, coarsest first, each a whole number of the next."""

    tape_m: tuple[float, ...]
    rod_m: tuple[float, ...]


@dataclass(frozen=True)
class UnitSystem:
    """Size in SI of one unit of each quantity, and the unit's name."""

    name: UnitName
    length_m: float
    depth_m: float
    area_m2: float
    flow_m3s: float
    rain_m_s: float
    volume_m3: float
    velocity_m_s: float
    length_name: str
    depth_name: str
    flow_name: str
    rod_unit: str
    tape_steps_m: tuple[float, ...]
    station_digits: int
    water_m3: float
    water_name: str

    def water_text(self, volume_m3: float) -> str:
        """Water in a pipe in words, to two digits or so: `"12 gal"`, `"3.4 gal"`."""
        value = volume_m3 / self.water_m3
        return f"{plain_number(value, 1 if value < 10 else 0)} {self.water_name}"

    def area_text(self, area_m2: float) -> str:
        """An area in words, to three digits or so: `"240 sq ft"`, `"22.3 m²"`."""
        value = area_m2 / self.area_m2
        name = "sq ft" if self.name == "us" else "m²"
        return f"{plain_number(value, 0 if value >= 100 else 1)} {name}"

    def along_text(self, length_m: float) -> str:
        """About how far, to a foot or 0.1 m, short lengths to 0.1 ft: `"31 ft"`, `"4.5 ft"`."""
        value = length_m / self.length_m
        return f"{plain_number(value, int(self.name == 'si' or value < 10))} {self.length_name}"

    def length_text(self, length_m: float) -> str:
        """A distance in words: `"13 ft"`."""
        return f"{plain_number(length_m / self.length_m, 2)} {self.length_name}"

    def depth_text(self, depth_m: float, finer: int = 0) -> str:
        """A depth or fall in words, to 0.1 in or 1 mm: `"2.6 in"`; `finer` digits more."""
        digits = (1 if self.name == "us" else 0) + finer
        return f"{plain_number(depth_m / self.depth_m, digits)} {self.depth_name}"

    def texts_apart(self, one_m: float, other_m: float) -> tuple[str, str]:
        """Two depths that differ, in words as short as tell them apart."""
        for finer in range(FINEST):
            texts = self.depth_text(one_m, finer), self.depth_text(other_m, finer)
            if texts[0] != texts[1]:
                break
        return texts

    def amount_text(self, depth_m: float) -> str:
        """A depth that is there, in words: never 0, but less than the finest mark of a tape."""
        text = self.depth_text(depth_m)
        if depth_m > 0 and text == self.depth_text(0.0):
            return f"less than {self.fine_text(self.fine_step_m)}"
        return text

    @property
    def depth_step_m(self) -> float:
        """The finest that `depth_text` tells."""
        return INCH_M / 10 if self.name == "us" else 0.001

    def station_label(self, at_m: float) -> str:
        """Station in the trade's plus notation: 13 ft is `0+13`, 13 m is `0+013`.

        US stations are 100 ft long, metric ones 1,000 m.
        """
        digits = self.station_digits
        along, part = divmod(round(at_m / self.length_m * 100), 100)
        whole, units = divmod(along, 10**digits)
        tail = f".{part:02d}".rstrip("0") if part else ""
        return f"{whole}+{units:0{digits}d}{tail}"

    @property
    def tape_step_m(self) -> float:
        """What a crew marks by, unless the fall asks for finer: 1/4 in or 5 mm."""
        return self.tape_steps_m[0]

    def divisions(self, rod_unit: str) -> Divisions:
        """What this system's tape shows, and a rod in `rod_unit`."""
        return Divisions(self.tape_steps_m, ROD_STEPS_M[rod_unit])

    def tape_text(self, mark_m: float) -> str:
        """A tape mark, a whole number of the finest step: `"23 1/2"` inches, `"595"` mm.

        >>> US.tape_text(23.5625 * INCH_M)
        '23 9/16'
        """
        steps = round(mark_m / self.tape_steps_m[-1])
        if self.name == "si":
            return str(steps)
        sign, (whole, part) = ("-" if steps < 0 else ""), divmod(abs(steps), SIXTEENTHS)
        if not part:
            return f"{sign}{whole}"
        common = math.gcd(part, SIXTEENTHS)
        fraction = f"{part // common}/{SIXTEENTHS // common}"
        return f"{sign}{whole} {fraction}" if whole else f"{sign}{fraction}"

    @property
    def fine_step_m(self) -> float:
        """The finest a tape is read to: 1/8 in or 1 mm."""
        return INCH_M / 8 if self.name == "us" else 0.001

    def is_fine(self, depth_m: float) -> bool:
        """Whether a measure is one that a tape is read to."""
        steps = depth_m / self.fine_step_m
        return abs(steps - round(steps)) < 1e-4

    def fine_text(self, depth_m: float) -> str:
        """A measure as a tape is read: `"3/8 in"`, `"9 mm"`; decimals within half a step of 0."""
        steps = math.floor(depth_m / self.fine_step_m + 0.5 + 1e-6)
        if not steps and abs(depth_m) > 1e-6:
            return f"{plain_number(depth_m / self.depth_m, 2)} {self.depth_name}"
        if self.name == "si":
            return f"{steps} {self.depth_name}"
        sign, (whole, part) = ("-" if steps < 0 else ""), divmod(abs(steps), 8)
        parts = [str(whole)] if whole or not part else []
        return f"{sign}{' '.join([*parts, *([EIGHTHS[part]] if part else [])])} {self.depth_name}"


US: Final = UnitSystem(
    name="us",
    length_m=FOOT_M,
    depth_m=INCH_M,
    area_m2=FOOT_M**2,
    flow_m3s=GALLON_M3 / 60,
    rain_m_s=INCH_M / 3600,
    volume_m3=(3 * FOOT_M) ** 3,
    velocity_m_s=FOOT_M,
    length_name="ft",
    depth_name="in",
    flow_name="gpm",
    rod_unit="ft",
    tape_steps_m=(INCH_M / 4, INCH_M / 8, INCH_M / 16),
    station_digits=2,
    water_m3=GALLON_M3,
    water_name="gal",
)
SI: Final = UnitSystem(
    name="si",
    length_m=1.0,
    depth_m=0.001,
    area_m2=1.0,
    flow_m3s=0.001,
    rain_m_s=0.001 / 3600,
    volume_m3=1.0,
    velocity_m_s=1.0,
    length_name="m",
    depth_name="mm",
    flow_name="L/s",
    rod_unit="m",
    tape_steps_m=(0.005, 0.001),
    station_digits=3,
    water_m3=0.001,
    water_name="L",
)
SYSTEMS: Final[dict[str, UnitSystem]] = {"us": US, "si": SI}

ROD_UNITS_M: Final[dict[str, float]] = {"ft": FOOT_M, "in": INCH_M, "m": 1.0, "mm": 0.001}
ROD_STEPS_M: Final[dict[str, tuple[float, ...]]] = {
    "ft": (FOOT_M / 100, FOOT_M / 200),
    "in": (INCH_M / 10, INCH_M / 20),
    "m": (0.001,),
    "mm": (0.001,),
}
"""What a rod is read to, and how much finer a careful eye reads between its marks (common practice,
no source)."""
ROD_DIGITS: Final = {"ft": 2, "in": 1, "m": 3, "mm": 0}
VERTICAL_UNITS_M: Final[dict[str, float]] = {"m": 1.0, "ft": FOOT_M, "us-ft": 1200 / 3937}


def rod_text(mark_m: float, rod_unit: str) -> str:
    """A rod's mark with the digits that a rod is read to, and one more where it has one: `"4.20"`.

    >>> rod_text(4.205 * FOOT_M, "ft"), rod_text(1.3, "m")
    ('4.205', '1.300')
    """
    value, digits = mark_m / ROD_UNITS_M[rod_unit], ROD_DIGITS[rod_unit]
    finer = digits + (abs(round(value, digits) - value) > 10.0 ** -(digits + 3))
    return f"{value + 0.0:.{finer}f}"


def plain_number(value: float, digits: int) -> str:
    """`value` to at most `digits` decimals, without trailing zeros or a negative zero.

    Rounded half away from zero, from the value to a millionth, as a person would from the answer.
    """
    nudge = math.copysign(1e-9, value)
    text = f"{round(value, 6) + nudge:.{digits}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
