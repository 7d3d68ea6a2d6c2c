"""What would spoil a yes on an even slope: against a scan of heights and against hand sums."""

from __future__ import annotations

import numpy as np
import pytest

from yardfall.core.design import Design, Grading, Limits, Outlet, Start
from yardfall.core.easing.lay import lay
from yardfall.core.fixes.to_measure import most_steps, places_to_measure, still_to_measure
from yardfall.core.ground.even_slope import even_slope, raised
from yardfall.core.ground.route import regular_stations, taped
from yardfall.core.pipes import CATALOGUE
from yardfall.core.units import FOOT_M, INCH_M

PIPE = CATALOGUE["pvc-sdr35-4"]
STEP_M = INCH_M / 4


def design(
    cover_in: float, most_in: float | None, least_in: float = 4.0, breaks: int = 0
) -> Design:
    limits = Limits(least_in * INCH_M, None if most_in is None else most_in * INCH_M, 10 * FOOT_M)
    outlet = Outlet("pop_up", "depth", 4 * INCH_M, 20 * INCH_M)
    bent = Grading(0.01, shape="least_dig", max_breaks=breaks)
    grading = bent if breaks else Grading(0.01)
    return Design(PIPE, Start("cover", cover_in * INCH_M), grading, limits, outlet)


def told(it: Design, length_ft: float = 60, drop_in: float = 18):
    route = taped(length_ft * FOOT_M)
    asked = regular_stations(route.length_m, 10 * FOOT_M)
    ground = even_slope(route.length_m, drop_in * INCH_M)
    return route, ground, asked, still_to_measure(route, ground, it, asked, 10 * FOOT_M, STEP_M)


@pytest.mark.parametrize(
    ("cover_in", "most_in", "breaks"),
    [(8, 24, 0), (8, None, 0), (6, 14, 0), (5, 12, 0), (12, 18, 0), (12, 18, 1)],
)
def test_each_height_is_where_a_scan_turns_to_no(
    cover_in: float, most_in: float | None, breaks: int
) -> None:
    """The same places with every height of a finer scan, decided one by one."""
    it = design(cover_in, most_in, breaks=breaks)
    route, ground, asked, places = told(it)
    ends = [0.0, *(one.at_m for one in places), route.length_m]
    assert len(places) == 5
    for k, one in enumerate(places, 1):
        for sign, most_m in ((1, one.rise_m), (-1, one.dip_m)):
            fits = []
            for h_m in np.arange(0, 145) * STEP_M:
                changed = raised(ground, tuple(ends[k - 1 : k + 2]), (0.0, sign * h_m, 0.0))
                fits.append(lay(route, changed, it, asked).decision.yes)
            assert fits == sorted(fits, reverse=True), "what fits is an interval from nought"
            last = sum(fits) - 1
            assert most_m == (None if last == 144 else pytest.approx(last * STEP_M))
    assert sum(one.first for one in places) >= 1


def test_a_rise_by_hand() -> None:
    """60 ft that fall 18 in, 4.215 in pipe (ASTM D3034) under 12 in of cover, dug to 18 in.

    The start's bottom lies 16.215 in down. The least grade is 1 %, but 4 in of cover are asked to
    0+50, 8.215 in to the bottom: 16.215 + f - 15 = 8.215 is f = 7 in in 50 ft. At 0+30 the highest
    line is then 16.215 + 4.2 - 9 = 11.415 in down, and 18 - 11.415 = 6.585 in are left: told to a
    quarter, 6 1/2.
    """
    _, _, _, places = told(design(12, 18))
    middle = next(one for one in places if one.at_m == pytest.approx(30 * FOOT_M))
    assert middle.rise_m is not None
    assert middle.rise_m / INCH_M == pytest.approx(6.5)


def test_nothing_is_looked_for_under_a_no() -> None:
    _, _, _, places = told(design(8, None), drop_in=-6)
    assert places
    assert not any(one.fits or one.first or one.rise_m or one.dip_m for one in places)


def test_places_lie_between_the_ends() -> None:
    ten = 10 * FOOT_M
    assert places_to_measure(60 * FOOT_M, ten) == pytest.approx([ten * k for k in range(1, 6)])
    assert places_to_measure(62 * FOOT_M, ten)[-1] == pytest.approx(50 * FOOT_M)
    assert places_to_measure(64 * FOOT_M, ten)[-1] == pytest.approx(60 * FOOT_M)
    assert places_to_measure(6 * FOOT_M, ten) == pytest.approx([3 * FOOT_M])
    assert len(places_to_measure(2400 * FOOT_M, ten)) == 23


@pytest.mark.parametrize("last", [0, 1, 7, 99])
def test_the_last_step_is_tried_on_both_sides(last: int) -> None:
    tried = []

    def fits(steps: int) -> bool:
        tried.append(steps)
        return steps <= last

    assert most_steps(fits, 100) == last
    assert last + 1 in tried
    assert last in tried or last == 0
    assert most_steps(lambda _: True, 100) is None
