"""Earth to be moved, the slopes it stands at and the hours it takes, as others printed them."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from yardfall.core.design import Alignment, Design, Grading, Limits, Outlet, Start
from yardfall.core.pipes import CATALOGUE
from yardfall.core.quantities.bill import HAND_DEPTH_M, THROW_M, THROWN_TWICE, Supply, make_bill
from yardfall.core.quantities.earthwork import TYPE_C_SLOPE, WORKING_WIDTHS_M, earthwork, laid_back
from yardfall.core.units import FOOT_M, INCH_M
from yardfall.core.usual import US_USUAL, Open

CU_YD = (3 * FOOT_M) ** 3


def cutting_yd3(cut_ft: list[float], base_ft: float, slope: float, step_ft: float) -> float:
    """A cutting with sloped sides: the upright part and what lies beside it."""
    at_m = np.arange(len(cut_ft)) * step_ft * FOOT_M
    cut_m = np.array(cut_ft, dtype=float) * FOOT_M
    upright = earthwork(at_m, cut_m, (), base_ft * FOOT_M, 0.0, 0.0, 0.0)
    sloped = laid_back(at_m, cut_m, 0.0, base_ft * FOOT_M, slope=slope)
    assert sloped is not None
    return (upright.bank_m3 + sloped.more_m3) / CU_YD


# G. L. Vose, Handbook of Railroad Construction, 1857, section 106 (printed): cubic yards in 100 ft
# of cutting of so many feet. The bases, 19 ft in earth and 18 ft in rock, follow from the table.
EARTH = {1: 76, 2: 163, 3: 261, 5: 491, 6: 622, 8: 919, 9: 1083}
ROCK = {1: 68, 2: 137, 3: 208, 4: 282, 5: 356, 6: 433, 7: 512, 8: 593, 9: 675, 10: 759}


@pytest.mark.parametrize(("cut_ft", "yd3"), EARTH.items())
def test_a_table_of_cuttings_in_earth(cut_ft: float, yd3: float) -> None:
    """Slopes of 1-1/2 to 1."""
    assert cutting_yd3([cut_ft, cut_ft], 19, 1.5, 100) == pytest.approx(yd3, abs=0.6)


@pytest.mark.parametrize(("cut_ft", "yd3"), ROCK.items())
def test_a_table_of_cuttings_in_rock(cut_ft: float, yd3: float) -> None:
    """Slopes of 1/4 to 1."""
    assert cutting_yd3([cut_ft, cut_ft], 18, 0.25, 100) == pytest.approx(yd3, abs=0.6)


@pytest.mark.parametrize(("cut_ft", "printed"), [(4, 371), (7, 802), (10, 1260)])
def test_the_books_slips_are_not_fitted(cut_ft: float, printed: float) -> None:
    """At 4, 7 and 10 ft the earth column leaves its own rule, (19·c + 1.5·c²)·100/27: by a yard
    twice (a digit rounded up) and by 37 at 7 ft (802 for 765)."""
    by_rule = (19 * cut_ft + 1.5 * cut_ft**2) * 100 / 27
    got = cutting_yd3([cut_ft, cut_ft], 19, 1.5, 100)
    assert got == pytest.approx(by_rule)
    assert abs(printed - got) > 0.6


def test_the_prismoid_against_the_average_of_end_areas() -> None:
    """Vose, section 108 (printed): cuts of 0, 5, 10, 15 and 0 ft at every 50, base 20, slopes 1-1/2
    to 1; by average end areas 56,200 cu ft (from areas rounded to the foot; 56,250 exactly). The
    prismoid by its own cuts in the middle, 2.5, 7.5, 12.5 and 7.5 ft, is 52,500 cu ft (derived)."""
    cuts = [0.0, 5.0, 10.0, 15.0, 0.0]
    areas = [20 * c + 1.5 * c**2 for c in cuts]
    by_ends = sum(50 * (a + b) / 2 for a, b in itertools.pairwise(areas))
    assert by_ends == pytest.approx(56_200, abs=60)
    middle = [20 * c + 1.5 * c**2 for c in (2.5, 7.5, 12.5, 7.5)]
    prismoid = sum(
        50 / 6 * (a + 4 * m + b) for a, m, b in zip(areas, middle, areas[1:], strict=False)
    )
    got_ft3 = cutting_yd3(cuts, 20, 1.5, 50) * 27
    assert got_ft3 == pytest.approx(prismoid) == pytest.approx(52_500)


def test_slopes_for_people_in_a_trench() -> None:
    """29 CFR 1926 Subpart P, Appendix B, table B-1 (printed): type C, 1-1/2 to 1, 34 degrees. A
    trench 8 ft deep and 2 ft wide is 26 ft across at the top; sloped, 100 ft of it are 1,600 cu ft
    upright and 9,600 beside (arithmetic)."""
    assert np.degrees(np.arctan(1 / TYPE_C_SLOPE)) == pytest.approx(34, abs=0.5)
    at_m, deep_m = np.array([0.0, 100.0]) * FOOT_M, np.full(2, 8.0) * FOOT_M
    sloped = laid_back(at_m, deep_m, 5 * FOOT_M, 2 * FOOT_M)
    assert sloped is not None
    assert sloped.top_m / FOOT_M == pytest.approx(26)
    assert sloped.length_m / FOOT_M == pytest.approx(100)
    assert sloped.more_m3 / FOOT_M**3 == pytest.approx(9600)


def test_protection_begins_at_five_feet() -> None:
    """29 CFR 1926.652(a)(1): 5 ft or more. From 4 to 6 ft over 100 ft, half of it is that deep."""
    at_m = np.array([0.0, 100.0]) * FOOT_M
    sloped = laid_back(at_m, np.array([4.0, 6.0]) * FOOT_M, 5 * FOOT_M, FOOT_M)
    assert sloped is not None
    assert sloped.length_m / FOOT_M == pytest.approx(50)
    assert laid_back(at_m, np.full(2, 4.99) * FOOT_M, 5 * FOOT_M, FOOT_M) is None
    just = laid_back(at_m, np.full(2, 5.0) * FOOT_M, 5 * FOOT_M, FOOT_M)
    assert just is not None


@pytest.mark.parametrize(
    ("deep_m", "wide_m"), [(0.9, 0.2), (1.01, 0.8), (1.5, 0.8), (1.8, 0.9), (3.9, 0.9), (4.1, 1.0)]
)
def test_a_trench_that_people_work_in(deep_m: float, wide_m: float) -> None:
    """EN 1610, table 2 (from memory): no least width to 1.00 m of depth, 0.80 m to 1.75, 0.90 m to
    4.00, 1.00 m deeper. A trench 10 m long that would be 0.2 m wide."""
    at_m = np.array([0.0, 10.0])
    found = earthwork(at_m, np.full(2, deep_m), (0.5, 1.2), 0.2, 0.0, 0.0, 0.25, WORKING_WIDTHS_M)
    assert found.bank_m3 == pytest.approx(10 * deep_m * wide_m)
    assert found.sod_m2 == pytest.approx(10 * wide_m)
    assert sum(one.volume_m3 for one in found.classes) == pytest.approx(found.bank_m3)
    assert max(one.width_m for one in found.classes) == wide_m


def test_widths_step_where_the_trench_deepens() -> None:
    """From 0.5 to 1.5 m over 10 m: 5 m at 0.2 m wide, mean 0.75, and 5 m at 0.8, mean 1.25 (by
    hand)."""
    at_m = np.array([0.0, 10.0])
    deep_m = np.array([0.5, 1.5])
    found = earthwork(at_m, deep_m, (0.8,), 0.2, 0.0, 0.0, 0.25, WORKING_WIDTHS_M)
    assert found.bank_m3 == pytest.approx(5 * 0.75 * 0.2 + 5 * 1.25 * 0.8)
    assert [round(one.width_m, 3) for one in found.classes] == [0.2, 0.8]


def hours_by_hand(deep_m: float, *, width_stated: bool = True) -> float:
    design = Design(
        CATALOGUE["pvc-sdr35-4"],
        Start("depth", deep_m),
        Grading(0.0),
        Limits(0.0, None, 0.0, 0.0, 12 * INCH_M),
        Outlet("dry_well"),
        open=Open(US_USUAL, trench_width=not width_stated),
    )
    points = Alignment(np.array([0.0, 100.0]) * FOOT_M, np.zeros(2), np.array([True, True]))
    invert_m = np.full(2, design.section.below_invert_m - deep_m)
    bill = make_bill(design, points, invert_m, 100 * FOOT_M, [], np.empty(0), Supply())
    return bill.hours.by_hand_h


def test_hours_grow_with_the_depth() -> None:
    """100 ft at 4 ft an hour to 24 in deep (common practice, no source): 25 h; twice as deep twice
    as long (by hand)."""
    assert hours_by_hand(18 * INCH_M) == pytest.approx(25)
    assert hours_by_hand(HAND_DEPTH_M) == pytest.approx(25)
    assert hours_by_hand(48 * INCH_M) == pytest.approx(50)


def test_soil_thrown_twice() -> None:
    """Guild of Project Controls (printed): trenches by hand in firm soil 0.57 m³ an hour to 1.5 m
    of depth, 0.38 m³ from there to 3.0 m: half as long again for the same soil."""
    assert (1.5, pytest.approx(1.5)) == (THROW_M, THROWN_TWICE)
    shallow, deep = hours_by_hand(1.45), hours_by_hand(1.6)
    assert deep / shallow == pytest.approx(1.6 / 1.45 * 0.57 / 0.38)
