"""A fix for every way that a plan can fail, each proven by running the plan again."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from yardfall.core.chance.draws import Draws, draw
from yardfall.core.chance.scenario import Case
from yardfall.core.design import Crossing, Design, Grading, Limits, Outlet, Start
from yardfall.core.easing.site import site_of
from yardfall.core.easing.usual_limits import at_last
from yardfall.core.fixes.carrying_on import carried_on_m
from yardfall.core.fixes.fix_pair import best_pair
from yardfall.core.fixes.fixes import find_fixes, order_of
from yardfall.core.fixes.soil import soil_fixes
from yardfall.core.grading.alignment import align
from yardfall.core.grading.decision import decide
from yardfall.core.ground.profile import GroundProfile, from_elevations
from yardfall.core.numerics.root_finding import first_that_works
from yardfall.core.pipes import CATALOGUE
from yardfall.core.uncertainty.accuracy import Accuracy, point_errors
from yardfall.core.usual import US_USUAL, Open

INCH = 0.0254
FOOT = 0.3048
PIPE = CATALOGUE["corrugated-single-4"]


def ground(*drops_in: float, every_ft: float = 10) -> GroundProfile:
    at_m = np.arange(len(drops_in)) * every_ft * FOOT
    return from_elevations(at_m, -np.array(drops_in) * INCH)


def design(**changes) -> Design:
    made = Design(
        PIPE,
        Start("cover", 8 * INCH),
        Grading(0.0125),
        Limits(6 * INCH, 36 * INCH, 10 * FOOT),
        Outlet("pop_up", "depth", 7 * INCH, 10 * INCH),
    )
    return replace(made, **changes)


def case_of(
    made: Design, where: GroundProfile, length_m: float | None = None, draws: Draws | None = None
) -> Case:
    end_m = float(where.at_m[-1]) if length_m is None else length_m
    stations = where.at_m[where.at_m <= end_m + 1e-9]
    points = align(where, stations, end_m, made.limits)
    return Case(made, where, stations, points, draws)


def fixes_of(made: Design, where: GroundProfile, length_m: float | None = None) -> dict:
    case = case_of(made, where, length_m)
    assert not decide(case.design, case.points).yes, "the case must fail first"
    found = find_fixes(case)
    assert list(found) == sorted(found, key=order_of)
    assert all(f.spare_m >= -1e-9 for f in found)
    return {(f.change, f.after if isinstance(f.after, str) else ""): f for f in found}


def test_a_start_too_deep_is_raised_by_exactly_the_shortage() -> None:
    """Flat 40 ft need 6 in; from 12.6 in deep to a 10 in outlet: 12.6 + 6 − 2 − 10 = 6.6 short."""
    where = ground(0, 0.5, 1, 1.5, 2)
    made = design(start=Start("cover", 12 * INCH))
    short = decide(made, case_of(made, where).points).margin_m
    assert short / INCH == pytest.approx(-(12 + 4.6 + 6 - 2 - 10))
    found = fixes_of(replace(made, outlet=replace(made.outlet, most_m=16 * INCH)), where)
    fix = found[("start_cover", "")]
    assert fix.after / INCH == pytest.approx(7.25, abs=1e-6)  # the mark next to 12 − 4.6
    deeper = found[("outlet_depth", "")]
    assert deeper.after / INCH == pytest.approx(20.75, abs=1e-6)  # the mark next to 16 + 4.6


def test_a_start_by_depth_and_by_invert() -> None:
    where = ground(0, 0.5, 1, 1.5, 2)
    by_depth = fixes_of(
        design(start=Start("depth", 16 * INCH), outlet=Outlet("pop_up", "depth", 0, 15 * INCH)),
        where,
    )
    assert by_depth[("start_depth", "")].after / INCH == pytest.approx(15 + 2 - 6, abs=1e-6)
    invert_m = -(16 - 0.3) * INCH
    by_invert = fixes_of(
        design(start=Start("invert", invert_m), outlet=Outlet("pop_up", "depth", 0, 15 * INCH)),
        where,
    )
    # Rounded up to a hundredth of a foot: −0.8917 ft of need becomes −0.89 ft.
    assert by_invert[("start_invert", "")].after == pytest.approx(-0.89 * FOOT, abs=1e-8)
    assert 0 < -0.89 * FOOT - (invert_m + 5 * INCH) < 0.01 * FOOT


def test_a_dip_asks_for_less_cover_or_a_shallower_limit() -> None:
    """A dip forces the straight grade down; the outlet then lies too deep."""
    where = ground(0, 7, 3, 6, 8, 9)
    found = fixes_of(design(outlet=Outlet("pop_up", "depth", 0, 18 * INCH)), where)
    assert ("min_cover", "") in found
    assert ("grade_changes", "") in found


def test_a_hump_asks_for_a_deeper_limit() -> None:
    where = ground(0, 0, -20, 3, 6, 8)
    made = design(
        limits=Limits(6 * INCH, 24 * INCH, 10 * FOOT),
        outlet=Outlet("pop_up", "depth", 0, 20 * INCH),
    )
    fix = fixes_of(made, where)[("max_depth", "")]
    # 12.6 in at the start, 3 in of fall to 20 ft, and a hump of 20 in: 35.6.
    assert fix.after / INCH == pytest.approx(35.75, abs=1e-6)


def test_a_pipe_that_may_lie_flatter_is_named() -> None:
    where = ground(0, 1, 2, 3, 4)
    made = design(outlet=Outlet("pop_up", "depth", 0, 14 * INCH))
    found = fixes_of(made, where)
    names = {after for change, after in found if change == "pipe"}
    assert "pvc-sdr35-4" in names
    assert all(CATALOGUE[name].min_grade < 0.0125 for name in names)
    assert all(CATALOGUE[name].nominal_in == 4 for name in names)


def test_a_tie_in_level_may_go_lower() -> None:
    where = ground(0, 1, 2, 3, 4)
    invert_m = -14 * INCH
    made = design(outlet=Outlet("tie_in", "invert", invert_m, invert_m))
    fix = fixes_of(made, where)[("outlet_invert", "")]
    assert fix.after < invert_m


def test_another_kind_of_outlet() -> None:
    where = ground(0, 0.5, 1, 1.5, 2)
    assert ("outlet_kind", "dry_well") in fixes_of(design(), where)


def test_the_line_may_end_earlier_where_it_comes_out() -> None:
    where = ground(0, 2, 9, 16, 4, 0)
    fix = fixes_of(design(), where)[("end_at", "")]
    assert fix.after / FOOT == pytest.approx(30)


def test_an_earlier_end_keeps_clear_of_what_is_buried() -> None:
    """It comes out at 30 ft. A gas line with 1 ft of clearance lies 3 ft off: just far enough for
    the pit of 2 ft (common practice, no source); nearer than that no line ends beside it."""
    where = ground(0, 2, 9, 16, 4, 0)
    for off_ft, ends in ((3, True), (2.9, False), (0, False), (-2.9, False), (-3, True)):
        gas = Crossing((30 + off_ft) * FOOT, "gas line", 40 * INCH, 1 * INCH, 1 * FOOT, "over")
        found = fixes_of(design(crossings=(gas,)), where)
        fix = found[("end_at", "")]
        assert isinstance(fix.after, float)
        assert (fix.after == pytest.approx(30 * FOOT)) is ends, off_ft
        assert abs(fix.after - gas.at_m) >= 3 * FOOT - 1e-6
        dropped = gas.at_m > fix.after
        assert fix.what == ("gas line" if dropped else "")
        assert len(fix.asked.crossings) == (0 if dropped else 1)
        assert fix.rank == (7 if dropped or fix.hollow else 1)
        assert fix.where_m == (gas.at_m if dropped else None)


def test_an_end_in_a_hollow_says_so_and_comes_late() -> None:
    hollow = fixes_of(design(), ground(0, 2, 9, 16, 4, 0))[("end_at", "")]
    assert hollow.hollow
    slope = fixes_of(design(), ground(0, 1, 2, 3, 5, 12), length_m=40 * FOOT)[("end_at", "")]
    assert not slope.hollow
    assert hollow.rank > slope.rank


def test_the_line_may_go_on_where_the_ground_is_known() -> None:
    where = ground(0, 1, 2, 3, 5, 12)
    fix = fixes_of(design(), where, length_m=40 * FOOT)[("end_at", "")]
    assert fix.after / FOOT == pytest.approx(50)


def test_another_end_is_judged_by_the_readings_errors_there() -> None:
    """Ended elsewhere, the draws must be carried onto that line's own points."""
    where = ground(0, 1, 2, 3, 5, 12)
    draws = draw(point_errors(Accuracy(sigma_m=0.05 * INCH), where, ["r"] * 6))
    case = case_of(design(), where, 40 * FOOT, draws)
    longer = case.ended_at(50 * FOOT)
    assert longer.change_m is not None
    # At the readings themselves the error of the ground is that of the reading.
    at_readings = np.isin(np.round(longer.points.at_m, 6), np.round(where.at_m, 6))
    assert longer.change_m[at_readings] == pytest.approx(draws.errors_m)
    assert [f.change for f in find_fixes(case) if f.change == "end_at"] == ["end_at"]


def test_a_crossing_may_be_passed_the_other_way() -> None:
    where = ground(0, 2, 4, 6, 7, 12)
    gas = Crossing(20 * FOOT, "gas line", 18 * INCH, 1 * INCH, 3 * INCH, "under")
    fix = fixes_of(design(crossings=(gas,)), where)[("crossing", "over")]
    assert fix.where_m == pytest.approx(20 * FOOT)


def test_two_changes_together_when_no_single_one_does_it() -> None:
    where = ground(0, 0, -40, 0, 0)
    made = design(
        limits=Limits(6 * INCH, 24 * INCH, 10 * FOOT),
        outlet=Outlet("pop_up", "depth", 0, 8 * INCH),
    )
    case = case_of(made, where)
    singles = [f for f in find_fixes(case) if f.change not in ("outlet_kind", "end_at")]
    assert singles == []
    pair = best_pair(case)
    assert pair is not None
    assert pair[0].change != pair[1].change


@pytest.mark.parametrize(
    ("kind", "deepest_in"),
    [("daylight", 4.6 + 12), ("pop_up", 24), ("tie_in", 60)],
)
def test_no_outlet_is_put_deeper_than_it_can_be_built(kind, deepest_in: float) -> None:
    """Flat 40 ft need 6 in, so the outlet lies 6 in deeper than the start: just in, just out."""
    for nudge_in, listed in ((-0.01, True), (0.01, False)):
        start_in = deepest_in - 6 - 4.6 + nudge_in
        made = design(
            start=Start("cover", start_in * INCH),
            limits=Limits(start_in * INCH, None, 10 * FOOT),
            outlet=Outlet(kind, "depth", 0, 4.6 * INCH),
        )
        found = fixes_of(made, ground(0, 0, 0, 0, 0))
        assert (("outlet_depth", "") in found) is listed
        if listed:
            fix = found[("outlet_depth", "")]
            assert deepest_in - 0.01 <= fix.after / INCH <= deepest_in + 1e-9


def test_where_the_outlet_alone_would_lie_too_deep_two_changes_are_named() -> None:
    """Flat 30 ft need 4.5 in: 24 in of cover come out 33.1 in deep, 6 in of it 15.1 in deep.

    33.1 in is no daylight (16.6 in at the most) and over the greatest depth, also for a dry well.
    """
    made = design(
        start=Start("cover", 24 * INCH),
        limits=Limits(6 * INCH, 30 * INCH, 10 * FOOT),
        outlet=Outlet("daylight", "depth", 0, 4.6 * INCH),
    )
    case = case_of(made, ground(0, 0, 0, 0))
    assert find_fixes(case) == ()
    pair = best_pair(case)
    assert pair is not None
    assert {fix.change for fix in pair} == {"start_cover", "outlet_depth"}
    deeper = next(fix for fix in pair if fix.change == "outlet_depth")
    assert deeper.after / INCH <= 4.6 + 12 + 1e-6


def test_nothing_is_listed_for_a_hopeless_yard() -> None:
    where = ground(0, -100, -200, -300, -400)
    case = case_of(design(), where)
    assert [f.change for f in find_fixes(case)] == []
    assert best_pair(case) is None


@pytest.mark.parametrize("seed", range(60))
def test_less_than_the_fix_is_not_enough(seed: int) -> None:
    """The change is the least that a tape shows: a quarter of an inch short of it still fails."""
    rng = np.random.default_rng(seed)
    where = ground(*np.cumsum(rng.uniform(-1, 3, 6)))
    made = design(
        start=Start("cover", rng.uniform(7, 12) * INCH),
        outlet=Outlet("pop_up", "depth", 0, rng.uniform(6, 14) * INCH),
    )
    case = case_of(made, where)
    if decide(made, case.points).yes:
        return
    for fix in find_fixes(case):
        if fix.change == "outlet_depth":
            near = replace(made, outlet=replace(made.outlet, most_m=fix.after - 0.25 * INCH))
        elif fix.change == "start_cover":
            near = replace(made, start=Start("cover", fix.after + 0.25 * INCH))
        else:
            continue
        assert not decide(near, case.points).yes


@pytest.mark.parametrize("seed", range(200))
def test_the_first_zero_of_a_concave_function(seed: int) -> None:
    """Random concave piecewise-linear functions, against a dense scan."""
    rng = np.random.default_rng(seed)
    slopes, cuts = rng.normal(0, 1, 6), rng.normal(0, 1, 6)

    def margin(x: float) -> float:
        return float(np.min(slopes * x + cuts))

    scan = np.linspace(0, 3, 300_001)
    values = np.min(slopes[:, None] * scan + cuts[:, None], axis=0)
    found = first_that_works(margin, 0.0, 3.0)
    works = np.flatnonzero(values >= 0)
    if not works.size:
        assert found is None or margin(found) >= 0
    else:
        assert found == pytest.approx(scan[works[0]], abs=2e-5)
        assert margin(found) >= 0


def states(**changes: bool) -> Open:
    """Everything stated but what is named."""
    return replace(Open(US_USUAL), **changes)


def asked_case(made: Design, where: GroundProfile, draws: Draws | None = None) -> Case:
    """A case as a plan makes it: the usual values of `made` at their last."""
    end_m = float(where.at_m[-1])
    last = at_last(made, site_of(where, end_m, US_USUAL.run_out_m), end_m)
    points = align(where, where.at_m, end_m, last.limits)
    return Case(last, where, where.at_m, points, draws, asked=made)


def test_a_usual_riser_may_be_made_longer_than_its_last_value() -> None:
    """Flat 40 ft need 6 in: from 8 in of cover the bottom ends 18.6 in deep, over the usual 16."""
    made = design(outlet=Outlet("pop_up", "depth", 7 * INCH), open=states(outlet_depth=True))
    (fix,) = [f for f in find_fixes(asked_case(made, ground(0, 0, 0, 0, 0))) if "depth" in f.change]
    assert fix.change == "outlet_depth"
    assert (fix.before, fix.after) == pytest.approx((16 * INCH, 18.75 * INCH), abs=1e-9)
    longest = design(
        start=Start("cover", 14 * INCH), outlet=made.outlet, open=states(outlet_depth=True)
    )
    found = find_fixes(asked_case(longest, ground(0, 0, 0, 0, 0)))  # 24.6 in deep
    assert "outlet_depth" not in {f.change for f in found}


def test_a_usual_ditch_may_be_longer_as_far_as_the_ground_falls() -> None:
    """The ground falls 2 %: 30 ft lead 7.2 in out, 60 ft 14.4 in, and no more."""
    slope = ground(*(2.4 * i for i in range(5)))
    # 40 ft fall 9.6 in and the pipe takes 6: from so much cover it ends cover + 4.6 − 3.6 deep.
    made = design(
        start=Start("cover", 9 * INCH),
        outlet=Outlet("daylight", "depth", 0.0),
        open=states(outlet_depth=True),
    )
    (fix,) = [f for f in find_fixes(asked_case(made, slope)) if f.change == "outlet_depth"]
    assert (fix.before, fix.after) == pytest.approx((7.2 * INCH, 10 * INCH), abs=1e-9)
    deep = replace(made, start=Start("cover", 14 * INCH))
    assert "outlet_depth" not in {f.change for f in find_fixes(asked_case(deep, slope))}


def test_cover_stated_may_run_out_by_whole_feet() -> None:
    """Held to 8 in until 10 ft before the end on 2 %, the pipe at 1.25 % comes out too deep."""
    slope = ground(*(2.4 * i for i in range(7)))
    made = design(
        limits=Limits(8 * INCH, 36 * INCH, 10 * FOOT),
        outlet=Outlet("pop_up", "depth", 0, 9 * INCH),
        open=states(),
        grading=Grading(0.0125),
    )
    case = asked_case(made, slope)
    assert not decide(case.design, case.points).yes
    (fix,) = [f for f in find_fixes(case) if f.change == "run_out"]
    feet = fix.after / FOOT
    assert feet == pytest.approx(round(feet))
    assert fix.asked.limits.run_out_cover_m == US_USUAL.thin_cover_m
    less = replace(fix.asked.limits, outlet_taper_m=fix.after - FOOT)
    there = case.as_asked(replace(fix.asked, limits=less))
    assert not decide(there.design, there.points).yes


def test_a_deeper_start_is_a_single_change() -> None:
    """Even ground falling 3 %, 100 ft: 10 in deep it has 5.785 in of cover, 6 in are stated.

    4.215 in of pipe and 6 in of cover are 10.215 in of depth.
    """
    pipe = CATALOGUE["pvc-sdr35-4"]
    made = Design(
        pipe,
        Start("depth", 10 * INCH),
        Grading(0.01),
        Limits(6 * INCH, None, 10 * FOOT),
        Outlet("daylight", "depth", 0.0, 12 * INCH),
        open=states(),
    )
    found = find_fixes(asked_case(made, ground(*(3.6 * i for i in range(11)))))
    fix = next(f for f in found if f.change == "start_depth")
    assert fix.after / INCH == pytest.approx(10.25)


def test_a_greater_grade_is_a_single_change() -> None:
    """10 ft that fall 12 in ask for more than the 4 % stated."""
    made = design(
        grading=Grading(0.0125, 0.04),
        limits=Limits(6 * INCH, 36 * INCH, 0.0),
        start=Start("cover", 6 * INCH),
        outlet=Outlet("tie_in", "depth", 10.6 * INCH, 14 * INCH),
    )
    found = fixes_of(made, ground(0, 12))
    # 12 in of ground with the end at least as deep as the start: 10 % at the least.
    assert found[("max_grade", "")].after == pytest.approx(0.1)


def test_a_flatter_grade_is_a_single_change() -> None:
    """Flat 40 ft, 8 in of cover, 15 in at the end: 2.4 in of fall are 0.5 %, no more."""
    made = design(outlet=Outlet("tie_in", "depth", 0, 15 * INCH))
    fix = fixes_of(made, ground(0, 0, 0, 0, 0))[("min_grade", "")]
    assert fix.after == pytest.approx(0.005)
    deep = design(outlet=Outlet("tie_in", "depth", 0, 13 * INCH))  # 0.08 %: no crew lays that
    assert ("min_grade", "") not in fixes_of(deep, ground(0, 0, 0, 0, 0))


def test_soil_on_the_start_lifts_the_pipe_by_as_much() -> None:
    """8 in of cover end 18.6 in deep on flat ground, 15 in are stated: 3.6 in of soil."""
    made = design(
        limits=Limits(4 * INCH, 36 * INCH, 10 * FOOT),
        outlet=Outlet("tie_in", "depth", 0, 15 * INCH),
    )
    case = asked_case(made, ground(*[0] * 5))
    (fix,) = [f for f in soil_fixes(case) if f.change == "soil_start"]
    assert fix.after / INCH == pytest.approx(3.75)
    assert fix.fill is not None
    assert fix.fill.to_m == pytest.approx(10 * FOOT)
    volume = 0.5 * fix.after * 10 * FOOT * 6 * FOOT  # a wedge
    assert fix.fill.volume_m3 == pytest.approx(volume)
    assert fix.ground_m is None
    by_invert = replace(case.as_it_is, start=Start("invert", -12.6 * INCH))
    assert not list(soil_fixes(asked_case(by_invert, case.ground)))


def test_a_hump_is_taken_off_by_what_the_depth_lacks() -> None:
    """The bottom lies 12.6 in deep at the start and 3 in lower at 20 ft, 24 in are allowed there.

    A hump of 12 in makes it 27.6 in deep: 3.6 in come off.
    """
    where = ground(0, 0, -12, 3, 6, 9)
    made = design(
        limits=Limits(6 * INCH, 24 * INCH, 10 * FOOT),
        outlet=Outlet("tie_in", "depth", 0, 20 * INCH),
    )
    (fix,) = [f for f in soil_fixes(asked_case(made, where)) if f.change == "soil_hump"]
    assert fix.after / INCH == pytest.approx(3.75)
    assert fix.values["from_m"] == pytest.approx(10 * FOOT)
    assert fix.values["to_m"] == pytest.approx(30 * FOOT)


def test_how_much_further_it_comes_out_by_the_last_slope() -> None:
    """3 % of ground and 1.25 % of pipe: 0.21 in a foot are gained, 4.4 in are lacking.

    From 14 in of cover over 20 ft the bottom ends 18.6 − 4.2 = 14.4 in deep, and 10 are stated:
    4.4 / 0.21 = 21 ft, told as 25.
    """
    made = design(
        start=Start("cover", 14 * INCH),
        outlet=Outlet("daylight", "depth", 0, 10 * INCH),
        open=states(),
        limits=Limits(6 * INCH, None, 10 * FOOT),
    )
    further_m = carried_on_m(asked_case(made, ground(0, 3.6, 7.2)))
    assert further_m is not None
    assert further_m / FOOT == pytest.approx(25)
    assert carried_on_m(asked_case(made, ground(0, 0, 0))) is None


def test_of_two_changes_neither_goes_further_than_it_must() -> None:
    """Both limits of depth are short: 21 in were said to be enough, 60 in are too much."""
    at = np.array([0, 11, 29, 30]) * FOOT
    where = from_elevations(at, np.array([99.15, 98.537, 99.216, 98.817]) * FOOT)
    made = Design(
        CATALOGUE["pvc-sdr35-4"],
        Start("cover", 10 * INCH),
        Grading(0.0025),
        Limits(8 * INCH, 14 * INCH, 15 * FOOT),
        Outlet("tie_in", "depth", 7 * INCH, 10 * INCH),
        open=states(),
    )
    case = asked_case(made, where)
    straight = decide(case.design, case.points)
    bent = replace(made, grading=replace(made.grading, shape="least_dig", max_breaks=5))
    other = decide(bent, case.points)
    assert not other.yes
    assert straight.margin_m <= other.margin_m + 1e-9  # one grade is no less short than any shape
    pair = best_pair(case)
    assert pair is not None
    for fix in pair:
        assert isinstance(fix.after, float)
        assert fix.after < 40 * INCH
    last = pair[0].asked
    there = case.as_asked(last)
    assert decide(there.design, there.points).yes
    turned = {
        "max_depth": lambda d, v: replace(d, limits=replace(d.limits, max_depth_m=v)),
        "outlet_depth": lambda d, v: replace(d, outlet=replace(d.outlet, most_m=v)),
    }
    assert {fix.change for fix in pair} == set(turned)
    for fix in pair:
        less = case.as_asked(turned[fix.change](last, fix.after - 0.25 * INCH))
        assert not decide(less.design, less.points).yes


def test_a_margin_of_zero_at_the_far_end_is_not_where_it_begins() -> None:
    """4x − x² − 3 is zero at 1 and at 3 (by hand), but for rounding: the first is meant."""
    found = first_that_works(lambda x: 4 * x - x**2 - 3 + 1e-13, 0.0, 3.0)
    assert found == pytest.approx(1, abs=1e-8)
