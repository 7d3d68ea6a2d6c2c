"""Water levels from the outlet up, against worked values and the flow equation solved along it."""

from __future__ import annotations

import numpy as np
import pytest
from fluids.open_flow import V_Manning
from scipy.integrate import solve_ivp

from yardfall.core.grade_runs import GradeRun
from yardfall.core.hydraulics.capacity import Inflow, cautious
from yardfall.core.hydraulics.hydraulic_grade_line import (
    End,
    Inlet,
    WetLine,
    grade_line,
    water_at_inlets,
)
from yardfall.core.hydraulics.manning import capacity_full, flow_at_depth
from yardfall.core.pipes import CATALOGUE, Pipe
from yardfall.core.units import INCH_M

PIPE = CATALOGUE["corrugated-single-4"]


def a_line(
    grade: float,
    flows: list[tuple[float, float]],
    inlets: list[tuple[float, float]],
    length_m: float = 30.0,
    branches: tuple[tuple[float, float, WetLine], ...] = (),
    pipe: Pipe = PIPE,
) -> WetLine:
    """One grade, its end's invert at 0; flows as (station, m³/s), inlets as (station, opening)."""
    at_m = np.linspace(0, length_m, 7)
    fall_m = grade * length_m
    return WetLine(
        pipe,
        at_m,
        fall_m - grade * at_m,
        (GradeRun(0.0, length_m, grade, fall_m),),
        tuple(Inflow("other", q, x) for x, q in flows),
        tuple(Inlet(f"inlet {x:g}", x, z, stated=True) for x, z in inlets),
        branches,
    )


def test_a_full_bore_worked_by_hand() -> None:
    """TxDOT Hydraulic Design Manual eq. 6-26, full circle: h_f = (n·Q/(0.3116·D^(8/3)))²·L.

    2 L/s from 0 and 2 more from 10 m, the lid 0.5 m over the end, the pipe all but level.
    """
    line = a_line(1e-6, [(0, 0.002), (10, 0.002)], [(0, 9.0), (10, 9.0)])
    n, d = cautious(PIPE).n, PIPE.inside_m

    def loss(q: float, length: float) -> float:
        return (n * q / (0.3116 * d ** (8 / 3))) ** 2 * length

    upper, lower = water_at_inlets(line, End(0.5)).inlets
    assert lower.level_m == pytest.approx(0.5 + loss(0.004, 20), rel=2e-3)
    speed = 0.002 / (np.pi * d**2 / 4)
    getting_in = 1.5 * speed**2 / (2 * 9.80665)  # (1 + Ke)·V²/2g, Ke 0.5: FHWA HDS-5
    assert upper.entry_m == pytest.approx(getting_in)
    assert lower.entry_m == 0, "it joins by a wye"
    at_start = 0.5 + loss(0.004, 20) + loss(0.002, 10) + getting_in
    assert upper.level_m == pytest.approx(at_start, rel=2e-3)
    assert upper.still_m == 0.5


def test_a_free_surface_by_another_library() -> None:
    """Below capacity and off the backwater the pipe's own water is at normal depth (fluids)."""
    line = a_line(0.02, [(0, 0.002)], [(0, 9.0)])
    (inlet,) = water_at_inlets(line).inlets
    depth_m, d = inlet.level_m - inlet.entry_m - 0.02 * 30, PIPE.inside_m
    angle = 2 * np.arccos(1 - 2 * depth_m / d)
    area = d**2 / 8 * (angle - np.sin(angle))
    velocity = V_Manning(Rh=area / (d * angle / 2), S=0.02, n=cautious(PIPE).n)
    assert velocity * area == pytest.approx(0.002, rel=1e-6)


@pytest.mark.parametrize("share", [0.3, 0.6, 0.9, 1.3])
@pytest.mark.parametrize("tail", [0.0, 0.5, 1.0, 2.5])
def test_against_the_flow_equation(share: float, tail: float) -> None:
    """dW/dx = −(Q/K(y))², speed left out, solved upstream from the tail (scipy).

    Full, or at normal depth, they are one. Where a backwater runs out the equation lies a little
    higher: by less than a tenth of the bore.
    """
    n, d, grade, length = cautious(PIPE).n, PIPE.inside_m, 0.012, 30.0
    q = share * capacity_full(d, grade, n)
    line = a_line(grade, [(0, q)], [])
    at_m = np.linspace(0, length, 61)
    level_m = grade_line(line, PIPE, tail * d, at_m, flowing=True)

    def conveyance(depth: float) -> float:
        full = capacity_full(d, 1.0, n)
        return min(full, float(flow_at_depth(min(max(depth, 1e-4), d), d, 1.0, n)))

    solved = solve_ivp(
        lambda u, w: (q / conveyance(w[0] - grade * u)) ** 2,
        (0, length),
        [level_m[-1]],
        t_eval=length - at_m[::-1],
        max_step=0.1,
        method="LSODA",
    ).y[0][::-1]
    off = level_m - solved
    assert off.max() < 1e-3
    assert off.min() > -0.1 * d
    if (tail >= 1 and share > 1) or tail <= share / 2:
        assert np.abs(off).max() < 2e-3


def test_a_low_inlet_drowned_by_a_high_one() -> None:
    """The water of a roof far above backs up to a yard grate below it; alone, the grate is dry."""
    full = capacity_full(PIPE.inside_m, 0.01, cautious(PIPE).n)
    grate = (20.0, 0.1 + PIPE.inside_m + 4 * INCH_M)
    alone = a_line(0.01, [(20, 0.3 * full)], [grate])
    both = a_line(0.01, [(0, 1.8 * full), (20, 0.3 * full)], [(0, 9.0), grate])
    assert water_at_inlets(alone).inlets[0].spare_m > 0
    roof, drowned = water_at_inlets(both).inlets
    assert roof.spare_m > 0 > drowned.spare_m
    assert drowned.serves is not None
    larger = a_line(
        0.01, [(0, 1.8 * full), (20, 0.3 * full)], [(0, 9.0), grate], pipe=drowned.serves
    )
    assert water_at_inlets(larger).inlets[1].spare_m >= 0
    smaller = [
        p for p in CATALOGUE.values() if PIPE.inside_m < p.inside_m < drowned.serves.inside_m
    ]
    for pipe in smaller:
        tried = a_line(0.01, [(0, 1.8 * full), (20, 0.3 * full)], [(0, 9.0), grate], pipe=pipe)
        assert water_at_inlets(tried).inlets[1].spare_m < 0


def test_a_branch_stands_as_high_as_the_line_at_its_join() -> None:
    """A branch with no flow of its own fills level with the line it joins, datum for datum."""
    branch = a_line(0.01, [], [(0, 5.3)], length_m=10.0)
    line = a_line(1e-6, [(0, 0.004)], [(15, 9.0)], branches=((15.0, 5.0, branch),))
    standing = water_at_inlets(line, End(0.4))
    (here,), (above,) = standing.inlets, standing.branches[0].inlets
    assert above.level_m == pytest.approx(here.level_m + 5.0)
    assert above.spare_m < 0
    assert above.still_m == pytest.approx(5.4), "the lid alone stands above it"
    assert above.serves is None, "no pipe helps against still water"
