"""The values a plan takes where nobody stated one, and how far each may give way.

A limit is stated when the request names it, usual when it stands here. A usual value shapes a
plan, it never refuses one: from its first value it gives way up to its last (`core.easing`), and
what was taken is then told as a condition. Each unit system has round figures of its own. All of
them are common practice, without a source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from yardfall.core.units import FOOT_M, INCH_M, UnitName


@dataclass(frozen=True)
class Usual:
    """Usual values in metres.

    `cover_m` is nominal: a dip that leaves `nominal_cover_m` needs no word. A shallower start
    lowers both, not under `lowest_cover_m`; below that the cover is eased on the first `run_in_m`.
    On the run-out the cover may go at its last down to `thin_cover_m`, but for the end, as long
    as the first value of the run-out, `run_out_m`, where the pipe comes up to the surface.
    `ditch_m` and `last_ditch_m` are the level ditches that lead a daylight end out; the pop-up's
    figures are for a pipe `small_pipe_m` across outside. The ground past an end falls on as on the
    stretch before it, at least `stretch_m` long. What is eased is rounded outward to a
    step of length or depth. Past `deep_m` a trench wants a protective system. Past their last
    values a riser may be `longest_riser_m` and a ditch `longest_ditch_m` long, to mend a no.
    Under wheels less than `wheel_cover_m` is told, and limits nothing: Napa County, California,
    code 13.36.070 (after California Plumbing Code 718.3), 1 ft; AASHTO LRFD Bridge Design
    Specifications, table 12.6.6.3-1 (from memory), 12 in for plastic pipe.
    """

    cover_m: float
    nominal_cover_m: float
    lowest_cover_m: float
    thin_cover_m: float
    run_in_m: float
    run_out_m: float
    ditch_m: float
    last_ditch_m: float
    pop_up_least_m: float
    pop_up_most_m: float
    pop_up_last_m: float
    longest_riser_m: float
    stretch_m: float
    length_step_m: float
    depth_step_m: float
    deep_m: float
    units: UnitName
    longest_ditch_m: float
    wheel_cover_m: float
    small_pipe_m: float = 4.6 * INCH_M


US_USUAL: Final = Usual(
    cover_m=6 * INCH_M,
    nominal_cover_m=5 * INCH_M,
    lowest_cover_m=4 * INCH_M,
    thin_cover_m=2 * INCH_M,
    run_in_m=10 * FOOT_M,
    run_out_m=10 * FOOT_M,
    ditch_m=10 * FOOT_M,
    last_ditch_m=30 * FOOT_M,
    pop_up_least_m=7 * INCH_M,
    pop_up_most_m=10 * INCH_M,
    pop_up_last_m=16 * INCH_M,
    longest_riser_m=24 * INCH_M,
    stretch_m=3 * FOOT_M,
    length_step_m=FOOT_M,
    depth_step_m=INCH_M / 2,
    deep_m=5 * FOOT_M,
    units="us",
    longest_ditch_m=60 * FOOT_M,
    wheel_cover_m=12 * INCH_M,
)
SI_USUAL: Final = Usual(
    cover_m=0.150,
    nominal_cover_m=0.125,
    lowest_cover_m=0.100,
    thin_cover_m=0.050,
    run_in_m=3.0,
    run_out_m=3.0,
    ditch_m=3.0,
    last_ditch_m=9.0,
    pop_up_least_m=0.175,
    pop_up_most_m=0.250,
    pop_up_last_m=0.400,
    longest_riser_m=0.600,
    stretch_m=1.0,
    length_step_m=0.25,
    depth_step_m=0.010,
    deep_m=1.5,
    units="si",
    longest_ditch_m=18.0,
    wheel_cover_m=0.300,
)
USUAL: Final[dict[UnitName, Usual]] = {"us": US_USUAL, "si": SI_USUAL}


@dataclass(frozen=True)
class Open:
    """The limits of a design that nobody stated, with their usual values."""

    values: Usual
    cover: bool = False
    run_out: bool = False
    outlet_depth: bool = False
    shape: bool = False
    max_depth: bool = False
    trench_width: bool = False
