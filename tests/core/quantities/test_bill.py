"""Pipe, parts, hours and cost, by hand. The rules are common practice, no source."""

from __future__ import annotations

import numpy as np
import pytest

from yardfall.core.design import Alignment, Design, Grading, Limits, Outlet, Start
from yardfall.core.ground.route import turns_deg
from yardfall.core.pipes import CATALOGUE
from yardfall.core.quantities.bill import Prices, Supply, make_bill
from yardfall.core.quantities.parts import fittings, outlet_parts, pipe_bill
from yardfall.core.units import FOOT_M, INCH_M

COIL, STICK = CATALOGUE["corrugated-single-4"], CATALOGUE["pvc-sdr35-4"]


@pytest.mark.parametrize(
    ("pipe", "length_ft", "pieces"),
    [(STICK, 52, 6), (STICK, 95, 10), (STICK, 95.3, 11), (COIL, 52, 1), (COIL, 101, 2)],
)
def test_whole_sticks_and_5_percent_or_coils(pipe, length_ft: float, pieces: int) -> None:
    """52 ft and 5 % are 54.6, six sticks of 10; 95 and 5 % are 99.75; 95.3 are 100.07."""
    assert pipe_bill(pipe, length_ft * FOOT_M, None, None).pieces == pieces


def count(found, code: str) -> int:
    return sum(part.count for part in found if part.code == code)


def parts(*entries, turns=(), length_ft: float = 60, pipe=STICK):
    bill = pipe_bill(pipe, length_ft * FOOT_M, None, None)
    return fittings(entries, np.array(turns, dtype=float), length_ft * FOOT_M, bill)


def test_one_downspout_at_the_head_needs_no_wye() -> None:
    found = parts(("roof", 0.0))
    assert {part.code: part.count for part in found} == {
        "downspout_adapter": 1,
        "cleanout": 1,
        "leaf_filter": 1,
    }


def test_every_other_inflow_comes_in_by_a_wye_and_a_45() -> None:
    """Two downspouts and a pump at the head, a downspout and a yard inlet on the way."""
    found = parts(("roof", 0), ("roof", 0), ("pump", 0), ("roof", 5.0), ("yard", 9.0))
    assert (count(found, "wye"), count(found, "elbow_45")) == (4, 4)
    assert (count(found, "downspout_adapter"), count(found, "cleanout")) == (3, 3)
    assert (count(found, "pump_adapter"), count(found, "catch_basin")) == (1, 1)


@pytest.mark.parametrize(
    ("turn", "small", "large", "cleanouts"),
    [(8, 0, 0, 1), (22, 1, 0, 1), (45, 0, 1, 1), (60, 0, 1, 1), (90, 0, 2, 2), (135, 0, 3, 2)],
)
def test_bends(turn: float, small: int, large: int, cleanouts: int) -> None:
    found = parts(turns=[turn])
    assert (count(found, "elbow_22"), count(found, "elbow_45")) == (small, large)
    assert count(found, "cleanout") == cleanouts  # one of them at the head


@pytest.mark.parametrize(("length_ft", "along"), [(100, 0), (101, 1), (200, 1), (250, 2)])
def test_a_cleanout_about_every_100_ft(length_ft: float, along: int) -> None:
    assert count(parts(length_ft=length_ft), "cleanout") == along + 1
    assert count(parts(length_ft=length_ft, pipe=COIL), "coupler") == -(-length_ft // 100) - 1


def test_turns_of_a_line() -> None:
    square = np.array([[0, 0], [10, 0], [10, 10], [20, 20], [10, 20]], dtype=float)
    assert turns_deg(square) == pytest.approx([90, 45, 135])
    at_60_north = np.array([[0, 60], [0.002, 60], [0.004, 60.001]])
    assert turns_deg(at_60_north, 0.5) == pytest.approx([45])


def test_a_line_that_ends_in_another_brings_its_wye() -> None:
    assert [part.code for part in outlet_parts("tie_in")] == ["wye", "elbow_45"]


AT_M = np.array([0.0, 100]) * FOOT_M
DESIGN = Design(
    STICK,
    Start("depth", 24 * INCH_M),
    Grading(0.0),
    Limits(0.0, None, 0.0, 3 * INCH_M, 12 * INCH_M),
    Outlet("daylight"),
)


def bill(supply: Supply):
    points = Alignment(AT_M, np.zeros(2), np.array([True, True]))
    invert_m = np.full(2, -24 * INCH_M + DESIGN.section.below_invert_m)
    return make_bill(DESIGN, points, invert_m, 100 * FOOT_M, [], np.empty(0), supply)


def test_hours_by_rule_of_thumb() -> None:
    """100 ft at about 4 ft an hour; a machine that reaches 24 in."""
    hours = bill(Supply()).hours
    assert (hours.by_hand_h, hours.machine) == (pytest.approx(25), "trencher_24")
    assert bill(Supply(by_machine_m_h=50 * FOOT_M)).hours.by_machine_h == pytest.approx(2)


def test_no_price_no_cost() -> None:
    assert bill(Supply()).cost is None


def test_cost_is_quantity_times_the_prices_given() -> None:
    """11 sticks at 12.50, 25 cu ft of stone at 2 a cu ft, 25 hours at 40, a cleanout at 18."""
    prices = Prices(
        "USD",
        pipe_piece=12.50,
        bedding_m3=2 / FOOT_M**3,
        hour_by_hand=40,
        parts={"cleanout": 18.0, "wye": 9.0},
    )
    cost = bill(Supply(prices=prices)).cost
    assert cost is not None
    assert {line.what: line.amount for line in cost.lines} == pytest.approx(
        {"pipe": 137.50, "bedding": 50.0, "hour_by_hand": 1000.0, "cleanout": 18.0}
    )
    assert cost.total == pytest.approx(1205.50)
    assert cost.left_out == ("haul", "sod", "animal_guard", "stone_apron")


def test_digging_that_no_known_machine_does_is_said_to_be_left_out() -> None:
    """Deeper than any machine listed: the hours are not known, so no total is told without them."""
    points = Alignment(AT_M, np.zeros(2), np.array([True, True]))
    invert_m = np.full(2, -70 * INCH_M + DESIGN.section.below_invert_m)
    supply = Supply(prices=Prices("USD", hour_by_machine=100))
    cost = make_bill(DESIGN, points, invert_m, 100 * FOOT_M, [], np.empty(0), supply).cost
    assert cost is not None
    assert cost.lines == ()
    assert "hour_by_machine" in cost.left_out
