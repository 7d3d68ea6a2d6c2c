"""The chance against plain draws, a closed form, and the errors' own way through the sums."""

from __future__ import annotations

import math

import numpy as np
import pytest

from yardfall.core.chance.chance import drawn_margins, find_chance, share_that_fits
from yardfall.core.chance.draws import Draws, draw
from yardfall.core.design import Alignment, Design, Grading, Limits, Outlet, Start
from yardfall.core.grading.decision import decide
from yardfall.core.ground.level_line import LineReading, from_level_line, spread_of_lines
from yardfall.core.ground.profile import GroundProfile, from_elevations
from yardfall.core.pipes import CATALOGUE
from yardfall.core.uncertainty.accuracy import Accuracy, point_errors, reading_errors
from yardfall.core.uncertainty.instruments import INSTRUMENTS
from yardfall.core.uncertainty.lidar import LIDARS
from yardfall.core.units import FOOT_M, INCH_M

PIPE = CATALOGUE["corrugated-single-4"]


def a_design(
    shape: str = "straight", most_in: float = 9.0, shallowest: float | None = None
) -> Design:
    return Design(
        PIPE,
        Start("cover", 8 * INCH_M, shallowest),
        Grading(0.0125, shape=shape),
        Limits(6 * INCH_M, 30 * INCH_M, 3.0),
        Outlet("pop_up", "depth", 0.0, most_in * INCH_M),
    )


def yard(n: int = 5) -> GroundProfile:
    at_m = np.linspace(0, 52 * FOOT_M, n)
    down_in = np.interp(at_m, np.linspace(0, at_m[-1], 5), [9, 10.5, 9.5, 14, 20.5])
    return from_elevations(at_m, -down_in * INCH_M)


def on(ground: GroundProfile) -> Alignment:
    return Alignment(ground.at_m, ground.elevation_m, np.ones(len(ground.at_m), dtype=bool))


@pytest.mark.parametrize("shape", ["straight", "least_dig"])
@pytest.mark.parametrize("shallowest", [None, 6.5 * INCH_M])
def test_against_200_000_plain_draws(shape: str, shallowest: float | None) -> None:
    """Each plain draw shifts every reading and runs the plain decision; seeds differ."""
    ground = yard()
    design = a_design(shape, shallowest=shallowest)
    sigma_m = 0.4 * INCH_M
    model = point_errors(Accuracy(sigma_m=sigma_m), ground, ["r"] * 5)
    decision = decide(design, on(ground))
    draws = draw(model)
    quick = find_chance(design, [decision.band], draws, yes=decision.yes).chance

    many = draw(model, count=200_000, seed=5)
    margin = drawn_margins(design, [decision.band], many.change_m)
    chance = share_that_fits(margin)
    error = math.sqrt(chance * (1 - chance) / 4000)
    assert quick == pytest.approx(chance, abs=4 * error)
    # The vectorised margin is the decision's own, draw by draw (with grade changes allowed at
    # every point it need only agree in sign).
    change = many.change_m[:, :150]
    for d in range(150):
        moved = Alignment(ground.at_m, ground.elevation_m + change[:, d], np.ones(5, dtype=bool))
        again = decide(design, moved)
        assert again.yes == (margin[d] >= -1e-9)


@pytest.mark.parametrize("spare_in", [-0.5, 0.0, 0.3, 1.0])
def test_closed_form_of_a_two_point_line(spare_in: float) -> None:
    """spare = (g0 − g1) + constants, so its error is σ·√2 and the chance Φ(spare / σ√2)."""
    sigma_m = 0.5 * INCH_M
    at_m = np.array([0.0, 10.0])
    depth_in = 8 + 4.6
    fall_m = 0.125
    end_m = -(depth_in - 9.0 + spare_in * -1) * INCH_M - fall_m
    ground = from_elevations(at_m, np.array([0.0, end_m]))
    design = Design(
        PIPE,
        Start("cover", 8 * INCH_M),
        Grading(0.0125),
        Limits(6 * INCH_M, None, 10.0),
        Outlet("pop_up", "depth", -10.0, 9.0 * INCH_M),
    )
    decision = decide(design, on(ground))
    # 9 in at the outlet is reached with exactly the wanted spare.
    assert decision.margin_m == pytest.approx(-spare_in * INCH_M, abs=1e-12)
    draws = draw(point_errors(Accuracy(sigma_m=sigma_m), ground, ["a", "b"]))
    chance = find_chance(design, [decision.band], draws, yes=decision.yes)
    z = decision.margin_m / (sigma_m * math.sqrt(2))
    exact = 0.5 * (1 + math.erf(z / math.sqrt(2)))
    assert chance.chance == pytest.approx(exact, abs=4 * math.sqrt(exact * (1 - exact) / 4000))
    assert chance.spare_sigma_m == pytest.approx(sigma_m * math.sqrt(2), rel=0.05)
    if chance.retakes:
        assert [r.share for r in chance.retakes] == pytest.approx([0.5, 0.5], abs=0.05)


def test_a_certain_reading_leaves_the_other_ones_error() -> None:
    """With one of two ends certain the error of the spare is σ instead of σ·√2."""
    ground = from_elevations(np.array([0.0, 10.0]), np.array([0.0, -0.2]))
    design = a_design(most_in=10.0)
    model = point_errors(Accuracy(sigma_m=0.02), ground, ["a", "b"])
    draws = draw(model)
    margin = drawn_margins(design, [decide(design, on(ground)).band], draws.without(0))
    assert np.std(margin) == pytest.approx(0.02, rel=0.05)


def test_errors_common_to_all_cancel() -> None:
    ground = yard()
    design = a_design()
    band = decide(design, on(ground)).band
    shifted = np.full((5, 3), [[-0.5, 0.0, 0.7]])
    margin = drawn_margins(design, [band], shifted)
    assert margin == pytest.approx([margin[1]] * 3)


def test_a_tie_passes_its_errors_on() -> None:
    """A second line carries the error of both readings of its tie: var = 1 + 1 + 1 readings."""
    readings = [
        LineReading(0, 0.2, "A"),
        LineReading(5, 0.4, "A"),
        LineReading(5, 0.1, "B"),
        LineReading(10, 0.3, "B"),
    ]
    ground = from_level_line(readings)
    model = reading_errors(
        Accuracy(sigma_m=0.01),
        ground,
        np.array([0.0, 5, 5, 10]),
        ["r"] * 4,
        spread_of_lines(readings),
    )
    variance = (model.spread * model.sigma_m) @ (model.spread * model.sigma_m).T
    assert np.sqrt(np.diag(variance)) == pytest.approx([0.01, 0.01, 0.01 * math.sqrt(3)])


def test_lidar_splits_what_is_common_from_what_is_not() -> None:
    """USGS 3DEP QL2: RMSEz at most 10 cm in all; the two parts add up in squares."""
    ql2 = INSTRUMENTS["lidar_ql2"]
    assert math.hypot(ql2.error_m, ql2.common_m) == pytest.approx(0.10)
    assert ql2.error_m == pytest.approx(LIDARS["usual"].cell_m)


def test_string_error_grows_with_the_span() -> None:
    """±1/4 in per 25 ft (common practice, no source)."""
    line = INSTRUMENTS["line_level"]
    assert line.sigma_m(50 * FOOT_M) == pytest.approx(0.5 * INCH_M)
    assert line.sigma_m(1.0) == pytest.approx(INCH_M / 16), "nobody reads a tape better"


def test_the_same_request_gets_the_same_answer() -> None:
    model = point_errors(Accuracy(sigma_m=0.01), yard(), ["r"] * 5)
    one, two = draw(model), draw(model)
    assert isinstance(one, Draws)
    assert np.array_equal(one.change_m, two.change_m)
