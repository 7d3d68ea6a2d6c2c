"""Supply and prices as callers send them, and the bill of quantities they get back."""

from __future__ import annotations

import marshmallow as ma

from yardfall.core.quantities.parts import PARTS
from yardfall.web.openapi.answer_fields import number, part, parts, words
from yardfall.web.openapi.fields import LEAST_LENGTH, MOST_LENGTH, Number, Strict, Text, count

MOST_PRICE = 1e7

PartPrices = Strict.from_dict(
    {code: Number(0, MOST_PRICE, metadata={"description": name}) for code, name in PARTS.items()},
    name="PartPrices",
)
PartPrices.__doc__ = "The price of one of each part."


class PricesBody(Strict):
    """Your own prices; what has none stays without a cost.

    `pipe_piece` is one coil or stick; `bedding`, `haul` and `fill` (both loose) a unit of volume;
    `sod` a unit of area; `parts` one of each. Give the hour by hand or by machine.
    """

    currency = Text(8)
    pipe_piece = Number(0, MOST_PRICE)
    bedding = Number(0, MOST_PRICE)
    haul = Number(0, MOST_PRICE)
    fill = Number(0, MOST_PRICE)
    sod = Number(0, MOST_PRICE)
    hour_by_hand = Number(0, MOST_PRICE)
    hour_by_machine = Number(0, MOST_PRICE)
    parts = ma.fields.Nested(PartPrices)


class SupplyBody(Strict):
    """How you buy and dig, where the usual does not hold.

    `piece_length` is a coil or stick; rates are length of trench an hour; `depth_classes` part the
    trench's volume, increasing depths.
    """

    piece_length = Number(LEAST_LENGTH, MOST_LENGTH)
    waste_percent = Number(0, 100)
    swell_percent = Number(0, 100)
    by_hand = Number(LEAST_LENGTH, MOST_LENGTH)
    by_machine = Number(LEAST_LENGTH, MOST_LENGTH)
    depth_classes = ma.fields.List(Number(0, 10_000, above=True), validate=count(1, 12))


class ByDepth(ma.Schema):
    """Trench between two depths; `to` null has no bound."""

    from_ = number(data_key="from")
    to = number(nullable=True)
    length = number()
    volume = number()
    width = number()


class TrenchQuantity(ma.Schema):
    """What is dug."""

    length = number()
    greatest_depth = number()
    bank = number()
    loose = number()
    by_depth = parts(ByDepth)
    basis = words()


class SodQuantity(ma.Schema):
    """Sod to lift and to lay again."""

    area = number()
    basis = words()


class BeddingQuantity(ma.Schema):
    """Bedding under the pipe."""

    volume = number()
    basis = words()


class SpoilQuantity(ma.Schema):
    """`backfill` is bank measure; `haul` loose, what is left once `fill` has its soil."""

    backfill = number()
    haul = number()
    basis = words()


class FillQuantity(ma.Schema):
    """Soil to lay on the ground: spoil that is left over goes there first."""

    volume = number()
    loose = number()
    from_spoil = number()
    bring = number()
    basis = words()


class PipeQuantity(ma.Schema):
    """Pipe to buy and to lay."""

    form = words(metadata={"enum": ["coil", "stick"]})
    laid = number()
    pieces = ma.fields.Integer(required=True)
    piece_length = number()
    to_buy = number()
    waste_percent = number()
    basis = words()


class PartQuantity(ma.Schema):
    """A part to buy."""

    part = words()
    name = words()
    count = ma.fields.Integer(required=True)
    why = words()


class HoursQuantity(ma.Schema):
    """Digging alone; null where no machine of those known digs so deep."""

    by_hand = number()
    machine = words(nullable=True)
    machine_name = words(nullable=True)
    by_machine = number(nullable=True)
    basis = words()


class ProtectionQuantity(ma.Schema):
    """Where the trench asks for a protective system, and what laying its sides back digs."""

    length = number()
    top_width = number()
    sloped_bank = number()
    text = words()


class CostLineAnswer(ma.Schema):
    """One thing that has a price."""

    what = words()
    name = words()
    quantity = number()
    unit = words()
    price = number()
    amount = number()


class CostAnswer(ma.Schema):
    """Your prices times these quantities; `left_out` is needed but has no price."""

    currency = words()
    lines = parts(CostLineAnswer)
    total = number()
    left_out = ma.fields.List(ma.fields.String(), required=True)
    left_out_names = ma.fields.List(ma.fields.String(), required=True)
    basis = words()


class Quantities(ma.Schema):
    """What to dig, buy and do, each figure with what it is reckoned from."""

    trench = part(TrenchQuantity)
    sod = part(SodQuantity)
    bedding = part(BeddingQuantity)
    spoil = part(SpoilQuantity)
    fill = part(
        FillQuantity, allow_none=True, metadata={"description": "Null where no soil is laid."}
    )
    pipe = part(PipeQuantity)
    fittings = parts(PartQuantity)
    outlet_parts = parts(PartQuantity)
    parts_basis = words()
    hours = part(HoursQuantity)
    protection = part(
        ProtectionQuantity,
        allow_none=True,
        metadata={"description": "Null where the trench stays under 5 ft (1.5 m)."},
    )
    cost = part(CostAnswer, allow_none=True)
