"""Plans side by side, by what a user would choose between them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from yardfall.core.errors import InputError, under
from yardfall.core.quantities.bill import Bill
from yardfall.core.units import UnitSystem
from yardfall.sentences import say
from yardfall.store.uploads.rasters import RasterStore
from yardfall.use_cases import workflow
from yardfall.use_cases.trees import Tree
from yardfall.web.answers.tree_answer import summary_of
from yardfall.web.openapi.numbers import rounded
from yardfall.web.parse.parse_plan import read_plan
from yardfall.web.plan.handlers import gaps_told_in

MOST: Final = 1e12
DIGITS: Final = {"us": 1, "si": 0}
"""Decimals of a depth as people read it: plans that are told alike are a tie."""


def answer_comparison(body: dict[str, Any], rasters: RasterStore) -> dict[str, Any]:
    """The answer to a checked comparison body. Raises InputError with pointers into its plan."""
    plans = body["plans"]
    systems = [one["plan"]["units"] for one in plans]
    for i, name in enumerate(systems):
        if name != systems[0]:
            raise InputError.at(
                f"/plans/{i}/plan/units", "Plans are compared in one unit system; use the first's."
            )
    names = [one["name"] for one in plans]
    for i, name in enumerate(names):
        if name in names[:i]:
            raise InputError.at(f"/plans/{i}/name", f"Another plan is named {name!r} already.")
    alternatives = []
    for i, one in enumerate(plans):
        pointer = f"/plans/{i}/plan"
        with under(pointer):
            read = read_plan(one["plan"])
            with gaps_told_in(read.units):
                tree = workflow.plan(read.request, rasters)
            if not tree.plan.ground.known:
                raise InputError.at("/ground/of", say("even_slope.pipe_drop.compare"))
        alternatives.append(_alternative(one["name"], tree, read.units))
    best = _best(alternatives, DIGITS[systems[0]])
    return {
        "units": systems[0],
        "alternatives": alternatives,
        "best": best,
        "sentence": _sentence(alternatives, best),
    }


def _alternative(name: str, tree: Tree, units: UnitSystem) -> dict[str, Any]:
    lines, main = tree.lines, tree.plan
    bills = [line.works.bill for line in lines if line.works.bill is not None]
    costs = [bill.cost for bill in bills if bill.cost is not None]
    summary = summary_of(tree, units)
    margin_m = main.judged.decision.margin_m if tree.pinch is None else tree.pinch.margin_m

    def total(figure: Callable[[Bill], float], unit: float) -> float | None:
        return rounded(sum(figure(bill) for bill in bills) / unit)

    return {
        "name": name,
        "verdict": tree.verdict,
        "overall": summary.overall,
        "sentence": summary.sentence,
        "spare": rounded(margin_m / units.depth_m),
        "chance": None if tree.chance is None else rounded(tree.chance),
        "length": rounded(sum(line.route.length_m for line in lines) / units.length_m),
        "flattest_percent": rounded(min(r.grade for line in lines for r in line.runs) * 100),
        "greatest_depth": rounded(max(bill.earth.greatest_m for bill in bills) / units.depth_m),
        "dig_volume": total(lambda bill: bill.earth.bank_m3, units.volume_m3),
        "haul_volume": total(lambda bill: bill.earth.haul_loose_m3, units.volume_m3),
        "pipe": main.design.pipe.name,
        "pipe_laid": total(lambda bill: bill.pipe.laid_m, units.length_m),
        "pieces": sum(bill.pipe.pieces for bill in bills),
        "outlet": main.design.outlet.kind,
        "carries": None if main.works.water is None else main.works.water.carries,
        "cost": round(sum(cost.total for cost in costs), 2) if costs else None,
        "currency": costs[0].currency if costs else None,
        "cost_left_out": sorted({what for cost in costs for what in cost.left_out}),
    }


def _best(alternatives: list[dict[str, Any]], digits: int) -> dict[str, str | None]:
    """The best of those that fit in each respect; None on a tie, and for a cost not told whole."""
    fit = [one for one in alternatives if one["verdict"] == "yes"]

    def first(key: Callable[[dict[str, Any]], float]) -> str | None:
        ranked = sorted(fit, key=key)
        tied = len(ranked) > 1 and key(ranked[0]) == key(ranked[1])
        return None if tied or not ranked else ranked[0]["name"]

    priced = len({one["currency"] for one in fit}) == 1 and all(
        one["cost"] is not None and not one["cost_left_out"] for one in fit
    )
    # no limit on depth at all is the most spare there can be
    return {
        "most_spare": first(
            lambda one: -(MOST if one["spare"] is None else round(one["spare"], digits))
        ),
        "least_dig": first(lambda one: round(one["dig_volume"], 2)),
        "least_cost": first(lambda one: one["cost"]) if priced else None,
    }


def _sentence(alternatives: list[dict[str, Any]], best: dict[str, str | None]) -> str:
    fit = sum(one["verdict"] == "yes" for one in alternatives)
    if not fit:
        return say("comparison.none_fits")
    told = [say("comparison.fit", fit=str(fit), count=str(len(alternatives)))]
    told += [say(f"comparison.{way}", name=name) for way, name in best.items() if name is not None]
    return " ".join(told)
