"""The bill of quantities in short: what to dig, buy and do, in a few lines of the sheet."""

from __future__ import annotations

from typing import Any, Final

from yardfall.core.units import UnitSystem, plain_number
from yardfall.sentences import say

VOLUME: Final = {"us": "cu yd", "si": "m³"}
AREA: Final = {"us": "sq ft", "si": "m²"}
Item = tuple[str, str]


def bill_items(bill: dict[str, Any], units: UnitSystem) -> tuple[Item, ...]:
    """Label and text of each part of an answer's `quantities` that has anything in it."""
    volume, area = VOLUME[units.name], AREA[units.name]
    pipe, hours = bill["pipe"], bill["hours"]
    bank, loose = bill["trench"]["bank"], bill["trench"]["loose"]
    haul, bedding = bill["spoil"]["haul"], bill["bedding"]["volume"]
    form, number = pipe["form"], "one" if pipe["pieces"] == 1 else "more"
    piece = f"{_number(pipe['piece_length'])} {units.length_name}"
    items = [
        (
            "Trench",
            say(
                "quantities.in_place_and_loose",
                bank=_number(bank),
                loose=_number(loose),
                unit=volume,
            ),
        ),
        ("Shoring or slopes", (bill.get("protection") or {"text": ""})["text"]),
        ("Sod", f"{_number(bill['sod']['area'])} {area}"),
        ("Bedding", f"{_number(bedding)} {volume}" if bedding else ""),
        ("Soil to lay", _fill(bill.get("fill"), volume)),
        ("Haul off", say("quantities.loose", haul=_number(haul), unit=volume) if haul else ""),
        ("Pipe", say(f"quantities.{form}_{number}", count=str(pipe["pieces"]), piece=piece)),
        ("Fittings", _parts(bill["fittings"])),
        ("Outlet", _parts(bill["outlet_parts"])),
        ("Hours of digging, by rule of thumb", _hours(hours)),
        ("Cost at your prices", _cost(bill.get("cost"))),
    ]
    return tuple((label, text) for label, text in items if text)


def _fill(fill: dict[str, Any] | None, unit: str) -> str:
    """Soil to lay; none in an answer kept from before."""
    if fill is None:
        return ""
    told = {name: _number(fill[name]) for name in ("volume", "loose", "bring")}
    told["spoil"] = _number(fill["from_spoil"])
    return say(
        f"quantities.{'fill_brought' if fill['bring'] else 'fill_of_spoil'}", unit=unit, **told
    )


def _number(value: float) -> str:
    return plain_number(value, 1 if abs(value) >= 10 else 2)


def _hours(hours: dict[str, Any]) -> str:
    by_hand = _number(hours["by_hand"])
    if hours["by_machine"] is None:
        return say("quantities.by_hand", hours=by_hand)
    return say(
        "quantities.by_hand_or_machine",
        hours=by_hand,
        machine_hours=_number(hours["by_machine"]),
        machine=hours["machine_name"],
    )


def _parts(parts: list[dict[str, Any]]) -> str:
    """Equal parts once, each with how many there are in all."""
    counts: dict[str, int] = {}
    for part in parts:
        counts[part["name"]] = counts.get(part["name"], 0) + part["count"]
    return ", ".join(f"{count} × {name}" for name, count in counts.items())


def _cost(cost: dict[str, Any] | None) -> str:
    if cost is None:
        return ""
    parts = {"total": f"{cost['total']:.2f}", "currency": cost["currency"]}
    without = ", ".join(cost["left_out_names"])
    if without:
        return say("quantities.total_without", left_out=without, **parts)
    return say("quantities.total", **parts)
