"""A trench held against its plan, on figures worked by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from yardfall.core.asbuilt.check import Check, check_trench
from yardfall.core.asbuilt.dug_readings import AsDug, DugReading
from yardfall.core.design import Design, Grading, Limits, Outlet, Start
from yardfall.core.easing.lay import lay
from yardfall.core.errors import InputError
from yardfall.core.ground.level_line import LineReading, from_level_line
from yardfall.core.ground.profile import GroundProfile, from_elevations
from yardfall.core.ground.route import taped
from yardfall.core.pipes import CATALOGUE
from yardfall.core.units import FOOT_M, INCH_M, US

PIPE = CATALOGUE["pvc-sdr35-4"]  # outside 4.215, wall 0.120 in
AT_FT = np.arange(0.0, 60, 10)
LEVEL = from_level_line([LineReading(x * FOOT_M, 10 * INCH_M) for x in AT_FT])
"""Level ground 10 in under a string."""
DESIGN = Design(
    PIPE,
    Start("depth", 20 * INCH_M),
    Grading(0.01),
    Limits(6 * INCH_M, 30 * INCH_M, 0.0, 0.0, 6 * INCH_M),
    Outlet("dry_well"),
)
"""Trench bottom 30 in under the string at 0, and 1.2 in more every 10 ft."""
PLANNED_IN = 30 + 0.12 * AT_FT


def check(
    readings: list[DugReading],
    design: Design = DESIGN,
    ground: GroundProfile = LEVEL,
    tolerance_in: float = 0.25,
) -> Check:
    route = taped(float(ground.at_m[-1]))
    laid = lay(route, ground, design, np.array([0.0, route.length_m]))
    as_dug = AsDug(tuple(readings), tolerance_in * INCH_M, US.fine_step_m, US.divisions("ft"))
    return check_trench(design, ground, laid, as_dug)


def dug(*off_in: float, at_ft: np.ndarray = AT_FT, again: bool = False) -> list[DugReading]:
    """A trench read from the string, so much higher than planned at each station."""
    return [
        DugReading(x * FOOT_M, "line_to_bottom", (30 + 0.12 * x - off) * INCH_M, again=again)
        for x, off in zip(at_ft, off_in, strict=True)
    ]


def test_dug_to_the_line_it_passes() -> None:
    found = check(dug(0, 0, 0, 0, 0, 0))
    assert (found.verdict, found.ponds, found.wanted) == ("pass", (), ())
    assert [one.cover_m / INCH_M for one in found.dug] == pytest.approx(
        PLANNED_IN - 10 - 4.215, abs=1e-9
    )
    assert [run.grade for run, _ in found.runs] == pytest.approx([0.01] * 5)


def test_the_tolerance_is_allowed_and_not_more() -> None:
    assert check(dug(0.25, 0.25, 0, 0, -0.25, -0.25)).verdict == "pass"
    assert check(dug(0, 0, 0.26, 0, 0, 0)).verdict == "fail"


def test_5_eighths_high_is_shaved_to_the_line() -> None:
    """The plan lies at its least grade, so that between good neighbours only its line is left."""
    found = check(dug(0, 0, 0.625, 0, 0, 0))
    assert [one.change_m / INCH_M for one in found.dug] == pytest.approx([0, 0, -0.625, 0, 0, 0])
    # The sheet says 32 1/2, which would leave 1.1 in of the 1.2 to the next: so 5/8 and no more
    assert found.dug[2].should_mark_m / INCH_M == pytest.approx(32.5)
    assert found.dug[2].marked_m / INCH_M == pytest.approx(-0.625)
    assert found.dug[2].should_read_m / INCH_M == pytest.approx(PLANNED_IN[2])
    # 6 in wide, 5/8 in over half of 10 ft on either side
    assert found.work_m3 == pytest.approx(6 * 0.625 * 120 * INCH_M**3)


def test_a_dip_holds_water_and_is_filled() -> None:
    """1.7 in low at 30 ft: the invert at 40 ft is 0.5 in higher. At 2.9 in per 10 ft the water
    reaches 0.5 / 2.9 × 10 ft upstream, and 10 ft down to the sill."""
    found = check(dug(0, 0, 0, -1.7, 0, 0, again=True))
    (pond,) = found.ponds
    assert pond.depth_m / INCH_M == pytest.approx(0.5)
    assert pond.length_m / FOOT_M == pytest.approx(10 + 0.5 / 2.9 * 10)
    assert found.dug[3].water_m / INCH_M == pytest.approx(0.5)
    assert found.dug[3].change_m / INCH_M == pytest.approx(1.7)
    # in whole eighths 33.675 in is left there, and the two after it go down by an eighth
    assert [one.marked_m / INCH_M for one in found.dug] == pytest.approx(
        [0, 0, 0, 1.625, -0.125, -0.125]
    )


def test_within_tolerance_it_can_still_fall_back() -> None:
    """Stations 1 ft apart fall 0.12 in; a quarter high after a quarter low runs back 0.38 in."""
    near_ft = np.array([0.0, 20, 21, 50])
    found = check(dug(0, -0.25, 0.25, 0, at_ft=near_ft))
    assert found.verdict == "fail"
    assert all(one.within for one in found.dug)
    assert found.ponds[0].depth_m / INCH_M == pytest.approx(0.38)
    left_in = np.array([(one.invert_m + one.change_m) / INCH_M for one in found.dug])
    assert (np.diff(left_in) <= 1e-6).all()


def test_a_start_low_and_an_outlet_high_lose_the_fall() -> None:
    """6.0 in are planned, which the least grade needs; half an inch is lost, a quarter allowed."""
    found = check(dug(-0.25, 0, 0, 0, 0, 0.25))
    assert found.fall is not None
    assert (found.verdict, found.fall.enough) == ("fail", False)
    assert found.fall.fall_m / INCH_M == pytest.approx(5.5)
    assert found.fall.needed_m / INCH_M == pytest.approx(5.75)
    # the first and the last stretch each fall 0.95 in of the 1.2 that the least grade needs; the
    # ends are the cheapest to mend, half a stretch of trench each
    assert [one.change_m / INCH_M for one in found.dug] == pytest.approx([0.25, 0, 0, 0, 0, -0.25])


def test_an_inch_deep_throughout_would_still_drain() -> None:
    found = check(dug(-1, -1, -1, -1, -1, -1))
    assert found.verdict == "fail"
    assert all(one.change_m / INCH_M == pytest.approx(0.75) for one in found.dug)
    assert found.lies is not None
    assert found.lies.kept


def test_too_deep_for_the_limits_is_said() -> None:
    """26 in planned at 50 ft, dug 6 in deeper; 30 in and the tolerance are allowed."""
    found = check(dug(0, 0, 0, 0, 0, -6, again=True))
    assert found.lies is not None
    assert not found.lies.kept
    assert found.lies.change_m is not None
    assert found.lies.change_m[-1] / INCH_M == pytest.approx(26 + 6 - 30.25)


def test_a_fixed_start_binds_where_a_cover_does_not() -> None:
    fixed = replace(DESIGN, start=Start("invert", -29.88 * INCH_M))
    found = check(dug(-1, -1, -1, -1, -1, -1), fixed)
    assert found.lies is not None
    assert not found.lies.kept


def test_trench_bottom_pipe_top_and_invert_say_the_same() -> None:
    """SDR 35: invert 0.120 above the trench bottom, top 4.215 above it."""
    bottom_in = float(PLANNED_IN[2])
    for on, above_in in (("trench_bottom", 0.0), ("invert", 0.120), ("pipe_top", 4.215)):
        reading = DugReading(20 * FOOT_M, "line_to_bottom", (bottom_in - above_in) * INCH_M, on)
        (one,) = check([reading]).dug
        assert one.off_m == pytest.approx(0, abs=1e-12), on
    bedded = replace(DESIGN, limits=replace(DESIGN.limits, bedding_m=2 * INCH_M))
    (one,) = check([DugReading(0.0, "depth", 20 * INCH_M, "trench_bottom")], bedded).dug
    assert one.off_m == pytest.approx(0, abs=1e-12)


def test_depth_string_and_rod_say_the_same() -> None:
    """The ground is 10 in under the string; an instrument set up 3 ft over the string."""
    at_m, bottom_in = 20 * FOOT_M, float(PLANNED_IN[2])
    for reading in (
        DugReading(at_m, "depth", (bottom_in - 10) * INCH_M),
        DugReading(at_m, "line_to_bottom", bottom_in * INCH_M),
        DugReading(at_m, "rod", 3 * FOOT_M + bottom_in * INCH_M, height_m=3 * FOOT_M),
    ):
        (one,) = check([reading]).dug
        assert one.off_m == pytest.approx(0, abs=1e-12), reading.by


def test_hub_elevation_less_invert_is_the_cut() -> None:
    """A cut sheet's rule (US Navy Engineering Aid course, from memory). Own figures: hubs
    102.50, 101.90, 101.64; invert 97.80 at the first, 1 % over 50 ft stretches."""
    at_m = np.array([0.0, 50, 100]) * FOOT_M
    hub_ft, invert_ft = np.array([102.50, 101.90, 101.64]), np.array([97.80, 97.30, 96.80])
    design = replace(DESIGN, start=Start("invert", 97.80 * FOOT_M), limits=Limits(0.0, None, 0.0))
    hubs = from_elevations(at_m, hub_ft * FOOT_M)
    cuts_ft = (4.70, 4.60, 4.84)
    assert hub_ft - invert_ft == pytest.approx(cuts_ft)
    readings = [
        DugReading(float(x), "depth", cut * FOOT_M, "invert")
        for x, cut in zip(at_m, cuts_ft, strict=True)
    ]
    found = check(readings, design, hubs)
    assert [one.off_m for one in found.dug] == pytest.approx([0, 0, 0], abs=1e-9)
    assert [one.invert_m / FOOT_M for one in found.dug] == pytest.approx(invert_ft)
    first = check([], design, hubs).wanted
    bottom_ft = PIPE.wall_m / FOOT_M
    assert [w.depth_m / FOOT_M - bottom_ft for w in first] == pytest.approx(cuts_ft[::-1])


def test_what_is_left_to_read_goes_from_the_outlet_up() -> None:
    found = check(dug(0, 0, 0, 0, 0, 0)[3:5])
    assert found.verdict == "more_readings"
    assert [round(w.at_m / FOOT_M) for w in found.wanted] == [50, 20, 10, 0]
    assert [w.line_to_bottom_m / INCH_M for w in found.wanted] == pytest.approx(
        [36, 32.4, 31.2, 30]
    )
    assert [w.depth_m / INCH_M for w in found.wanted] == pytest.approx([26, 22.4, 21.2, 20])


def test_the_pipe_counts_where_trench_and_pipe_were_read() -> None:
    trench = dug(0, 0, 2, 0, 0, 0)
    pipe = DugReading(20 * FOOT_M, "line_to_bottom", (PLANNED_IN[2] - 4.215) * INCH_M, "pipe_top")
    for order in ([*trench, pipe], [pipe, *trench]):
        found = check(order)
        assert [one.off_m for one in found.dug] == pytest.approx([0] * 6, abs=1e-9)
        assert found.verdict == "more_readings"  # the rest of the pipe
        assert (found.on, len(found.wanted)) == ("pipe_top", 5)


@pytest.mark.parametrize(
    ("readings", "pointer"),
    [
        ([DugReading(99.0, "depth", 0.5)], "/0/at"),
        ([DugReading(0.0, "rod", 1.0)], "/0/rod"),
        ([DugReading(0.0, "line_to_bottom", 1.0, line="north")], "/0/line"),
        ([DugReading(3.0, "depth", 0.5), DugReading(3.0, "depth", 0.6)], "/1/at"),
        ([DugReading(3.0, "depth", -0.001)], "/0/depth"),
        ([DugReading(3.0, "depth", -20 * INCH_M, "pipe_top")], "/0/depth"),
        ([DugReading(3.0, "depth", -20 * INCH_M, "invert")], "/0/depth"),
    ],
)
def test_readings_that_mean_nothing_are_refused(readings, pointer: str) -> None:
    with pytest.raises(InputError) as refused:
        check(readings)
    assert [p.pointer for p in refused.value.problems] == [pointer]


OFF = st.integers(-20, 20).map(lambda eighths: eighths / 8)


@settings(max_examples=200, deadline=None)
@given(st.lists(OFF, min_size=6, max_size=6), st.permutations(range(6)), st.data())
def test_order_does_not_matter_and_the_work_makes_it_pass(off, order, data) -> None:
    readings = dug(*off, again=True)
    kept = data.draw(st.sets(st.sampled_from(range(6)), min_size=1))
    some = [readings[i] for i in order if i in kept]
    found, again = check(some), check(sorted(some, key=lambda r: r.at_m))
    assert [(d.reading, d.off_m, d.change_m) for d in found.dug] == [
        (d.reading, d.off_m, d.change_m) for d in again.dug
    ]
    for step in ("change_m", "marked_m"):
        mended = [
            replace(d.reading, value_m=d.reading.value_m - getattr(d, step)) for d in found.dug
        ]
        after = check(mended)
        assert after.verdict == ("pass" if len(kept) == 6 else "more_readings"), step
        assert all(abs(d.change_m) < 1e-8 for d in after.dug)


def test_a_pipe_that_comes_out_of_the_ground_may_stand_above_it() -> None:
    """With its trench run out to nothing a 4.215 in pipe stands 4.215 in above the ground."""
    found = check([DugReading(50 * FOOT_M, "depth", -4.215 * INCH_M, "pipe_top")])
    ground_m = LEVEL.elevation_at(50 * FOOT_M)
    assert found.dug[0].invert_m == pytest.approx(ground_m + PIPE.wall_m)


def flat_in(found: Check) -> list[float]:
    """The fall of every stretch, in."""
    return [round(run.fall_m / INCH_M, 4) for run, _ in found.runs]


def test_a_stretch_that_the_marks_made_too_flat_does_not_pass() -> None:
    """Quarter inches nearest to 30, 31.2, 32.4, 33.6, 34.8 and 36 in fall 1.25, 1.25, 1, 1.25 and
    1.25; the least grade needs 1.2 in. An eighth off 33.5 leaves 1.125 above it, still too flat;
    an eighth more there and 1.125 below: so 33 5/8, then 34 7/8 and 36 1/8."""
    marks_in = np.array([30, 31.25, 32.5, 33.5, 34.75, 36])
    found = check(dug(*(PLANNED_IN - marks_in)))
    assert flat_in(found) == [1.25, 1.25, 1.0, 1.25, 1.25]
    assert all(one.within for one in found.dug)
    assert found.verdict == "fail"
    left_in = marks_in - [one.marked_m / INCH_M for one in found.dug]
    assert (np.diff(left_in) >= 1.2 - 1e-9).all()
    assert np.abs(left_in - PLANNED_IN).max() <= 0.25 + 1e-9
    assert left_in * 8 == pytest.approx(np.round(left_in * 8))
    assert check(dug(*(PLANNED_IN - left_in))).verdict == "pass"


def test_on_a_long_line_no_marks_keep_the_least_grade_and_that_is_told() -> None:
    """1.2 in every 10 ft in whole sixteenths is 1 1/4: 0.05 in too much, so that after 20 stretches
    1 in is gone, twice the tolerance either side. So the sheet's marks take 1 3/16 in some, short
    by 0.0125 in, and those who dig to them pass; eighths that lose 0.075 in do not."""
    at_ft = np.arange(0.0, 201, 10)
    level = from_level_line([LineReading(x * FOOT_M, 10 * INCH_M) for x in at_ft])
    design = replace(DESIGN, limits=replace(DESIGN.limits, max_depth_m=60 * INCH_M))
    planned_in = 30 + 0.12 * at_ft
    eighths_in = np.round(planned_in * 8) / 8
    found = check(dug(*(planned_in - eighths_in), at_ft=at_ft), design, level)
    assert found.verdict == "fail"
    marks_in = np.array([one.should_mark_m / INCH_M for one in found.dug])
    assert (1.2 - np.diff(marks_in)).max() == pytest.approx(0.0125)
    found = check(dug(*(planned_in - marks_in), at_ft=at_ft), design, level)
    assert (found.verdict, found.as_near_as_marks_come) == ("pass", True)
    marks_in[10] -= 1 / 16
    found = check(dug(*(planned_in - marks_in), at_ft=at_ft), design, level)
    assert (found.verdict, found.as_near_as_marks_come) == ("fail", False)


@pytest.mark.parametrize(
    ("off", "doubted"),
    [
        ((0, 0, 1.3, 0, 0, 0), [2]),  # 1 % of 10 ft is 1.2 in: more than digging leaves
        ((0, 0, 1.1, 0, 0, 0), []),  # so much a trencher may leave
        ((0, 0, -1.3, 0, 0, 0), [2]),
        ((0, 0.2, 1.3, 0.2, 0, 0), []),  # a step of 1.1 in from either neighbour
        ((0.2, 0.2, 1.45, -0.2, -0.2, -0.2), [2]),
        ((0, 0, 1.3, 1.3, 0, 0), []),  # two agree with each other
        ((0, 0.3, 2.0, 0, 0, 0), []),  # a neighbour that is off itself
        ((4.1, 0, 0, 0, 0, -6), [0, 5]),  # at an end there is one neighbour
        ((-2, 0, 0, 0, 0, 3.9), []),  # from there on it may be dug so
        ((4.5, 0, 2, 0, 0, 0), [0, 2]),
    ],
)
def test_a_reading_that_its_neighbours_contradict_is_read_again_first(off, doubted) -> None:
    found = check(dug(*off))
    assert [i for i, one in enumerate(found.dug) if one.in_doubt] == doubted
    assert all(one.change_m == 0 == one.marked_m for one in found.dug if one.in_doubt)
    if doubted:
        assert found.verdict == "more_readings"
        assert found.ponds == ()
        assert check(dug(*off, again=True)).verdict == "fail"
    alone = check(dug(*off, again=False)[2:3])
    assert not alone.dug[0].in_doubt, "nothing contradicts a reading that is the only one"


def test_near_checkpoints_leave_an_inch_and_far_ones_a_hundredth_of_the_way() -> None:
    """1 % of 4 ft is 0.48 in, so the inch counts; 1 % of 25 ft is 3 in. With one neighbour, 4 in
    at the least (common practice, no source)."""
    for apart_ft, most_in, beside in (
        (4.0, 1.0, 2),
        (25.0, 3.0, 2),
        (4.0, 4.0, 1),
        (45.0, 5.4, 1),
    ):
        at_ft = np.arange(beside + 1) * apart_ft
        for more_in, doubted in ((-0.01, False), (0.01, True)):
            off_in = most_in + more_in
            found = check(dug(*(0, off_in, 0)[: beside + 1], at_ft=at_ft))
            assert found.dug[1].in_doubt is doubted, (apart_ft, off_in)
