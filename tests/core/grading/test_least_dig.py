"""The line that digs least, held against scipy's own linear and mixed-integer solvers.

The programs below are written from the definition of the task (band at every point, two grades,
changes of grade at chosen stations only) and share nothing with the code under test. Their
tolerance is set to 1e-10 m so that "none" means the same on both sides.
"""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from scipy.optimize import LinearConstraint, linprog, milp

from yardfall.core.grading import break_lp, least_dig
from yardfall.core.grading.band import DECISION_SLACK_M, highest_line
from yardfall.core.grading.least_dig import least_dig as dig
from yardfall.core.grading.least_dig import least_dig_with_breaks as dig_with

AREA_TOLERANCE_M2 = 1e-6
ROUNDING_M = 1e-12
EXACT = {"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10}


@pytest.fixture
def bounds_only(monkeypatch):
    """Makes the bounds do the work: no line is put together before each break has its station."""
    monkeypatch.setattr(least_dig, "TRYING", False)


def random_site(seed, n=24, stations=6, smooth=False):
    """A made-up yard: at, lo, hi, least grade, greatest grade, break stations."""
    rng = np.random.default_rng(seed)
    at = np.concatenate([[0.0], np.cumsum(rng.uniform(0.2, 1.8, n - 1))])
    ground = -rng.uniform(0.0, 0.05) * at
    for wave in range(1, 5):
        ground += rng.normal(0, 0.25 / wave) * np.sin(wave * at / at[-1] * 5 + rng.uniform(0, 6))
    if not smooth:
        ground += rng.normal(0, 0.03, n)
    hi = ground - 0.25
    lo = hi - rng.uniform(0.05, 1.0)
    least, greatest = rng.choice([0.0, 0.005, 0.02]), rng.choice([None, 0.1, 0.2])
    kind = seed % 4
    if kind in (1, 2):
        lo[0] = hi[0] = hi[0] - rng.uniform(0, 0.1)
    top = highest_line(at, hi, least, np.inf if greatest is None else greatest)
    if kind == 1:
        lo[1:] = -np.inf
    if kind == 2:
        lo[-1] = hi[-1] = top[-1] - rng.uniform(0, 0.2)
    if kind == 3:
        lo = hi - 2.0
        tight = rng.choice(n, n // 5, replace=False)
        lo[tight] = top[tight] - rng.uniform(0.0, 0.15, n // 5)
    breaks = np.sort(rng.choice(np.arange(1, n - 1), min(stations, n - 2), replace=False))
    return at, lo, hi, least, greatest, breaks


def stepped_site(seed):
    """Levels in whole steps at even stations: ties, rows that meet in one point, no slack."""
    rng = np.random.default_rng(seed)
    n = 13
    at = np.arange(n, dtype=float)
    hi = 0.05 * np.cumsum(rng.integers(-2, 2, n))
    lo = hi - 0.05 * rng.integers(3, 9)
    if seed % 2:
        least = 0.05 * rng.integers(0, 2)
        top = highest_line(at, hi, least)
        lo[0] = hi[0]
        lo[-1] = hi[-1] = top[-1]
        return at, np.minimum(lo, top), hi, least, None, np.arange(1, n - 1, 2)
    return at, lo, hi, 0.0, 0.1, np.arange(1, n - 1, 2)


def reference_lp(at, lo, hi, least, greatest, breaks):
    """Greatest area for given breaks, by scipy.optimize.linprog; None when there is no line."""
    x = at[[0, *breaks, len(at) - 1]]
    hats = np.array([np.interp(at, x, one) for one in np.eye(len(x))]).T
    area = np.trapezoid(hats, at, axis=0)
    fall = hats[:-1] - hats[1:]
    run = np.diff(at)
    rows, most = [hats, -fall], [hi, -least * run]
    deep = np.isfinite(lo)
    rows.append(-hats[deep])
    most.append(-lo[deep])
    if greatest is not None:
        rows.append(fall)
        most.append(greatest * run)
    answer = linprog(
        -area, np.vstack(rows), np.concatenate(most), bounds=(None, None), options=EXACT
    )
    assert answer.status in (0, 2), answer.message
    return -answer.fun if answer.status == 0 else None


def reference_milp(at, lo, hi, least, greatest, breaks, most_breaks, seconds=np.inf):
    """Greatest area over all sets, by scipy.optimize.milp; needs a greatest grade.

    Unknowns: the levels at both ends and all break stations, and a switch for each break. The
    grades on its two sides may differ by at most (greatest − least) × switch. After `seconds` it
    is the best found so far.
    """
    x = at[[0, *breaks, len(at) - 1]]
    knots_n, switches = len(x), len(breaks)
    hats = np.array([np.interp(at, x, one) for one in np.eye(knots_n)]).T
    grade = -np.diff(np.eye(knots_n), axis=0) / np.diff(x)[:, None]
    change = np.diff(grade, axis=0)
    none = np.zeros
    spread = (greatest - least) * np.eye(switches)
    limits = [
        LinearConstraint(np.hstack([hats, none((len(at), switches))]), lo, hi),
        LinearConstraint(np.hstack([grade, none((len(grade), switches))]), least, greatest),
        LinearConstraint(np.hstack([change, -spread]), -np.inf, 0),
        LinearConstraint(np.hstack([-change, -spread]), -np.inf, 0),
        LinearConstraint(np.hstack([none(knots_n), np.ones(switches)])[None], 0, most_breaks),
    ]
    weight = np.concatenate([-np.trapezoid(hats, at, axis=0), none(switches)])
    answer = milp(
        weight,
        constraints=limits,
        integrality=np.repeat([0, 1], [knots_n, switches]),
        bounds=(
            np.repeat([-np.inf, 0.0], [knots_n, switches]),
            np.repeat([np.inf, 1.0], [knots_n, switches]),
        ),
        options={"mip_rel_gap": 0.0, "time_limit": seconds},
    )
    assert answer.status in (0, 2) or (answer.status == 1 and np.isfinite(seconds)), answer.message
    return None if answer.x is None else -answer.fun


def assert_keeps_limits(line, at, lo, hi, least, greatest, breaks, most_breaks):
    """The line is what it says it is, and keeps every limit at every point."""
    assert len(line.at_m) <= most_breaks + 2
    assert set(line.at_m[1:-1]) <= set(at[breaks])
    assert line.at_m[0] == at[0]
    assert line.at_m[-1] == at[-1]
    np.testing.assert_array_equal(line.invert_m, np.interp(at, line.at_m, line.z_m))
    assert line.area_m2 == pytest.approx(np.trapezoid(line.invert_m, at), abs=1e-9)
    slack = DECISION_SLACK_M + ROUNDING_M
    assert np.all(line.invert_m <= hi + slack)
    assert np.all(line.invert_m >= lo - slack)
    fall, run = -np.diff(line.z_m), np.diff(line.at_m)
    assert np.all(fall >= least * run - slack)
    if greatest is not None:
        assert np.all(fall <= greatest * run + slack)


def agree(line, expected):
    """Same verdict and same area as the reference."""
    if expected is None:
        assert line is None
    else:
        assert line is not None
        assert line.area_m2 == pytest.approx(expected, abs=AREA_TOLERANCE_M2)


def test_step_worked_by_hand():
    """A step of 1 m in the upper limit of five stations, start fixed, no fall asked.

    At 0 1 2 3 4 the upper limits are 0 0 −1 −1 −1, and the start is held at 0.
    Straight: it must pass −1 at 2, z = −x/2, area −4.
    Break at 1, level u there: through −1 at 2 it ends at −2u − 3, so the area is −u − 4.5, and
    most for the least u that does not run uphill after it, u = −1: −3.5.
    Break at 2: z = −x/2, then flat: −1 − 2 = −3. Break at 3: −x/2 as far as −1.5, then flat: −3.75.
    Breaks at 1 and 2: 0, 0, −1 and flat, the highest line: −2.5.
    """
    at = np.arange(5.0)
    hi = np.array([0.0, 0.0, -1.0, -1.0, -1.0])
    lo = np.array([0.0, *[-9.0] * 4])
    site = (at, lo, hi, 0.0, None)
    by_hand = {(): -4.0, (1,): -3.5, (2,): -3.0, (3,): -3.75, (1, 2): -2.5}
    for breaks, area in by_hand.items():
        assert dig_with(*site, breaks).area_m2 == pytest.approx(area)
    one = dig(*site, np.array([1, 2, 3]), 1)
    assert one.at_m == (0.0, 2.0, 4.0)
    assert one.z_m == pytest.approx((0.0, -1.0, -1.0))
    two = dig(*site, np.array([1, 2, 3]), 2)
    assert two.at_m == (0.0, 1.0, 2.0, 4.0)
    assert two.area_m2 == pytest.approx(-2.5)


@pytest.mark.parametrize("seed", range(24))
def test_given_breaks_match_linprog(seed):
    at, lo, hi, least, greatest, breaks = random_site(seed)
    rng = np.random.default_rng(seed)
    for count in range(5):
        chosen = np.sort(rng.choice(breaks, count, replace=False)).tolist()
        line = dig_with(at, lo, hi, least, greatest, chosen)
        agree(line, reference_lp(at, lo, hi, least, greatest, chosen))
        if line is not None:
            assert_keeps_limits(line, at, lo, hi, least, greatest, chosen, count)


@pytest.mark.parametrize("site", [random_site, stepped_site])
@pytest.mark.parametrize("seed", range(16))
def test_matches_trying_every_set(site, seed, bounds_only):
    at, lo, hi, least, greatest, breaks = site(seed)
    best = None
    for count in range(5):
        for chosen in combinations(breaks.tolist(), count):
            area = reference_lp(at, lo, hi, least, greatest, chosen)
            if area is not None and (best is None or area > best):
                best = area
        line = dig(at, lo, hi, least, greatest, breaks, count)
        agree(line, best)
        if line is not None:
            assert_keeps_limits(line, at, lo, hi, least, greatest, breaks, count)
            assert line.more_m2 == 0


def test_the_random_sites_hold_both_verdicts():
    """The comparisons above see lines and refusals, so neither agreement is empty."""
    verdicts = [
        dig(*random_site(seed), count) is not None for seed in range(24) for count in range(4)
    ]
    assert 20 < sum(verdicts) < len(verdicts) - 20
    needs_breaks = [
        seed
        for seed in range(24)
        if dig(*random_site(seed), 0) is None and dig(*random_site(seed), 3) is not None
    ]
    assert len(needs_breaks) >= 3


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("most_breaks", [1, 2, 3, 4, 5])
def test_matches_mixed_integer_program(seed, most_breaks, bounds_only):
    at, lo, hi, least, _, breaks = random_site(400 + seed, n=60, stations=15)
    line = dig(at, lo, hi, least, 0.2, breaks, most_breaks)
    agree(line, reference_milp(at, lo, hi, least, 0.2, breaks, most_breaks))


@pytest.mark.parametrize(("seed", "smooth"), [(3, True), (4, False), (7, True)])
@pytest.mark.parametrize("most_breaks", [2, 3])
def test_bounds_drop_no_set_that_wins(seed, smooth, most_breaks, bounds_only):
    """45 stations: every one of up to 14,190 sets is solved, without any bound."""
    at, lo, hi, least, greatest, breaks = random_site(seed, n=150, stations=45, smooth=smooth)
    rows = break_lp.make_rows(
        at, lo, hi, least, greatest, np.concatenate([[0], breaks, [len(at) - 1]])
    )
    assert rows is not None
    sets = [[0, *chosen, len(at) - 1] for chosen in combinations(breaks.tolist(), most_breaks)]
    area, _ = break_lp.best_levels(rows, np.array(sets), np.full(len(sets), -np.inf))
    alone, _ = break_lp.best_levels(rows, np.array(sets), np.full(len(sets), -np.inf), one=True)
    assert alone.max() == area.max()
    assert np.argmax(alone) == np.argmax(area)
    line = dig(at, lo, hi, least, greatest, breaks, most_breaks)
    assert (line is None) == bool(np.all(np.isinf(area)))
    if line is not None:
        best = area.max() + rows.datum_m * at[-1]
        assert line.area_m2 == pytest.approx(best, abs=2 * DECISION_SLACK_M * at[-1])


@pytest.mark.parametrize("seed", range(20))
def test_breaks_everywhere_give_the_highest_line(seed):
    at, lo, hi, least, greatest, _ = random_site(seed, n=12)
    top = highest_line(at, hi, least, np.inf if greatest is None else greatest)
    line = dig(at, lo, hi, least, greatest, np.arange(1, 11), 10)
    if np.all(top >= lo):
        assert line is not None
        np.testing.assert_allclose(line.invert_m, top, atol=1e-7)
    else:
        assert line is None


@pytest.mark.parametrize("seed", range(12))
def test_more_breaks_never_dig_more(seed):
    at, lo, hi, least, greatest, breaks = random_site(seed, n=60, stations=25)
    lines = [dig(at, lo, hi, least, greatest, breaks, count) for count in range(5)]
    areas = [-np.inf if line is None else line.area_m2 for line in lines]
    assert areas == sorted(areas)


def test_no_break_that_gains_nothing():
    """On an even slope the straight line is the highest, whatever is allowed."""
    at = np.linspace(0, 30, 61)
    hi = -0.02 * at
    line = dig(at, hi - 1, hi, 0.01, None, np.arange(1, 60), 3)
    assert line.at_m == (0.0, 30.0)
    np.testing.assert_allclose(line.invert_m, hi, atol=1e-12)


def test_fall_with_nothing_to_spare():
    """Both ends fixed exactly the least fall apart: one line is left, and it is found."""
    at = np.linspace(0, 20, 41)
    hi, lo = np.full(41, 99.0), np.full(41, 90.0)
    lo[0] = hi[0] = 98.7
    lo[-1] = hi[-1] = 98.7 - 0.01 * 20
    line = dig(at, lo, hi, 0.01, None, np.arange(1, 40), 2)
    np.testing.assert_allclose(line.invert_m, 98.7 - 0.01 * at, atol=1e-9)
    lo[-1] = hi[-1] = hi[-1] + 1e-7
    assert dig(at, lo, hi, 0.01, None, np.arange(1, 40), 2) is None


def test_band_that_needs_more_breaks_than_allowed():
    """Ground in waves with a shallow depth limit: none with three breaks, one with four."""
    at = np.linspace(0, 60, 121)
    hi = -0.06 * at + 0.3 * np.sin(at * 2 * np.pi / 30)
    site = (at, hi - 0.4, hi, 0.0, 0.3)
    breaks = np.arange(6, 120, 6)
    assert reference_milp(*site, breaks, 3) is None
    assert dig(*site, breaks, 2) is None
    assert dig(*site, breaks, 3) is None
    expected = reference_milp(*site, breaks, 4)
    assert expected is not None
    agree(dig(*site, breaks, 4), expected)


def test_limits_hold_on_a_fine_curve():
    """On 2 cm points along a bowl a line that skips one limit is out by a few nanometres."""
    at = np.linspace(0, 60, 3001)
    hi = 0.0004 * (60 - at) ** 2
    breaks = np.array([700, 1500, 2300])
    line = dig(at, hi - 0.9, hi, 0.0, None, breaks, 3)
    assert_keeps_limits(line, at, hi - 0.9, hi, 0.0, None, breaks, 3)
    agree(line, reference_lp(at, hi - 0.9, hi, 0.0, None, breaks))


@pytest.mark.parametrize("seed", range(8))
def test_height_above_the_sea_changes_nothing(seed):
    at, lo, hi, least, greatest, breaks = random_site(seed, n=60, stations=30)
    low = dig(at, lo, hi, least, greatest, breaks, 2)
    high = dig(at, lo + 2500, hi + 2500, least, greatest, breaks, 2)
    assert (low is None) == (high is None)
    if low is not None:
        assert high.area_m2 - 2500 * at[-1] == pytest.approx(low.area_m2, abs=1e-6)


@pytest.mark.parametrize("seed", range(12))
def test_sets_that_do_not_settle_go_to_the_general_solver(seed, monkeypatch):
    site = random_site(seed)
    usual = dig(*site, 2)
    monkeypatch.setattr(break_lp, "PIVOT_LIMIT", 0)
    other = dig(*site, 2)
    agree(other, None if usual is None else usual.area_m2)


@pytest.mark.parametrize("seed", range(60))
def test_the_least_give_is_that_of_the_linear_program(seed):
    """One more unknown: by how much the lower limits that may give come down."""
    at, lo, hi, least, greatest, breaks = random_site(seed, smooth=seed % 2 == 0)
    rng = np.random.default_rng(seed)
    lo = lo + rng.uniform(0, 0.4)
    gives = rng.random(len(at)) < (1.0 if seed % 3 else 0.8)
    chosen = np.sort(rng.choice(breaks, seed % 4, replace=False)).tolist()
    places = [0, *chosen, len(at) - 1]
    hats = np.column_stack([np.interp(at, at[places], one) for one in np.eye(len(places))])
    falls, length = -np.diff(np.eye(len(places)), axis=0), np.diff(at[places])
    deep = np.isfinite(lo)
    blocks = [
        (hats, np.zeros(len(at)), hi),
        (-hats[deep], -gives[deep].astype(float), -lo[deep]),
        (-falls, np.zeros(len(length)), -least * length),
    ]
    if greatest is not None:
        blocks.append((falls, np.zeros(len(length)), greatest * length))
    answer = linprog(
        np.eye(len(places) + 1)[-1],
        np.concatenate([np.column_stack([a, give]) for a, give, _ in blocks]),
        np.concatenate([most for *_, most in blocks]),
        bounds=[*[(None, None)] * len(places), (0, None)],
        options=EXACT,
    )
    found = least_dig.least_give(at, lo, hi, least, greatest, chosen, gives)
    assert np.isinf(found) == (answer.status == 2)
    if answer.status == 0:
        assert found == pytest.approx(answer.x[-1], abs=1e-8)


def test_grades_that_leave_no_choice():
    at = np.linspace(0, 10, 11)
    hi, lo = np.zeros(11), np.full(11, -np.inf)
    assert dig(at, lo, hi, 0.02, 0.01, np.arange(1, 10), 2) is None
    one = dig(at, lo, hi, 0.02, 0.02, np.arange(1, 10), 2)
    np.testing.assert_allclose(one.invert_m, -0.02 * at, atol=1e-9)


def test_shortest_profile():
    line = dig(np.array([0.0, 5.0]), np.full(2, -1.0), np.zeros(2), 0.01, None, np.array([]), 3)
    assert line.z_m == pytest.approx((0.0, -0.05))


@pytest.mark.parametrize("site", [random_site, stepped_site])
@pytest.mark.parametrize("seed", range(16))
def test_any_line_has_the_fewest_breaks_that_leave_one(site, seed):
    at, lo, hi, least, greatest, breaks = site(seed)
    line = dig(at, lo, hi, least, greatest, breaks, 4, any_line=True)
    fewest = next(
        (
            count
            for count in range(5)
            for chosen in combinations(breaks.tolist(), count)
            if reference_lp(at, lo, hi, least, greatest, chosen) is not None
        ),
        None,
    )
    assert (None if line is None else len(line.at_m) - 2) == fewest


@pytest.mark.parametrize("seed", range(8))
@pytest.mark.parametrize("most_work", [1, 20_000, 80_000])
def test_a_search_cut_short_tells_how_much_it_may_miss(seed, most_work, monkeypatch):
    at, lo, hi, least, greatest, breaks = random_site(seed, n=60, stations=25)
    proven = dig(at, lo, hi, least, greatest, breaks, 4)
    monkeypatch.setattr(least_dig, "TRYING", False)
    monkeypatch.setattr(least_dig, "MOST_WORK", most_work)
    cut = dig(at, lo, hi, least, greatest, breaks, 4)
    assert (cut is None) == (proven is None)
    if proven is None:
        return
    assert proven.more_m2 == 0
    assert cut.area_m2 <= proven.area_m2 + AREA_TOLERANCE_M2
    assert cut.area_m2 + cut.more_m2 >= proven.area_m2 - AREA_TOLERANCE_M2
    top = highest_line(at, hi, least, np.inf if greatest is None else greatest)
    assert cut.area_m2 + cut.more_m2 <= np.trapezoid(top, at) + AREA_TOLERANCE_M2
    if most_work == 1 and proven.area_m2 > cut.area_m2 + AREA_TOLERANCE_M2:
        assert cut.more_m2 > 0


def a_long_yard(stations, points):
    """120 m of waves that fall 2 %, with a limit on depth that a line of few breaks can keep."""
    rng = np.random.default_rng(3)
    at = np.linspace(0, 120, points)
    hi = -0.02 * at
    for wave in range(1, 8):
        hi += rng.normal(0, 0.3 / wave) * np.sin(wave * at / 38 + rng.uniform(0, 6.28))
    breaks = np.unique(np.linspace(1, points - 2, stations).round().astype(np.int64))
    return at, hi - 1.2, hi, 0.005, 0.15, breaks


@pytest.mark.parametrize(("most_breaks", "gap_m2"), [(3, 0.0), (5, 0.05)])
def test_two_thousand_stations_are_proven_or_nearly(most_breaks, gap_m2):
    """More stations leave no more digging: every 20th alone is one of the choices.

    5 breaks are one more than this yard needs, so that the last is good nearly anywhere, and no
    proof is reached; some 130 m² are dug.
    """
    at, lo, hi, least, greatest, breaks = a_long_yard(2000, 4000)
    line = dig(at, lo, hi, least, greatest, breaks, most_breaks)
    assert_keeps_limits(line, at, lo, hi, least, greatest, breaks, most_breaks)
    assert line.more_m2 <= gap_m2
    few = dig(at, lo, hi, least, greatest, breaks[::20], most_breaks)
    assert few.more_m2 == 0
    assert line.area_m2 >= few.area_m2 - AREA_TOLERANCE_M2
    assert line.area_m2 + line.more_m2 >= few.area_m2
    chosen = np.searchsorted(at, line.at_m[1:-1]).tolist()
    agree(line, reference_lp(at, lo, hi, least, greatest, chosen))
    for k in range(len(chosen)):
        for step in (-7, -1, 1, 7):
            moved = np.searchsorted(breaks, chosen[k]) + step
            beside = np.sort([*chosen[:k], int(breaks[moved]), *chosen[k + 1 :]]).tolist()
            other = dig_with(at, lo, hi, least, greatest, beside)
            assert other is None or other.area_m2 <= line.area_m2 + AREA_TOLERANCE_M2
