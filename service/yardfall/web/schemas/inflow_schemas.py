"""Water that enters the pipe, as callers send it."""

from __future__ import annotations

from typing import Any, Final

import marshmallow as ma

from yardfall.web.openapi.fields import (
    MOST_LENGTH,
    Number,
    OneForm,
    Strict,
    Text,
    among,
    count,
    rows,
)


class InflowBody(Strict):
    name = Text()
    at = Number(0, MOST_LENGTH)


class RainBody(InflowBody):
    """Rain on an area. State the duration, in minutes, that the rain rate holds for."""

    area = Number(0, required=True)
    rain_rate = Number(0.001, 1000, required=True)
    duration = Number(0, 10_000, above=True)
    return_period = Number(0, 1000, above=True, metadata={"description": "Years."})


class RoofBody(RainBody):
    """A roof by its plan area; `wall_area` is one wall above it that drains to it."""

    kind = ma.fields.String(required=True, validate=among("roof"))
    coefficient = Number(0.01, 1)
    wall_area = Number(0)


class YardBody(RainBody):
    """Open ground; its coefficient has no usual value."""

    kind = ma.fields.String(required=True, validate=among("yard"))
    coefficient = Number(0.01, 1, required=True)


class PumpBody(InflowBody):
    """A pump's rate into the pipe."""

    kind = ma.fields.String(required=True, validate=among("pump"))
    rate = Number(0, required=True)


class OtherBody(InflowBody):
    """Any other steady flow."""

    kind = ma.fields.String(required=True, validate=among("other"))
    rate = Number(0, required=True)


INFLOW_FORMS: Final = {"roof": RoofBody, "yard": YardBody, "pump": PumpBody, "other": OtherBody}


def inflows_field(*, required: bool = False) -> ma.fields.List[Any]:
    """A list of inflows."""
    return ma.fields.List(
        OneForm(INFLOW_FORMS, tell="kind"), validate=count(1, 100), required=required
    )


class PumpLegBody(Strict):
    """From a pump to where gravity starts. Heads, lift and lengths in distance units.

    `pump_head` is what the pump gives at `rate`; `fittings_length` the straight pipe that loses as
    much as the elbows and the check valve; `c` is Hazen-Williams C (150 for new plastic).
    """

    rate = Number(0, required=True)
    pump_head = Number(0, MOST_LENGTH, required=True)
    lift = Number(0, MOST_LENGTH, required=True)
    length = Number(0, MOST_LENGTH, required=True)
    fittings_length = Number(0, MOST_LENGTH)
    inside = Number(0.1, 10_000, required=True)
    c = Number(50, 200)


class StormBody(Strict):
    """One more storm to try: `rain_depth` over `duration` minutes."""

    rain_depth = Number(0, 10_000, above=True, required=True)
    duration = Number(0, 10_000, required=True)


class DryWellBody(Strict):
    """A storm and the pit of stone that takes it: `rain_depth` on `area` over `duration` minutes.

    `storms` are more of them, of other durations: the one that asks for the largest pit governs.
    `soak_rate` is what the soil takes as measured (in/h, mm/h), which `safety_factor` divides;
    `stone_depth` the depth of stone below the pipe, `voids` the share of the stone that is void.
    """

    storms = rows(StormBody, 0, 20)
    safety_factor = Number(1, 20)
    area = Number(0, above=True, required=True)
    rain_depth = Number(0, 10_000, above=True, required=True)
    duration = Number(0, 10_000, required=True)
    soak_rate = Number(0, 10_000, required=True)
    stone_depth = Number(1, 10_000, required=True)
    voids = Number(0.1, 1)
