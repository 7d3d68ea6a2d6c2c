"""A line and its branches as one, in the caller's units and in sentences."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from yardfall.core.grading.band import DECISION_SLACK_M
from yardfall.core.network.tree import Place, TreePinch
from yardfall.core.outlet_levels import no_outlet
from yardfall.core.quantities.parts import step_piece_m
from yardfall.core.units import UnitSystem
from yardfall.sentences import say
from yardfall.sentences.answer.limits import limit_words
from yardfall.use_cases.trees import BranchTree, Tree
from yardfall.web.answers.condition_answer import conditions_said
from yardfall.web.answers.verdict import verdict_sentence
from yardfall.web.openapi.numbers import percent_words, rounded


@dataclass(frozen=True)
class Summary:
    """A line with its branches in a word, in sentences, and in one that is short."""

    overall: str
    sentence: str
    brief: str


def summary_of(tree: Tree, units: UnitSystem) -> Summary:
    """The verdict on a line with its branches, naming each that is no plain yes, and why."""
    plan = tree.plan
    conditions = conditions_said(plan, tree.inlets or (), units, tree.backwater)
    own = verdict_sentence(plan, conditions, units)
    branches = [(b.request.name, summary_of(b.tree, units)) for b in tree.branches]
    conditional = bool(conditions) or any(b.overall == "conditional" for _, b in branches)
    verdict = tree.verdict
    overall = "conditional" if verdict == "yes" and conditional else verdict
    if no_outlet(plan):
        overall = "no"
    if not branches:
        return Summary(overall, own, own)
    brief = _brief(tree, overall, own, branches, units)
    return Summary(overall, _sentence(tree, own, branches, units), brief)


def whole_answer(tree: Tree, own: dict[str, Any], units: UnitSystem) -> dict[str, Any]:
    """The `whole` part of a plan; `own` is the answer of its main line, the whole of one alone."""
    alone = not tree.branches and tree.verdict == tree.plan.verdict
    sentence = own["sentence"]
    summary = Summary(own["overall"], sentence, sentence) if alone else summary_of(tree, units)
    return {
        "verdict": tree.verdict,
        "overall": summary.overall,
        "sentence": summary.sentence,
        "brief": summary.brief,
        "chance": None if tree.chance is None else rounded(tree.chance),
        "spare": None if tree.pinch is None else rounded(tree.pinch.margin_m / units.depth_m),
        "pinch": None if tree.pinch is None else _pinch(tree.pinch, units),
    }


def steps_down_answer(branch: BranchTree, units: UnitSystem) -> dict[str, Any] | None:
    """The piece that slants down from a branch's end to its wye; None where none is needed."""
    down_m = branch.steps_down_m
    if not down_m:
        return None
    piece_m = step_piece_m(down_m)
    down, piece = units.depth_text(down_m), units.depth_text(piece_m)
    return {
        "height": rounded(down_m / units.depth_m),
        "piece": rounded(piece_m / units.depth_m),
        "sentence": say("whole.steps_down", down=down, piece=piece),
    }


def _sentence(tree: Tree, own: str, branches: list[tuple[str, Summary]], units: UnitSystem) -> str:
    said = [say("whole.main", sentence=own)]
    said += [
        say("whole.branch", name=name, sentence=branch.sentence)
        for name, branch in branches
        if branch.overall != "yes"
    ]
    if len(said) == 1 and tree.fits:
        said.append(say("whole.every_branch_joins"))
    if tree.pinch is not None and tree.pinch.across_a_join:
        said.append(_pinch_sentence(tree.pinch, units))
    if tree.chance is not None:
        said.append(say("whole.chance", chance=percent_words(tree.chance)))
    return " ".join(said)


def _brief(
    tree: Tree, overall: str, own: str, branches: list[tuple[str, Summary]], units: UnitSystem
) -> str:
    """What decides, in a sentence: the first line that fails, else what all have to spare."""
    main_fails = tree.plan.verdict != "yes" or no_outlet(tree.plan)
    failing = [say("whole.main", sentence=own)] if main_fails else []
    failing += [
        say("whole.branch", name=name, sentence=branch.brief)
        for name, branch in branches
        if branch.overall in ("no", "too_close")
    ]
    if failing:
        more = len(failing) - 1
        name = "brief_more_one" if more == 1 else "brief_more"
        return say(f"whole.{name}", sentence=failing[0], count=str(more)) if more else failing[0]
    spare_m = _spare_m(tree)
    if overall == "no":
        return say("whole.brief_short", amount=units.depth_text(abs(spare_m)))
    if overall == "too_close":
        if tree.chance is None:
            return say("whole.brief_too_close_here")
        return say("whole.brief_too_close", chance=percent_words(tree.chance))
    count = _count(tree)
    how_many = "one" if count == 1 else "more"
    amount = units.depth_text(max(spare_m, 0.0))
    return say(f"whole.brief_{overall}_{how_many}", count=str(count), amount=amount)


def _spare_m(tree: Tree) -> float:
    """The least to spare over a line and all its branches, negative where it is short."""
    if tree.pinch is not None:
        return tree.pinch.margin_m
    own_m = tree.plan.judged.decision.margin_m
    return min([own_m, *(_spare_m(branch.tree) for branch in tree.branches)])


def _count(tree: Tree) -> int:
    return sum(1 + _count(branch.tree) for branch in tree.branches)


def _pinch(pinch: TreePinch, units: UnitSystem) -> dict[str, Any]:
    return {
        "upstream": _place(pinch.upstream, units),
        "downstream": _place(pinch.downstream, units),
        "turns_on": None if pinch.turns_on is None else _place(pinch.turns_on, units),
        "across_a_join": pinch.across_a_join,
        "raise_branch": None if pinch.raise_m is None else rounded(pinch.raise_m / units.depth_m),
    }


def _place(place: Place, units: UnitSystem) -> dict[str, Any]:
    return {
        "line": list(place.line),
        "at": rounded(place.at_m / units.length_m),
        "label": units.station_label(place.at_m),
        "limit": place.limit,
    }


def _pinch_sentence(pinch: TreePinch, units: UnitSystem) -> str:
    short = "" if pinch.margin_m >= -DECISION_SLACK_M else "_short"
    parts = {
        "amount": units.amount_text(abs(pinch.margin_m)),
        "upstream": _place_words(pinch.upstream, units),
        "downstream": _place_words(pinch.downstream, units),
    }
    turned = ""
    if pinch.turns_on is not None:
        turned = "_turned"
        parts["turn"] = _place_words(pinch.turns_on, units)
    said = say(f"whole.tightest{short}{turned}", **parts)
    if pinch.raise_m is not None:
        source = pinch.turns_on if pinch.turns_on and pinch.turns_on.line else pinch.upstream
        name = source.line[len(pinch.downstream.line)]
        higher = say("whole.branch_higher", name=name, amount=units.amount_text(pinch.raise_m))
        said = f"{said} {higher}"
    return said


def _place_words(place: Place, units: UnitSystem) -> str:
    parts = {"limit": limit_words(place.limit), "station": units.station_label(place.at_m)}
    if not place.line:
        return say("whole.place", **parts)
    branch = say("whole.place.branch", name=place.line[0])
    for name in place.line[1:]:
        branch = say("whole.place.branch_of_branch", outer=branch, name=name)
    return say("whole.place_of_branch", branch=branch, **parts)
