"""The bill of quantities in the caller's units, each figure with what it is reckoned from."""

from __future__ import annotations

from typing import Any, Final

from yardfall.core.plan import Plan
from yardfall.core.quantities.bill import BY_HAND_M_H, Bill, Cost
from yardfall.core.quantities.earthwork import Sloped
from yardfall.core.quantities.parts import FIGURES, MACHINES, PARTS, Part
from yardfall.core.units import UnitSystem, plain_number
from yardfall.sentences import say
from yardfall.web.openapi.numbers import rounded

NAMES: Final = {
    "us": {"volume": "cu yd", "area": "sq ft"},
    "si": {"volume": "m³", "area": "m²"},
}
COSTED: Final = {
    "bedding": "volume",
    "haul": "volume",
    "fill": "volume",
    "sod": "area",
    "pipe": "piece",
    "hour_by_hand": "hour",
    "hour_by_machine": "hour",
}
NAMED: Final = FIGURES | PARTS


def bill_answer(bill: Bill, units: UnitSystem) -> dict[str, Any]:
    """The `quantities` part of a plan."""
    earth, pipe, hours, supply = bill.earth, bill.pipe, bill.hours, bill.supply
    length_m, depth_m, volume_m3 = units.length_m, units.depth_m, units.volume_m3
    swell, waste = (plain_number(100 * share, 1) for share in (supply.swell, pipe.waste))
    return {
        "trench": {
            "length": rounded(sum(c.length_m for c in earth.classes) / length_m),
            "greatest_depth": rounded(earth.greatest_m / depth_m),
            "bank": rounded(earth.bank_m3 / volume_m3),
            "loose": rounded(earth.loose_m3 / volume_m3),
            "by_depth": [
                {
                    "from": rounded(c.from_m / depth_m),
                    "to": None if c.to_m is None else rounded(c.to_m / depth_m),
                    "length": rounded(c.length_m / length_m),
                    "volume": rounded(c.volume_m3 / volume_m3),
                    "width": rounded(c.width_m / depth_m),
                }
                for c in earth.classes
            ],
            "basis": say(_widens(bill), swell=swell),
        },
        "sod": {
            "area": rounded(earth.sod_m2 / units.area_m2),
            "basis": say("quantities.sod"),
        },
        "bedding": {
            "volume": rounded(earth.bedding_m3 / volume_m3),
            "basis": say("quantities.bedding"),
        },
        "spoil": {
            "backfill": rounded(earth.backfill_m3 / volume_m3),
            "haul": rounded(earth.haul_loose_m3 / volume_m3),
            "basis": say("quantities.spoil"),
        },
        "fill": _fill(bill, units) if earth.fill_m3 else None,
        "pipe": {
            "form": pipe.form,
            "laid": rounded(pipe.laid_m / length_m),
            "pieces": pipe.pieces,
            "piece_length": rounded(pipe.piece_m / length_m),
            "to_buy": rounded(pipe.pieces * pipe.piece_m / length_m),
            "waste_percent": rounded(pipe.waste * 100),
            "basis": say(
                f"quantities.pipe_in_{pipe.form}s",
                waste=waste,
                piece=units.length_text(pipe.piece_m),
            ),
        },
        "fittings": [_part(one) for one in bill.fittings],
        "outlet_parts": [_part(one) for one in bill.outlet_parts],
        "parts_basis": say("quantities.parts"),
        "hours": {
            "by_hand": rounded(hours.by_hand_h),
            "machine": hours.machine,
            "machine_name": None if hours.machine is None else MACHINES[hours.machine],
            "by_machine": None if hours.by_machine_h is None else rounded(hours.by_machine_h),
            "basis": _hours_basis(bill, units),
        },
        "protection": None if bill.sloped is None else _protection(bill, bill.sloped, units),
        "cost": None if bill.cost is None else cost_answer(bill.cost, bill, units),
    }


def _fill(bill: Bill, units: UnitSystem) -> dict[str, Any]:
    """Soil to lay, and where it comes from."""
    earth, volume_m3 = bill.earth, units.volume_m3
    return {
        "volume": rounded(earth.fill_m3 / volume_m3),
        "loose": rounded(earth.fill_loose_m3 / volume_m3),
        "from_spoil": rounded(earth.fill_from_spoil_m3 / volume_m3),
        "bring": rounded(earth.fill_brought_m3 / volume_m3),
        "basis": say("quantities.fill", swell=plain_number(100 * bill.supply.swell, 1)),
    }


def trench_answer(plan: Plan, units: UnitSystem) -> dict[str, Any]:
    """The `trench` part of a plan: the slot for the pipe, and what is dug of it and beside it."""
    bill, slot_m = plan.works.bill, plan.design.limits.trench_width_m
    widest_m = slot_m if bill is None else bill.earth.widest_m
    wider = widest_m > slot_m
    return {
        "width": rounded(slot_m / units.depth_m),
        "volume": rounded(plan.volume_m3 / units.volume_m3),
        "dug_width": rounded(widest_m / units.depth_m),
        "dug_volume": None if bill is None else rounded(bill.earth.bank_m3 / units.volume_m3),
        "basis": say("quantities.slot_and_room" if wider else "quantities.slot"),
    }


def _widens(bill: Bill) -> str:
    """What the trench's volume is reckoned from: one width, or more where it is deep."""
    widths_m = {one.width_m for one in bill.earth.classes}
    return "quantities.trench_widens" if len(widths_m) > 1 else "quantities.trench"


def _protection(bill: Bill, sloped: Sloped, units: UnitSystem) -> dict[str, Any]:
    """The walls that somebody must hold or lay back, and what the latter digs."""
    whole_m3 = bill.earth.bank_m3 + sloped.more_m3
    return {
        "length": rounded(sloped.length_m / units.length_m),
        "top_width": rounded(sloped.top_m / units.length_m),
        "sloped_bank": rounded(whole_m3 / units.volume_m3),
        "text": say(
            "quantities.protection",
            length=units.along_text(sloped.length_m),
            deepest=units.depth_text(sloped.deepest_m),
            top=units.along_text(sloped.top_m),
            bank=plain_number(
                whole_m3 / units.volume_m3, 0 if whole_m3 > 10 * units.volume_m3 else 1
            ),
            unit=NAMES[units.name]["volume"],
        ),
    }


def _hours_basis(bill: Bill, units: UnitSystem) -> str:
    own, hours = bill.supply.by_hand_m_h, bill.hours.by_machine_h
    by_hand = units.length_text(BY_HAND_M_H if own is None else own)
    if hours is None:
        return say("quantities.hours", by_hand=by_hand)
    rate_m_h = sum(c.length_m for c in bill.earth.classes) / (hours or 1.0)
    by_machine = units.length_text(rate_m_h)
    return say("quantities.hours_of_machine", by_hand=by_hand, by_machine=by_machine)


def _part(part: Part) -> dict[str, Any]:
    return {
        "part": part.code,
        "name": PARTS[part.code],
        "count": part.count,
        "why": say(f"quantities.why.{part.why}"),
    }


def cost_answer(cost: Cost, bill: Bill, units: UnitSystem) -> dict[str, Any]:
    """What was priced, line by line, to the hundredth."""
    sizes = {"volume": units.volume_m3, "area": units.area_m2}
    lines: list[dict[str, Any]] = []
    for line in cost.lines:
        kind = COSTED.get(line.what, "piece")
        unit = sizes.get(kind, 1.0)
        name = f"{bill.pipe.form}s" if line.what == "pipe" else f"{kind}s"
        lines.append(
            {
                "what": line.what,
                "name": NAMED[line.what],
                "quantity": rounded(line.quantity / unit),
                "unit": NAMES[units.name].get(kind, name),
                "price": rounded(line.price * unit),
                "amount": round(line.amount, 2),
            }
        )
    return {
        "currency": cost.currency,
        "lines": lines,
        "total": round(sum(line["amount"] for line in lines), 2),
        "left_out": list(cost.left_out),
        "left_out_names": [NAMED[what] for what in cost.left_out],
        "basis": say("quantities.cost"),
    }
