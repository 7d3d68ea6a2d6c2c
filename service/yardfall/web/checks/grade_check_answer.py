"""A grade check in the caller's units, with its sentences."""

from __future__ import annotations

from typing import Any, Final

import numpy as np

from yardfall.core.asbuilt.check import Check, Dug
from yardfall.core.asbuilt.next_readings import Wanted
from yardfall.core.asbuilt.ponding import READING_SLACK_M, Pond
from yardfall.core.cautions import COMMON, Caution
from yardfall.core.grade_runs import GradeRun
from yardfall.core.units import ROD_UNITS_M, UnitSystem, rod_text
from yardfall.sentences import say
from yardfall.web.answers.level_block_answer import run_answer
from yardfall.web.answers.plan_answer import assumption_answer, caution_answer
from yardfall.web.answers.warnings import warning_answer
from yardfall.web.checks.parse_grade_check import ReadCheck
from yardfall.web.openapi.numbers import rounded

NAMED: Final = 3
"""Stations that the sentence names; the rest are counted."""
CAUTIONS: Final = (Caution("before_covering", COMMON), Caution("over_dug", COMMON))


def check_answer(check: Check, read: ReadCheck) -> dict[str, Any]:
    """The answer to POST /grade-check."""
    units = read.plan.units
    depth_m, length_m = units.depth_m, units.length_m
    to_read = [_wanted(one, check, read) for one in check.wanted]
    changed = [one for one in check.dug if one.change_m]
    fall = check.fall
    return {
        "units": units.name,
        "verdict": check.verdict,
        "sentence": _sentence(check, units)
        if check.plan_fits
        else f"{say('grade_check.no_plan')} {_sentence(check, units)}",
        "plan_fits": check.plan_fits,
        "tolerance": rounded(check.tolerance_m / depth_m),
        "checks": {
            "within_tolerance": all(one.within or one.in_doubt for one in check.dug),
            "nothing_falls_back": not any(_falls_back(run.fall_m) for run, _ in check.runs),
            "fall_enough": fall is None or fall.enough,
            "steep_enough": check.as_near_as_marks_come
            or not any(_is_flat(check, run) for run, _ in check.runs),
            "none_in_doubt": not any(one.in_doubt for one in check.dug),
            "all_read": not check.wanted,
        },
        "stations": [_station(one, read) for one in check.dug],
        "runs": [
            {
                "from": rounded(run.from_m / length_m),
                "to": rounded(run.to_m / length_m),
                "fall": rounded(run.fall_m / depth_m),
                "percent": rounded(run.grade * 100),
                "planned_percent": rounded(planned * 100),
                "falls_back": _falls_back(run.fall_m),
                "under_least": _is_flat(check, run),
            }
            for run, planned in check.runs
        ],
        "grade_runs": [run_answer(run, units) for run in check.planned],
        "standing_water": [_pond(one, check, units) for one in check.ponds],
        "fall": None
        if fall is None
        else {
            "from": rounded(fall.from_m / length_m),
            "to": rounded(fall.to_m / length_m),
            "fall": rounded(fall.fall_m / depth_m),
            "needed": rounded(fall.needed_m / depth_m),
        },
        "as_it_lies": _as_it_lies(check, units),
        "work": {
            "stations": len(changed),
            "volume": rounded(check.work_m3 / units.volume_m3),
            "basis": say("grade_check.work_basis"),
        },
        "next": to_read[0] if to_read else None,
        "to_read": to_read,
        "assumptions": [assumption_answer(a, units) for a in read.assumptions],
        "cautions": [caution_answer(c) for c in CAUTIONS],
        "warnings": [warning_answer(remark, units) for remark in check.remarks],
    }


def _falls_back(fall_m: float) -> bool:
    return fall_m < -READING_SLACK_M


def _is_flat(check: Check, run: GradeRun) -> bool:
    least_m = check.design.grading.min_grade * (run.to_m - run.from_m)
    return run.fall_m < least_m - READING_SLACK_M


def _unit_m(by: str, read: ReadCheck) -> float:
    return ROD_UNITS_M[read.rod_unit] if by == "rod" else read.plan.units.depth_m


def _station(one: Dug, read: ReadCheck) -> dict[str, Any]:
    units, reading = read.plan.units, one.reading
    unit_m = _unit_m(reading.by, read)
    state = "within" if one.within else "high" if one.off_m > 0 else "low"
    do = _do(one)
    mark = None if do in ("nothing", "read_again") else _work_text(one, units)
    return {
        "at": rounded(reading.at_m / units.length_m),
        "label": units.station_label(reading.at_m),
        "reading": one.index,
        "by": reading.by,
        "on": reading.on,
        "reads": rounded(reading.value_m / unit_m),
        "should_read": rounded(one.should_read_m / unit_m),
        "should_read_text": _should_text(one, read),
        "off": rounded(one.off_m / units.depth_m),
        "state": state,
        "invert": rounded(one.invert_m / units.length_m),
        "planned_invert": rounded(one.planned_m / units.length_m),
        "cover": rounded(one.cover_m / units.depth_m),
        "fill": rounded(one.fill_m / units.depth_m),
        "standing_water": rounded(one.water_m / units.depth_m),
        "change": rounded(one.change_m / units.depth_m),
        "to_the_line": rounded(-one.off_m / units.depth_m),
        "do": do,
        "mark": mark,
        "sentence": _station_sentence(one, state, do, mark or "", units),
    }


def _should_text(one: Dug, read: ReadCheck) -> str:
    if one.reading.by == "rod":
        return _rod_text(one.should_mark_m, read)
    return _tape_text(one.should_mark_m, read.plan.units)


def _station_sentence(one: Dug, state: str, do: str, mark: str, units: UnitSystem) -> str:
    label = units.station_label(one.reading.at_m)
    off = units.depth_text(abs(one.off_m))
    if do == "read_again":
        first, *others = (units.station_label(at_m) for at_m in one.beside)
        beside = {"first": first, "other": others[0]} if others else {"first": first}
        number = "both" if others else "one"
        return say(f"grade_check.again_{state}_{number}", label=label, off=off, **beside)
    return say(f"grade_check.station_{state}_{do}", label=label, off=off, mark=mark)


def _do(one: Dug) -> str:
    if one.in_doubt:
        return "read_again"
    if one.change_m == 0:
        return "nothing"
    shave, fill = ("shave", "fill") if one.reading.on == "trench_bottom" else ("lower", "raise")
    return shave if one.change_m < 0 else fill


def _pond(pond: Pond, check: Check, units: UnitSystem) -> dict[str, Any]:
    fills = pond.depth_m >= check.design.pipe.inside_m
    return {
        "from": rounded(pond.from_m / units.length_m),
        "to": rounded(pond.to_m / units.length_m),
        "length": rounded(pond.length_m / units.length_m),
        "depth": rounded(pond.depth_m / units.depth_m),
        "deepest_at": rounded(pond.deepest_at_m / units.length_m),
        "held_by": rounded(pond.sill_at_m / units.length_m),
        "fills_pipe": fills,
        "sentence": say(
            f"grade_check.{'pond_fills' if fills else 'pond'}",
            depth=units.depth_text(pond.depth_m),
            length=units.length_text(pond.length_m),
            at=units.station_label(pond.deepest_at_m),
            held_by=units.station_label(pond.sill_at_m),
        ),
    }


def _as_it_lies(check: Check, units: UnitSystem) -> dict[str, Any] | None:
    lies = check.lies
    if lies is None:
        return None
    changes = None
    if lies.change_m is not None:
        changes = [
            {
                "at": rounded(one.reading.at_m / units.length_m),
                "label": units.station_label(one.reading.at_m),
                "change": rounded(change_m / units.depth_m),
            }
            for one, change_m in zip(check.dug, lies.change_m, strict=True)
            if change_m
        ]
    if lies.kept:
        sentence = say("grade_check.lies_within_limits")
    elif changes is None:
        sentence = say("grade_check.no_regrading")
    else:
        where = ", ".join(str(change["label"]) for change in changes[:NAMED])
        more = "_more" if len(changes) > NAMED else ""
        count = str(len(changes) - NAMED)
        sentence = say(f"grade_check.regrade{more}", where=where, count=count)
    return {"keeps_limits": lies.kept, "changes": changes, "sentence": sentence}


def _wanted(one: Wanted, check: Check, read: ReadCheck) -> dict[str, Any]:
    units = read.plan.units
    label = units.station_label(one.at_m)
    depth = _tape_text(one.depth_figure_m, units)
    line = None if one.line_figure_m is None else _tape_text(one.line_figure_m, units)
    rod = None if one.rod_m is None else rounded(one.rod_m / _unit_m("rod", read))
    rod_mark = None if one.rod_figure_m is None else _rod_text(one.rod_figure_m, read)
    if line is not None:
        way, measure = "string_to", line
    elif rod_mark is not None:
        way, measure = "rod_on", rod_mark
    elif one.depth_m < 0:
        way, measure = "above_ground", units.fine_text(-one.depth_m)
    else:
        way, measure = "ground_to", depth
    return {
        "at": rounded(one.at_m / units.length_m),
        "label": label,
        "on": check.on,
        "depth": rounded(one.depth_m / units.depth_m),
        "line_to_bottom": None
        if one.line_to_bottom_m is None
        else rounded(one.line_to_bottom_m / units.depth_m),
        "rod": rod,
        "fill": rounded(float(check.design.limits.fill_m(np.array([one.at_m]))[0]) / units.depth_m),
        "marks": {"depth": depth, "line_to_bottom": line, "rod": rod_mark},
        "sentence": say(f"grade_check.{way}.{check.on}", label=label, measure=measure),
    }


def _rod_text(mark_m: float, read: ReadCheck) -> str:
    return f"{rod_text(mark_m, read.rod_unit)} {read.rod_unit}"


def _work_text(one: Dug, units: UnitSystem) -> str:
    """How much to take off or fill, never nothing: as the tape shows it where it is from mark to
    mark, else to its step."""
    work_m, finest_m = abs(one.marked_m) or abs(one.change_m), units.tape_steps_m[-1]
    whole = abs(work_m / finest_m - round(work_m / finest_m)) < 1e-4
    return _tape_text(work_m, units) if whole else units.fine_text(work_m)


def _tape_text(mark_m: float, units: UnitSystem) -> str:
    return f"{units.tape_text(mark_m)} {units.depth_name}"


def _level(check: Check, units: UnitSystem) -> str:
    """Where no fall was read, neighbouring stretches as one; empty where all of it falls."""
    ends: list[list[float]] = []
    for run, _ in check.runs:
        if run.fall_m > READING_SLACK_M:
            continue
        if ends and ends[-1][1] == run.from_m:
            ends[-1][1] = run.to_m
        else:
            ends.append([run.from_m, run.to_m])
    told = ""
    for first, last in ends:
        parts = {"from_": units.station_label(first), "to": units.station_label(last)}
        if told:
            told = say("grade_check.level_and_from", before=told, **parts)
        else:
            told = say("grade_check.level_from", **parts)
    return told


def _sentence(check: Check, units: UnitSystem) -> str:
    count, left = len(check.dug), len(check.wanted)
    parts = {
        "count": str(count),
        "left": str(left),
        "tolerance": units.fine_text(check.tolerance_m),
    }
    if left:
        parts["next"] = units.station_label(check.wanted[0].at_m)
    if not count:
        return say(f"grade_check.none_read{'_next' if left else ''}", **parts)
    if check.verdict == "pass":
        parts |= {
            "first": units.station_label(check.dug[0].reading.at_m),
            "last": units.station_label(check.dug[-1].reading.at_m),
            "where": _level(check, units),
        }
        kind = "_level" if parts["where"] else "_one" if count == 1 else ""
        kind = kind or ("_near" if check.as_near_as_marks_come else "")
        return say(f"grade_check.pass{kind}", **parts)
    doubted = [units.station_label(one.reading.at_m) for one in check.dug if one.in_doubt]
    if check.verdict == "fail":
        again = f" {_again(doubted)}" if doubted else ""
        return f"{_not_yet(check, units)}{again}"
    if doubted:
        return _again(doubted)
    read, to_read = ("one" if number == 1 else "more" for number in (count, left))
    pipe = "" if check.on == "trench_bottom" else "_pipe"
    return say(f"grade_check.so_far_{read}_{to_read}{pipe}", **parts)


def _again(labels: list[str]) -> str:
    if len(labels) == 1:
        return say("grade_check.read_again", where=labels[0])
    return say("grade_check.read_again_more", where=", ".join(labels))


def _not_yet(check: Check, units: UnitSystem) -> str:
    off = [one for one in check.dug if np.abs(one.change_m) > 0]
    work = ", ".join(
        say(
            f"grade_check.work.{_do(one)}",
            label=units.station_label(one.reading.at_m),
            mark=_work_text(one, units),
        )
        for one in off[:NAMED]
    )
    if len(off) > NAMED:
        return say("grade_check.not_yet_more", work=work, count=str(len(off) - NAMED))
    return say("grade_check.not_yet", work=work)
