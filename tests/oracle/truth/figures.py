"""The usual figures of a plan, and the readings of what the practice leaves open. All in metres.

Trade figures: common practice, no source. SI figures are round metric ones of their own.
"""

from __future__ import annotations

from dataclasses import dataclass

FOOT, INCH, MM = 0.3048, 0.0254, 0.001
SMALL_PIPE = 4.6 * INCH  # outside of the pipe that a pop-up's plain figures are for

# Tolerance of a decision: more than the solver's own (1e-7 m per limit), far less than a tape's.
TOLERANCE = 2e-7

# --- Readings: see README.md. Change one here and every test goes by it. ---
# A stated least cover is not thinned by easing the run-out; it ends 10 ft before the outlet.
STATED_COVER_KEEPS_RUN_OUT = True
# A usual cover lowered by a shallow start takes a nominal inch of its own, down to the floor. If
# not, the nominal inch of the usual cover is all: a start of 5.5 in keeps 5 in, of 4.5 in 4.5.
LOWERED_COVER_IS_NOMINAL = True
# A pop-up's usual depth counts the usual cover, whether or not a least cover is stated; where one
# is stated, a shallow start does not lower it.
RISER_COUNTS_USUAL_COVER = True
# A fixed start's own margin to a greatest depth counts as fall to spare. It should: a station a
# hand's breadth further on counts, so without it the spare hangs on where stations are.
START_AGAINST_DEPTH = True
# At which value a daylight end may lie as deep as pipe and bedding, even where no ditch of that
# length runs out from there: its "first" value (10 ft, 3 m), its "last" (30 ft, 9 m), or both.
DITCH_HOLDS_PIPE = ("last",)
# A last stretch of ground shorter than 3 ft (1 m) is too short to go by: the slope is then from the
# last ground point at least so far back.
LAST_STRETCH_IS_LONG = True
# A line that digs least is no steeper where one so flat fits and no greatest grade is stated.
STEEPEST_LAID = 0.30
# Kinds of outlet near which the cover may run out when nothing is said.
RUN_OUT_KINDS = ("daylight", "pop_up", "curb")


@dataclass(frozen=True)
class Figures:
    """Usual values of one system of units, in metres."""

    length: float  # one unit of length
    small: float  # one unit of depth
    cover: float
    nominal: float  # how far under the usual cover needs no condition
    cover_floor: float  # the usual cover is not lowered under this by a shallow start
    run_in: float
    run_out: float
    thin: float  # least cover on an eased run-out
    ditch: float
    ditch_last: float
    riser: float
    riser_least: float
    riser_last: float
    length_step: float
    depth_step: float
    spacing: float  # of stations, where no readings stand
    stretch: float  # the least length of ground to take a slope from


US = Figures(
    FOOT, INCH, 6 * INCH, INCH, 4 * INCH, 10 * FOOT, 10 * FOOT, 2 * INCH, 10 * FOOT, 30 * FOOT,
    10 * INCH, 7 * INCH, 16 * INCH, FOOT, 0.5 * INCH, 10 * FOOT, 3 * FOOT,
)  # fmt: skip
SI = Figures(
    1.0, MM, 150 * MM, 25 * MM, 100 * MM, 3.0, 3.0, 50 * MM, 3.0, 9.0,
    250 * MM, 175 * MM, 400 * MM, 0.25, 10 * MM, 3.0, 1.0,
)  # fmt: skip
# What would still be offered to mend a no.
FIX_DITCH = {US: 60 * FOOT, SI: 18.0}  # the longest ditch from a daylight end
FIX_CUT = {US: 12 * INCH, SI: 300 * MM}  # or so much ground over the pipe there, as in a bank
ANYWHERE = ("daylight", "pop_up", "dry_well")  # outlets that need no level of their own
FIX_CHANGES = 5  # of grade
NEAREST_END = 10 * FOOT
PIT = 2 * FOOT  # of an end, to either side, which keeps clear of what is buried
FIGURES = {"us": US, "si": SI}
