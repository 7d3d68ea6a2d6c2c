"""A check of an old pipe in the caller's units, with its sentences."""

from __future__ import annotations

from typing import Any, Final

from yardfall.core.asbuilt.old_pipe import Belly, PipeCheck, falls_back, is_flat, lies_level
from yardfall.core.cautions import CALL_FIRST, COMMON, LOCAL_RULES, Caution
from yardfall.core.grade_runs import GradeRun
from yardfall.core.remarks import Remark
from yardfall.core.units import UnitSystem, plain_number
from yardfall.sentences import TEXTS, say
from yardfall.web.answers.plan_answer import assumption_answer, caution_answer
from yardfall.web.answers.warnings import warning_answer
from yardfall.web.checks.parse_pipe_check import ReadPipeCheck
from yardfall.web.openapi.numbers import rounded

CAUTIONS: Final = (
    CALL_FIRST,
    *(Caution(code, COMMON) for code in ("between", "read_again", "move", "sewer")),
    LOCAL_RULES,
)


def pipe_check_answer(check: PipeCheck, read: ReadPipeCheck) -> dict[str, Any]:
    """The answer to POST /pipe-check."""
    units, overall = read.units, check.overall
    error_m, told_m, depth_m = check.reading_error_m, check.least_told_m, units.depth_m
    return {
        "units": units.name,
        "datum": say(read.datum),
        "verdict": check.drains,
        "sentence": _sentence(check, units),
        "length": rounded((overall.to_m - overall.from_m) / units.length_m),
        "fall": rounded(overall.fall_m / depth_m),
        "percent": rounded(overall.grade * 100),
        "least_percent": rounded(check.old.least_grade * 100),
        "reading_error": None if error_m is None else rounded(error_m / depth_m),
        "least_told": None if told_m is None else rounded(told_m / depth_m),
        "points": [_point(check, k, units) for k in range(len(check.at_m))],
        "stretches": [_stretch(one, check, units) for one in check.stretches],
        "standing_water": [_belly(one, check, units) for one in check.bellies],
        "least_moves": _least_moves(check, units),
        "assumptions": [assumption_answer(a, units) for a in read.assumptions],
        "cautions": [caution_answer(c) for c in CAUTIONS],
        "warnings": [_warning(remark, units) for remark in check.remarks],
    }


def _point(check: PipeCheck, k: int, units: UnitSystem) -> dict[str, Any]:
    last = k == len(check.stretches)
    return {
        "at": rounded(float(check.at_m[k]) / units.length_m),
        "label": units.station_label(float(check.at_m[k])),
        "point": check.order[k],
        "invert": rounded(float(check.invert_m[k]) / units.length_m),
        "grade_percent": None if last else rounded(check.stretches[k].grade * 100),
        "standing_water": rounded(float(check.water_m[k]) / units.depth_m),
        "move": None
        if check.change_m is None
        else rounded(float(check.change_m[k]) / units.depth_m),
    }


def _stretch(one: GradeRun, check: PipeCheck, units: UnitSystem) -> dict[str, Any]:
    back, flat = falls_back(one), is_flat(one, check.old.least_grade)
    parts = {
        "from_": units.station_label(one.from_m),
        "to": units.station_label(one.to_m),
        "grade": _percent(one.grade),
        "least": _percent(check.old.least_grade),
        "fall": _depth(one.fall_m, units),
        "rise": _depth(-one.fall_m, units),
    }
    kind = "falls_little" if flat else "falls"
    kind = "falls_back" if back else "level" if lies_level(one) else kind
    return {
        "from": rounded(one.from_m / units.length_m),
        "to": rounded(one.to_m / units.length_m),
        "fall": rounded(one.fall_m / units.depth_m),
        "percent": rounded(one.grade * 100),
        "falls_back": back,
        "under_least": flat,
        "sentence": say(f"old_pipe.{kind}", **parts),
    }


def _belly(belly: Belly, check: PipeCheck, units: UnitSystem) -> dict[str, Any]:
    pond, pipe = belly.pond, check.old.pipe
    fills = None if pipe is None else pond.depth_m >= pipe.inside_m
    depth, least_told = _depths_of(belly, check, units)
    kind = "belly_within_error" if belly.within_error else "belly_fills" if fills else "belly"
    return {
        "from": rounded(pond.from_m / units.length_m),
        "to": rounded(pond.to_m / units.length_m),
        "length": rounded(pond.length_m / units.length_m),
        "depth": rounded(pond.depth_m / units.depth_m),
        "deepest_at": rounded(pond.deepest_at_m / units.length_m),
        "held_by": rounded(pond.sill_at_m / units.length_m),
        "within_error": belly.within_error,
        "fills_pipe": fills,
        "sentence": say(
            f"old_pipe.{kind}",
            depth=depth,
            at=units.station_label(pond.deepest_at_m),
            from_=units.station_label(pond.from_m),
            to=units.station_label(pond.to_m),
            length=units.length_text(pond.length_m),
            least_told=least_told,
        ),
    }


def _least_moves(check: PipeCheck, units: UnitSystem) -> dict[str, Any]:
    least, moves = _percent(check.old.least_grade), None
    sentence = say("old_pipe.no_way", least=least)
    if check.change_m is not None:
        changes = zip(check.at_m.tolist(), check.change_m.tolist(), strict=True)
        moves = [_move(at_m, change_m, units) for at_m, change_m in changes if change_m]
        most = max(moves, key=lambda one: abs(one["move"]), default=None)
        if most is None:
            sentence = say("old_pipe.nothing_to_move", least=least)
        else:
            up = "lift_one" if most["move"] > 0 else "lower_one"
            sentence = say(
                f"old_pipe.{up if len(moves) == 1 else 'move_more'}",
                least=least,
                count=str(len(moves)),
                at=most["label"],
                mark=most["mark"],
            )
    return {"moves": moves, "basis": say("old_pipe.work_basis"), "sentence": sentence}


def _move(at_m: float, change_m: float, units: UnitSystem) -> dict[str, Any]:
    label, mark = units.station_label(at_m), units.fine_text(abs(change_m))
    return {
        "at": rounded(at_m / units.length_m),
        "label": label,
        "move": rounded(change_m / units.depth_m),
        "mark": mark,
        "sentence": say(f"old_pipe.{'lift' if change_m > 0 else 'lower'}", at=label, mark=mark),
    }


def _sentence(check: PipeCheck, units: UnitSystem) -> str:
    if check.bellies:
        return _belly_sentence(check, units)
    level = [one for one in check.stretches if lies_level(one)]
    flat = [one for one in check.stretches if is_flat(one, check.old.least_grade)]
    told = level or flat
    if not told:
        first, last = check.stretches[0].from_m, check.stretches[-1].to_m
        return say(
            "old_pipe.yes",
            first=units.station_label(first),
            last=units.station_label(last),
            grade=_percent(check.overall.grade),
        )
    return say(
        f"old_pipe.yes_{'one' if len(told) == 1 else 'more'}_{'level' if level else 'flat'}",
        from_=units.station_label(told[0].from_m),
        to=units.station_label(told[0].to_m),
        grade=_percent(told[0].grade),
        least=_percent(check.old.least_grade),
        count=str(len(told)),
    )


def _belly_sentence(check: PipeCheck, units: UnitSystem) -> str:
    """Of the deepest belly; those within the errors count where there are no others."""
    sure = [belly for belly in check.bellies if not belly.within_error]
    told = sure or check.bellies
    deepest = max(told, key=lambda belly: belly.pond.depth_m)
    depth, least_told = _depths_of(deepest, check, units)
    one, more = ("no_one_belly", "no_more_bellies")
    if not sure:
        one, more = ("close_one_belly", "close_more_bellies")
    return say(
        f"old_pipe.{one if len(told) == 1 else more}",
        depth=depth,
        at=units.station_label(deepest.pond.deepest_at_m),
        length=units.length_text(deepest.pond.length_m),
        held_by=units.station_label(deepest.pond.sill_at_m),
        count=str(len(told)),
        least_told=least_told,
    )


def _depths_of(belly: Belly, check: PipeCheck, units: UnitSystem) -> tuple[str, str]:
    """A belly's depth, and the shallowest that can be told, in words that tell them apart."""
    if belly.within_error and check.least_told_m is not None:
        return units.texts_apart(belly.pond.depth_m, check.least_told_m)
    return _depth(belly.pond.depth_m, units), ""


def _depth(depth_m: float, units: UnitSystem) -> str:
    """A depth in words, as fine as it takes to tell it from nothing."""
    return units.texts_apart(depth_m, 0.0)[0]


def _percent(grade: float) -> str:
    return f"{plain_number(grade * 100, 2)} %"


def _warning(remark: Remark, units: UnitSystem) -> dict[str, str]:
    if f"old_pipe.{remark.code}" not in TEXTS:
        return warning_answer(remark, units)
    values = {name: float(value) for name, value in remark.values.items()}
    parts = {
        "from_": units.station_label(values.get("from_m", 0.0)),
        "to": units.station_label(values.get("to_m", 0.0)),
        "grade": _percent(values.get("grade", 0.0)),
        "rise": _depth(values.get("rise_m", 0.0), units),
    }
    text = say(f"old_pipe.{remark.code}", **parts)
    return {"code": remark.code, "pointer": remark.pointer, "text": text}
