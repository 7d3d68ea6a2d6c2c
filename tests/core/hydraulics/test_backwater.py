"""Water at the outlet carried up the line: level pools by hand, full pipes by another library."""

from __future__ import annotations

import numpy as np
import pytest
from fluids.core import head_from_K
from fluids.open_flow import n_Manning_to_C_Chezy

from yardfall.core.grade_runs import GradeRun
from yardfall.core.hydraulics.backwater import Backwater, Tailwater, back_up
from yardfall.core.hydraulics.capacity import Inflow, cautious
from yardfall.core.hydraulics.hydraulic_grade_line import (
    End,
    Inlet,
    WetLine,
    grade_line,
    water_at_inlets,
)
from yardfall.core.hydraulics.manning import capacity_full, depth_at_flow
from yardfall.core.pipes import CATALOGUE

PIPE = CATALOGUE["pvc-sdr35-4"]
D, N = PIPE.inside_m, cautious(PIPE).n
LENGTH_M = 30.0


def a_line(
    grade: float = 0.01,
    flows: tuple[tuple[float, float], ...] = (),
    inlets: tuple[Inlet, ...] = (),
    branches: tuple[tuple[float, float, WetLine], ...] = (),
    cover_m: float = 0.3,
    end_m: float = 0.0,
    length_m: float = LENGTH_M,
    name: str = "",
) -> WetLine:
    """One grade down to an invert of `end_m`, the ground `cover_m` over the crown all along."""
    at_m = np.linspace(0, length_m, 7)
    fall_m = grade * length_m
    invert_m = end_m + fall_m - grade * at_m
    return WetLine(
        PIPE,
        at_m,
        invert_m,
        (GradeRun(0.0, length_m, grade, fall_m),),
        tuple(Inflow("other", q, x) for x, q in flows),
        inlets,
        branches,
        invert_m + D + cover_m,
        name,
    )


def stood(line: WetLine, stated_m: float, lid_m: float | None = None) -> Backwater:
    return back_up(line, stated_m, line.at_m, lid_m)


def darcy_head_m(flow_m3s: float, length_m: float) -> float:
    """Head lost in the full pipe by Darcy and Weisbach, f = 8g/C² with Chezy's C of n (fluids)."""
    velocity_m_s = flow_m3s / (np.pi / 4 * D**2)
    chezy = n_Manning_to_C_Chezy(N, D / 4)
    loss = 8 * 9.80665 / chezy**2 * length_m / D
    return float(head_from_K(loss, velocity_m_s))


def test_a_level_pool_by_hand() -> None:
    """Still water 0.2 m over the end of a pipe at 1 in 100 reaches 20 m up its bottom (geometry).

    It fills the bore as far as the crown lies below it: (0.2 - D) / 0.01.
    """
    water = stood(a_line(), 0.2)
    assert water.to_m == pytest.approx(10.0)
    assert water.full_m == pytest.approx((0.2 - D) / 0.01)
    assert water.level_m == pytest.approx(0.2)
    assert water.at_m[[0, -1]] == pytest.approx([10.0, LENGTH_M])
    assert water.over_m == pytest.approx(0.2 - D)
    assert water.drowns_outlet
    assert not water.flowing
    assert water.flooded == ()
    assert water.all_dry


def test_a_pool_over_two_grades_by_hand() -> None:
    """20 m at 2 % and 10 m at 1 %: water 0.3 m over the end stands 10 m, then 0.2/0.02 = 10 m."""
    at_m = np.array([0.0, 20.0, 30.0])
    runs = (GradeRun(0.0, 20.0, 0.02, 0.4), GradeRun(20.0, 30.0, 0.01, 0.1))
    invert_m = np.array([0.5, 0.1, 0.0])
    line = WetLine(PIPE, at_m, invert_m, runs, (), (), (), invert_m + 1.0)
    assert stood(line, 0.3).to_m == pytest.approx(10.0)
    assert stood(line, 0.1 + D / 2).full_m == pytest.approx((0.1 + D / 2 - D) / 0.01)


@pytest.mark.parametrize("stated_m", [0.6, 1.5])
def test_friction_in_the_full_pipe_by_another_library(stated_m: float) -> None:
    """Two flows in a drowned, all but level pipe: Darcy and Weisbach by `fluids`, stretch by
    stretch."""
    line = a_line(
        1e-6, ((0, 0.003), (12, 0.004)), (Inlet("a", 0.0, 9.0, True), Inlet("b", 12.0, 9.0, True))
    )
    upper, lower = water_at_inlets(line, End(water_m=stated_m)).inlets
    at_b_m = stated_m + darcy_head_m(0.007, 18)
    assert lower.level_m == pytest.approx(at_b_m, abs=1e-5)
    own_m = upper.level_m - upper.entry_m  # what it takes to get in stands over the pipe's water
    assert own_m == pytest.approx(at_b_m + darcy_head_m(0.003, 12), abs=1e-5)
    assert (upper.still_m, lower.still_m) == (stated_m, stated_m)
    water = stood(line, stated_m)
    assert (water.to_m, water.full_m) == (0.0, pytest.approx(LENGTH_M))
    assert water.level_m[0] == pytest.approx(own_m)


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9])
@pytest.mark.parametrize("tail", [0.7, 1.0, 1.9])
def test_the_water_meets_the_pipes_own(share: float, tail: float) -> None:
    """Upstream of where it backs up to, the line as without it; downstream, above (by steps)."""
    flow_m3s = share * capacity_full(D, 0.01, N)
    line = a_line(flows=((0, flow_m3s),))
    own_m = depth_at_flow(flow_m3s, D, 0.01, N)
    assert own_m is not None
    water = stood(line, tail * D)
    if tail * D <= own_m:
        assert water.to_m is None
        return
    assert water.to_m is not None
    at_m = np.linspace(0, LENGTH_M, 3001)
    level_m = grade_line(line, PIPE, tail * D, at_m, flowing=True)
    over_m = level_m - np.interp(at_m, line.at_m, line.invert_m) - own_m
    assert at_m[over_m > 1e-9].min() == pytest.approx(water.to_m, abs=0.02)
    full = at_m[over_m + own_m >= D - 1e-9]
    assert water.full_m == pytest.approx(LENGTH_M - full.min() if full.size else 0.0, abs=0.02)
    assert np.interp(at_m, water.at_m, water.level_m)[at_m > water.to_m] == pytest.approx(
        level_m[at_m > water.to_m], abs=1e-9
    )


@pytest.mark.parametrize("flow_m3s", [0.0, 0.002, 0.02])
@pytest.mark.parametrize("stated_m", [-4.0, 0.0, D / 2, D])
def test_below_the_crown_it_changes_nothing(flow_m3s: float, stated_m: float) -> None:
    inlets = (Inlet("grate", 25.0, 0.1, True), Inlet("roof", 0.0, 0.4, False))
    line = a_line(flows=((0, flow_m3s),), inlets=inlets)
    assert water_at_inlets(line, End(water_m=stated_m)).inlets == water_at_inlets(line).inlets
    water = stood(line, stated_m)
    assert not water.drowns_outlet
    assert (water.flooded, water.under_m, water.at_house) == ((), (), ())


def test_a_lid_keeps_out_what_stands_below_it() -> None:
    line = a_line()
    assert stood(line, 0.25, lid_m=0.3).to_m is None
    over = stood(line, 0.35, lid_m=0.3)
    assert over.over_m == pytest.approx(0.05)
    assert over.to_m == 0.0  # the pipe starts at 0.30


def test_what_opens_below_it_floods() -> None:
    """Water at 0.75: a drain at 0.7 floods, one at 0.75 does not; the start lies at 0.7."""
    drains = (
        Inlet("low drain", 5.0, 0.7, True),
        Inlet("high drain", 6.0, 0.75, True),
        Inlet("grate", 28.0, 0.02 + D + 0.3, False),
        Inlet("downspout", 20.0, 0.1 + D + 0.3, False, at_house=True),
    )
    line = a_line(inlets=drains, cover_m=0.4 - D)
    water = stood(line, 0.75)
    found = {one.inlet.what: one for one in water.flooded}
    assert set(found) == {"low drain", "grate", "downspout", "ground at the start"}
    assert found["low drain"].over_m == pytest.approx(0.05)
    assert found["ground at the start"].over_m == pytest.approx(0.05)
    assert {what for what, one in found.items() if not one.at_house} == {"grate"}
    assert water.under_m == tuple(line.at_m.tolist())
    assert water.over_all
    assert [one.over_m for one in water.flooded] == sorted(
        (one.over_m for one in water.flooded), reverse=True
    )


def test_what_floods_without_it_is_not_laid_to_it() -> None:
    """A grate drowned by the flow alone, far above a pool that does not come so far."""
    grate = Inlet("grate", 2.0, 0.28 + D / 2, True)
    line = a_line(flows=((0, 2 * capacity_full(D, 0.01, N)),), inlets=(grate,))
    assert water_at_inlets(line).inlets[0].spare_m < 0
    assert stood(line, D).flooded == ()
    assert not stood(line, D).all_dry
    steep = a_line(flows=((0, 0.001),), inlets=(Inlet("low", 2.0, 0.27, True),))
    assert water_at_inlets(steep).inlets[0].spare_m < 0
    assert stood(steep, 0.2).flooded == ()


def test_a_branch_rides_on_the_main_lines_level() -> None:
    """Its own datum 5 m higher: the pool of 0.6 stands at 5.6 there, over its start at 5.55."""
    twig = a_line(0.01, (), (), cover_m=0.1, end_m=5.1, length_m=5.0, name="twig")
    branch = a_line(
        0.01, (), (), ((5.0, 0.0, twig),), cover_m=0.35 - D, end_m=5.1, length_m=10.0, name="patio"
    )
    line = a_line(branches=((20.0, 5.0, branch),), cover_m=1.0)
    water = stood(line, 0.6)
    ((patio),) = [one for one in water.flooded if one.line == ("patio",)]
    assert (patio.kind, patio.level_m) == ("start", pytest.approx(5.6))
    assert patio.over_m == pytest.approx(5.6 - (5.2 + 0.35))
    assert any(one.line == ("patio", "twig") for one in water.flooded)
    assert all(one.line for one in water.flooded)
    standing = water_at_inlets(line, End(water_m=0.6))
    assert standing.inlets == ()


def test_higher_water_never_stands_lower_anywhere() -> None:
    line = a_line(0.012, ((0, 0.004), (10, 0.003)))
    at_m = np.linspace(0, LENGTH_M, 50)
    lower = grade_line(line, PIPE, -9.0, at_m, flowing=True)
    for stated_m in np.linspace(-0.2, 1.2, 15):
        now = grade_line(line, PIPE, float(stated_m), at_m, flowing=True)
        assert (now >= lower - 1e-12).all()
        lower = now


def test_a_larger_pipe_is_only_named_where_it_helps() -> None:
    """Against flow over standing water a larger pipe helps; against the standing water none."""
    flows = ((0.0, 1.5 * capacity_full(D, 0.01, N)),)
    for opening_m, helps in ((0.55, True), (0.35, False)):
        line = a_line(flows=flows, inlets=(Inlet("drain", 0.0, opening_m, True),))
        (drain,) = water_at_inlets(line, End(water_m=0.4)).inlets
        assert drain.spare_m < 0
        assert (drain.serves is not None) == helps
        if drain.serves:
            larger = WetLine(
                drain.serves, line.at_m, line.invert_m, line.runs, line.inflows, line.inlets
            )
            assert water_at_inlets(larger, End(water_m=0.4)).inlets[0].spare_m >= 0


def test_by_depth_below_the_ground_there() -> None:
    assert Tailwater("depth", 0.3).level_m(51.74) == pytest.approx(51.44)
    assert Tailwater("depth", -0.1).level_m(51.74) == pytest.approx(51.84)
    assert Tailwater("elevation", 51.2).level_m(51.74) == 51.2
