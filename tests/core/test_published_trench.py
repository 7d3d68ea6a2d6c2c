"""A complete published trench, from a level plane to depths.

George E. Waring Jr., Draining for Profit, and Draining for Health, Orange Judd, 1867, ch. III,
drain C, fig. 21 and its table (public domain). Distances and depths in feet. "Down" is measured
from one level plane to the ground at each stake. The book runs from the silt basin (SB) uphill;
the tests turn the order round, since a route here runs downhill.
"""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from yardfall.core.design import Design, Grading, Limits, Outlet, Start
from yardfall.core.easing.lay import lay
from yardfall.core.grading.least_dig import least_dig_with_breaks
from yardfall.core.ground.level_line import LineReading, from_level_line
from yardfall.core.ground.profile import GroundProfile
from yardfall.core.ground.route import taped
from yardfall.core.pipes import Pipe
from yardfall.core.plan import make_plan
from yardfall.core.units import FOOT_M, Divisions

# stake, distance from the one before, down to the ground, depth as printed
TABLE = [
    ("SB", 0, 18.20, 2.50),
    ("1", 82, 15.44, 3.62),
    ("2", 39, 14.36, 3.92),
    ("3", 65, 12.85, 4.13),
    ("4", 51, 12.18, 4.52),
    ("5", 43, 11.79, 4.67),
    ("6", 47, 11.69, 4.51),
    ("7", 32, 11.55, 4.47),
    ("8", 41, 11.37, 3.49),
    ("9", 12, 11.06, 3.46),
    ("10", 38, 8.94, 4.59),
    ("11", 41, 8.52, 4.19),
    ("12", 41, 7.86, 4.41),
    ("13", 41, 7.70, 4.13),
    ("14", 41, 7.39, 4.00),
    ("15", 41, 7.06, 3.89),
    ("16", 41, 6.73, 3.88),
    ("17", 41, 5.90, 4.17),
]
# The book's own arithmetic slips at these three; straight grade gives 3.528, 3.510 and 3.780.
SLIPS = {"8": 3.528, "9": 3.510, "16": 3.780}
BREAKS = ["17", "11", "10", "7", "3", "SB"]
PRINTED = {stake: depth for stake, _, _, depth in TABLE}
THIN = Pipe(None, "a line", "", None, 1e-9, 0.0, 0.0, 0.01, (0.01, 0.01), 0.0, "")


def ground_downhill() -> tuple[GroundProfile, dict[str, float]]:
    """The ground from stake 17 down to the basin, and each stake's station in metres."""
    from_basin = np.cumsum([step for _, step, _, _ in TABLE])
    at_ft = {row[0]: float(from_basin[-1] - x) for row, x in zip(TABLE, from_basin, strict=True)}
    readings = [
        LineReading(at_ft[stake] * FOOT_M, down * FOOT_M) for stake, _, down, _ in reversed(TABLE)
    ]
    return from_level_line(readings), {s: x * FOOT_M for s, x in at_ft.items()}


def depths_between(upper: str, lower: str) -> dict[str, float]:
    """Dig depths in feet at the stakes of one grade run, planned from its two end depths."""
    ground, at_m = ground_downhill()
    first, last = at_m[upper], at_m[lower]
    inside = (ground.at_m >= first - 1e-9) & (ground.at_m <= last + 1e-9)
    run = GroundProfile(
        ground.at_m[inside] - first, ground.elevation_m[inside], "reading", ground.datum
    )
    end_m = PRINTED[lower] * FOOT_M
    plan = make_plan(
        lay(
            taped(last - first),
            run,
            Design(
                THIN,
                Start("depth", PRINTED[upper] * FOOT_M),
                Grading(0.0),
                Limits(-100.0, None, 0.0),
                Outlet("tie_in", "depth", end_m, end_m),
            ),
            np.array([0.0, last - first]),
        ),
        Divisions((0.01 * FOOT_M,), (0.01 * FOOT_M,)),
    )
    assert plan.verdict == "yes"
    stakes = [s for s, x in at_m.items() if first - 1e-9 <= x <= last + 1e-9]
    return {
        s: next(
            st.dig_depth_m / FOOT_M for st in plan.stations if abs(st.at_m + first - at_m[s]) < 1e-6
        )
        for s in stakes
    }


@pytest.fixture(scope="module")
def depths() -> dict[str, float]:
    found: dict[str, float] = {}
    for upper, lower in itertools.pairwise(BREAKS):
        found |= depths_between(upper, lower)
    return found


@pytest.mark.parametrize("stake", [s for s in PRINTED if s not in SLIPS])
def test_fifteen_stakes_as_printed(depths: dict[str, float], stake: str) -> None:
    assert depths[stake] == pytest.approx(PRINTED[stake], abs=0.005)


@pytest.mark.parametrize("stake", list(SLIPS))
def test_the_books_three_slips_are_not_fitted(depths: dict[str, float], stake: str) -> None:
    assert depths[stake] == pytest.approx(SLIPS[stake], abs=0.0006)
    assert abs(depths[stake] - PRINTED[stake]) > 0.03


def test_the_same_line_as_one_that_digs_least_with_its_breaks_given() -> None:
    """The whole drain at once: the break stakes at the book's depths, straight grade between."""
    ground, at_m = ground_downhill()
    hi, lo = ground.elevation_m.copy(), np.full(18, -np.inf)
    where = {stake: int(np.argmin(np.abs(ground.at_m - x))) for stake, x in at_m.items()}
    for stake in BREAKS:
        i = where[stake]
        hi[i] = lo[i] = ground.elevation_m[i] - PRINTED[stake] * FOOT_M
    found = least_dig_with_breaks(
        ground.at_m, lo, hi, 0.0, None, [where[stake] for stake in BREAKS[1:-1]]
    )
    assert found is not None
    depth_ft = (ground.elevation_m - found.invert_m) / FOOT_M
    for stake, i in where.items():
        expected, within = (SLIPS[stake], 0.0006) if stake in SLIPS else (PRINTED[stake], 0.005)
        assert depth_ft[i] == pytest.approx(expected, abs=within)
