"""The bill of quantities in short: what to dig, buy and do, in a few lines of the sheet."""

from __future__ import annotations

from typing import Any, Final

from yardfall.core.units import UnitSystem, plain_number

VOLUME: Final = {"us": "cu yd", "si": "m³"}
AREA: Final = {"us": "sq ft", "si": "m²"}
Item = tuple[str, str]


def bill_items(bill: dict[str, Any], units: UnitSystem) -> tuple[Item, ...]:
    """Label and text of each part of an answer's `quantities` that has anything in it."""
    volume, area = VOLUME[units.name], AREA[units.name]
    pipe, hours = bill["pipe"], bill["hours"]
    bank, loose = bill["trench"]["bank"], bill["trench"]["loose"]
    haul, bedding = bill["spoil"]["haul"], bill["bedding"]["volume"]
    pieces = f"{pipe['pieces']} {pipe['form']}{'' if pipe['pieces'] == 1 else 's'}"
    by_hand = f"{_number(hours['by_hand'])} by hand"
    by_machine = ""
    if hours["by_machine"] is not None:
        by_machine = f" or {_number(hours['by_machine'])} with a {hours['machine_name']}"
    items = [
        (
            "Trench",
            f"{_number(bank)} {volume} in place, {_number(loose)} loose",
        ),
        ("Sod", f"{_number(bill['sod']['area'])} {area}"),
        ("Bedding", f"{_number(bedding)} {volume}" if bedding else ""),
        ("Haul off", f"{_number(haul)} {volume} loose" if haul else ""),
        ("Pipe", f"{pieces} of {_number(pipe['piece_length'])} {units.length_name}"),
        ("Fittings", _parts(bill["fittings"])),
        ("Outlet", _parts(bill["outlet_parts"])),
        ("Hours of digging, by rule of thumb", by_hand + by_machine),
        ("Cost at your prices", _cost(bill.get("cost"))),
    ]
    return tuple((label, text) for label, text in items if text)


def _number(value: float) -> str:
    return plain_number(value, 1 if abs(value) >= 10 else 2)


def _parts(parts: list[dict[str, Any]]) -> str:
    return ", ".join(f"{part['count']} {part['name']}" for part in parts)


def _cost(cost: dict[str, Any] | None) -> str:
    if cost is None:
        return ""
    text = f"{cost['total']:.2f} {cost['currency']}"
    without = ", ".join(cost["left_out_names"])
    return f"{text}, without {without}" if without else text
