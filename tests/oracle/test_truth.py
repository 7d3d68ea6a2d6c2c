"""The oracle against cases worked by hand, so that what it says can be trusted."""

from __future__ import annotations

import ast
import random
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from truth import job
from truth.hand_rule import END, ORDER, RUN_IN, RUN_OUT, SHAPE, Rule, Taken
from truth.lines import Band, best
from yards import even, uneven

INCH, FOOT = 0.0254, 0.3048
# A pipe of our own sizes, so that no catalogue is needed: 4.6 in outside, walls of 0.3 in.
PIPE = {"outside": 4.6, "inside": 4.0, "n": 0.022, "min_percent": 1.25}


def rule(length: float, percent: float, kind: str, cover: float, **parts: Any) -> Rule:
    body = even("us", length, percent, "", kind, cover, parts.pop("staked", False))
    return Rule(job.read(body | {"pipe": PIPE} | parts, {}))


def test_the_oracle_shares_nothing_with_the_service() -> None:
    for file in (Path(__file__).parent / "truth").glob("*.py"):
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom):
                names = [node.module or ""]
            assert not [n for n in names if n.startswith("yardfall")], file


def test_an_even_lawn_to_a_pop_up_is_a_plain_yes() -> None:
    """6 in of cover and 4.6 in of pipe are 10.6 in of depth, which the usual depth includes."""
    lawn = rule(60, 4, "pop_up", 6)
    assert lawn.first.end == pytest.approx(10.6 * INCH)
    answer = lawn.answer()
    assert (answer.verdict, answer.conditions) == ("yes", {})


def test_an_even_lawn_to_daylight_with_run_out_and_ditch() -> None:
    """2 in of cover at 50 ft: grade 20/600, so 1.2 in at the end, 5.8 in to the bottom, and on
    4 % a ditch of 5.8/0.48 = 12.1 ft: 13 ft in whole feet, and not 12."""
    lawn = rule(60, 4, "daylight", 6)
    assert lawn.ease((RUN_OUT,)) is None  # 4.8 in of ditch depth leave 1.2 in at 50 ft
    taken = lawn.ease((RUN_OUT, END))
    assert taken is not None
    assert taken.end == pytest.approx(13 * 0.48 * INCH)
    # With 6.24 in at the end the grade is 3.3944 %, and 5 in of cover are left at 13.76 ft.
    assert taken.run_out == pytest.approx(47 * FOOT)


def test_an_even_lawn_to_daylight_by_the_order_of_the_rule() -> None:
    """A ditch alone comes before run-out with ditch: 5 in of cover at 50 ft ask 23/600, so the
    bottom ends 9.4 in down, and 9.4/0.48 = 19.6: a ditch of 20 ft."""
    answer = rule(60, 4, "daylight", 6).answer()
    assert set(answer.conditions) == {END}
    assert answer.conditions[END]["to_at"] == pytest.approx(60 + 20)
    assert answer.conditions[END]["taken"] == pytest.approx(9.6)


@pytest.mark.parametrize("limits", [{}, {"min_cover": 12}])
def test_a_true_no_on_even_ground(limits: dict[str, float]) -> None:
    """20 ft falling 3.6 in under 12 in of cover: the pipe needs 3 in, its bottom ends 16 in down.
    A ditch of 30 ft is 5.4 in deep: 10.6 in are missing (11.2 with the cover kept to 10 ft)."""
    answer = rule(20, 1.5, "daylight", 12, limits=limits).answer()
    assert answer.verdict == "no"
    assert answer.spare == pytest.approx((-11.2 if limits else -10.6) * INCH, abs=1e-6)


def test_the_true_no_with_a_pop_up_is_just_a_yes() -> None:
    answer = rule(20, 1.5, "pop_up", 12).answer()
    assert answer.verdict == "yes"
    assert answer.conditions == {END: {"usual": pytest.approx(10.6), "taken": pytest.approx(16)}}
    assert answer.spare == pytest.approx(0, abs=1e-6)


def test_a_start_under_every_usual_cover_is_eased_over_a_run_in() -> None:
    """3 in at the start, ground and pipe alike 2 %: nothing brings 4 in by 10 ft but a grade of
    2 % and 1 in in 120 more, and from there on 4 in are kept without a nominal inch."""
    shallow = rule(60, 2, "pop_up", 3)
    answer = shallow.answer()
    assert answer.conditions[RUN_IN]["taken"] == pytest.approx(3)
    assert shallow.cover == pytest.approx(4 * INCH)


@pytest.mark.parametrize(
    ("start", "kept"), [(8, 5), (6, 5), (5.5, 4.5), (5, 4), (4.5, 4), (4, 4), (2, 4)]
)
def test_usual_cover_follows_a_shallow_start(start: float, kept: float) -> None:
    assert rule(60, 2, "pop_up", start).cover == pytest.approx(kept * INCH)


def test_si_has_round_figures_of_its_own() -> None:
    body = even("si", 18, 4, "", "pop_up", 150, False) | {
        "pipe": {"outside": 116.84, "inside": 101.6, "n": 0.022, "min_percent": 1.25}
    }
    metric = Rule(job.read(body, {}))
    assert metric.first.run_out == 3
    assert metric.first.end == pytest.approx(0.150 + 0.11684)
    assert metric.last.end == pytest.approx(0.4)
    assert metric.cover == pytest.approx(0.125)
    assert metric.answer().verdict == "yes"


def test_what_is_stated_never_gives_way() -> None:
    stated = rule(
        60, 4, "daylight", 6, staked=True, limits={"outlet_taper": 10, "min_cover": 6},
        grade={"shape": "straight"}, outlet={"kind": "daylight", "depth": {"max": 4.8}},
    )  # fmt: skip
    assert stated.first == stated.last
    assert stated.answer().verdict == "no"
    # Full cover at 50 ft asks the ground's own grade: 10.6 in deep at the end, 4.8 allowed.
    assert stated.answer().spare == pytest.approx(-5.8 * INCH, abs=1e-6)


def test_a_change_of_grade_serves_where_one_straight_grade_does_not() -> None:
    """Level for 30 ft, then a bank of 8.4 in over 10 ft; 8 in of cover and 4.6 in of pipe make
    12.6 in at the start, and 15 in is the greatest depth."""
    points = [(0, 100.0), (30, 100.0), (40, 99.3)]
    ground = {"kind": "elevations", "points": [{"at": a, "elevation": e} for a, e in points]}

    def bank(most: float, shape: dict[str, Any]) -> Rule:
        outlet = {"kind": "daylight", "depth": {"min": 0, "max": most}}
        limits = {"outlet_taper": 2, "max_depth": 15}
        return rule(40, 0, "daylight", 8, ground=ground, limits=limits, outlet=outlet, grade=shape)

    # 15 in of greatest depth at 30: the first run may fall 2.4 in over 30 ft, 0.667 %: too flat
    # for 1.25 %; nothing serves. At 0.5 % it falls 1.8 in: 14.4 in deep at 30.
    assert bank(20, {"min_percent": 1.25}).answer().verdict == "no"
    # Straight at 0.5 % the pipe stands at 38 ft 8 + 2.28 − 6.72 = 3.6 in under the grass: 5 in are
    # asked, so it is steeper: 3.72/38 in per ft, 2.94 in by 30 ft: 15.5 in deep, over 15.
    assert bank(20, {"min_percent": 0.5, "shape": "straight"}).answer().verdict == "no"
    changed = bank(20, {"min_percent": 0.5}).answer()
    assert changed.verdict == "yes"
    assert set(changed.conditions) == {SHAPE}


def closed_form(band: Band) -> float:
    """Margin of one straight grade from a fixed start, by hand: the flattest grade allowed is
    best, or the steepest allowed that the upper limits ask for."""
    assert band.start is not None
    x, hi, lo = band.x[1:] - band.x[0], band.hi[1:], band.lo[1:]
    need = max(band.least, *((band.start - hi) / x))
    under = band.start - need * x - lo
    return float(np.min(under))


def test_linear_programs_agree_with_the_closed_form_of_a_straight_grade() -> None:
    rng = random.Random(5)
    compared = 0
    for _ in range(60):
        body = uneven(rng, "us") | {"pipe": PIPE}
        one = Rule(job.read(body, {}))
        for taken in (one.first, one.last):
            band, _ = one.band(taken)
            if one.job.greatest_grade is None and taken.end is not None:
                line = best(band)
                assert line is not None
                by_hand = min(closed_form(band), float(band.start - band.lo[0]))
                if band.hi[0] - band.start > -1e-9 and band.start - band.lo[0] > -1e-9:
                    assert line.margin == pytest.approx(by_hand, abs=1e-7)
                    compared += 1
    assert compared > 60


def straight_serves(one: Rule, taken: Taken) -> bool:
    band, _ = one.band(taken)
    return closed_form(band) >= -1e-7


def test_what_gives_way_is_the_first_and_least_by_brute_force() -> None:
    """Every foot of run-out and every half inch or foot of ditch in turn, without a program."""
    rng = random.Random(11)
    seen = set()
    for _ in range(80):
        body = uneven(rng, "us") | {"pipe": PIPE}
        body["grade"] = {"shape": "straight"}
        one = Rule(job.read(body, {}))
        if one.job.start_cover < 4 * INCH or one.job.max_depth is not None:
            continue
        first, last = one.first, one.last
        ditch = one.job.kind == "daylight" and one.end_is_usual
        run_outs = [first.run_out]
        if last.run_out > first.run_out:
            run_outs += [n * FOOT for n in range(11, round(last.run_out / FOOT) + 1)]
        ends = [first.end]
        if one.end_is_usual and last.end > first.end:
            step = 0.5 * INCH
            if ditch:
                step = one.job.last_slope * FOOT
            ends += [n * step for n in range(1, 400) if first.end < n * step <= last.end + 1e-9]
            if not ditch and ends[-1] < last.end - 1e-9:
                ends.append(last.end)
        expected = None
        for run_out, end in (
            (run_outs[:1], ends[:1]), (run_outs, ends[:1]), (run_outs[:1], ends), (run_outs, ends),
        ):  # fmt: skip
            # Least riser or ditch first, then least run-out.
            serving = [(e, r) for e in end for r in run_out if straight_serves(one, Taken(r, e, 0))]
            if serving:
                expected = min(serving)
                break
        answer = one.answer()
        if expected is None:
            assert answer.verdict == "no"
        else:
            assert answer.verdict == "yes"
            assert answer.taken is not None
            assert (answer.taken.end, answer.taken.run_out) == pytest.approx(expected, abs=1e-6)
        seen.add(tuple(sorted(answer.conditions)) if expected else "no")
    assert len(seen) >= 4, seen


def test_every_group_of_the_order_is_told_apart() -> None:
    assert len(set(map(frozenset, ORDER))) == 7
