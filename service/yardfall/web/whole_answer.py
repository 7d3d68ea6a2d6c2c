"""A line and its branches as one, in the caller's units and in sentences."""

from __future__ import annotations

from typing import Any

from yardfall import sentences
from yardfall.core.band import DECISION_SLACK_M
from yardfall.core.grade_line import StandingWater
from yardfall.core.tree import Place, TreePinch
from yardfall.core.units import UnitSystem
from yardfall.sentences.limits import limit_words
from yardfall.trees import Tree
from yardfall.web.verdict import percent_words, rounded, verdict_sentence


def whole_answer(tree: Tree, own: str, units: UnitSystem) -> dict[str, Any]:
    """The `whole` part of a plan; `own` is the sentence of the line alone."""
    return {
        "verdict": tree.verdict,
        "sentence": whole_sentence(tree, units) if tree.branches else own,
        "chance": None if tree.chance is None else rounded(tree.chance),
        "spare": None if tree.pinch is None else rounded(tree.pinch.margin_m / units.depth_m),
        "pinch": None if tree.pinch is None else _pinch(tree.pinch, units),
    }


def whole_sentence(tree: Tree, units: UnitSystem) -> str:
    """The verdict on a line with its branches, naming each that does not fit, and why."""
    own = verdict_sentence(tree.plan, units)
    if not tree.branches:
        return own
    said = [f"Main line: {own}"]
    said += [
        f"Branch {branch.request.name}: {whole_sentence(branch.tree, units)}"
        for branch in tree.branches
        if branch.tree.verdict != "yes"
    ]
    if len(said) == 1 and tree.fits:
        said.append("Every branch joins.")
    if tree.pinch is not None and tree.pinch.across_a_join:
        said.append(_pinch_sentence(tree.pinch, units))
    if tree.chance is not None:
        said.append(f"The chance that all pipes work together is {percent_words(tree.chance)}.")
    return " ".join(said)


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
    amount = units.depth_text(abs(pinch.margin_m))
    state = "to spare" if pinch.margin_m >= -DECISION_SLACK_M else "short"
    said = f"The tightest place lies across a join, {amount} {state}: "
    said += f"{_place_words(pinch.upstream, units)} against {_place_words(pinch.downstream, units)}"
    if pinch.turns_on is not None:
        said += f", forced down by {_place_words(pinch.turns_on, units)}"
    said += "."
    if pinch.raise_m is not None:
        source = pinch.turns_on if pinch.turns_on and pinch.turns_on.line else pinch.upstream
        name = source.line[len(pinch.downstream.line)]
        said += f" Branch {name} would have to come in {units.depth_text(pinch.raise_m)} higher."
    return said


def _place_words(place: Place, units: UnitSystem) -> str:
    line = f"branch {', branch '.join(place.line)}" if place.line else "the main line"
    return f"{limit_words(place.limit)} at {units.station_label(place.at_m)} of {line}"


def inlet_answer(water: StandingWater, units: UnitSystem) -> dict[str, Any]:
    """The water at one inlet."""
    inlet = water.inlet
    return {
        "what": inlet.what,
        "at": rounded(inlet.at_m / units.length_m),
        "label": units.station_label(inlet.at_m),
        "opening": rounded(inlet.opening_m / units.length_m),
        "opening_is": "as stated" if inlet.stated else "the ground",
        "water_level": rounded(water.level_m / units.length_m),
        "still_level": rounded(water.still_m / units.length_m),
        "spare": rounded(water.spare_m / units.depth_m),
        "drowned": water.spare_m < 0,
        "serves": None if water.serves is None else water.serves.code,
        "sentence": _inlet_sentence(water, units),
    }


def _inlet_sentence(water: StandingWater, units: UnitSystem) -> str:
    inlet, amount = water.inlet, units.depth_text(abs(water.spare_m))
    where = f"{inlet.what} at {units.station_label(inlet.at_m)}"
    if water.spare_m >= 0:
        name = "inlet_below_opening" if inlet.stated else "inlet_below_ground"
        label = units.station_label(inlet.at_m)
        return sentences.say(name, amount=amount, what=inlet.what, label=label)
    if not inlet.stated:
        where += " (its opening taken at the ground)"
    said = f"Water backs up and comes out at the {where}: when everything runs at once it stands "
    said += f"{amount} above the opening. Raise the opening by that much"
    if water.still_m > inlet.opening_m:
        return f"{said} or lower the outlet: even still water stands above it, whatever the pipe."
    if water.serves is None:
        return f"{said} or bring less water: no larger pipe of the list would keep it in."
    return f"{said}, bring less water, or lay {water.serves.name} from there to the outlet."
