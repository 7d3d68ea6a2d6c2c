"""How well the ground is known, as callers say it: an instrument, a figure, a lidar, a lawn."""

from __future__ import annotations

from typing import Any, Final

import marshmallow as ma

from yardfall.core.uncertainty.instruments import INSTRUMENTS
from yardfall.core.uncertainty.lawns import LAWNS, STRAIGHT
from yardfall.core.uncertainty.lidar import LIDARS
from yardfall.web.openapi.fields import Number, Strict, among


class ByInstrument(Strict):
    """How the ground was measured."""

    instrument = ma.fields.String(required=True, validate=among(*INSTRUMENTS))


class BySigma(Strict):
    """Standard error of a value, and the part that shifts all values alike; depth units."""

    sigma = Number(0, 10_000, required=True)
    common = Number(0, 10_000)


LAWN: Final[dict[str, Any]] = {
    "validate": among(*LAWNS, STRAIGHT),
    "metadata": {
        "description": "How even the ground is between what was read of it: a graded, an ordinary "
        "or a rough lawn; straight: exactly so, as on paving. Left out: any of the three, as what "
        "was read speaks for them; straight where `sigma` is 0."
    },
}


class ByInstrumentOnLawn(ByInstrument):
    """How the ground was measured, and how even it is."""

    lawn = ma.fields.String(**LAWN)


class BySigmaOnLawn(BySigma):
    """Standard error of a value, the part that shifts all values alike, and how even it is."""

    lawn = ma.fields.String(**LAWN)


class ByLidar(Strict):
    """How densely the lidar of a raster was flown, and how even the ground is.

    Of other ground it says nothing.
    """

    lidar = ma.fields.String(
        required=True,
        validate=among(*LIDARS),
        metadata={
            "description": "dense: 8 pulses/m² and more; usual: some 2; spec_only: nothing is "
            "known but that it keeps a specification."
        },
    )
    lawn = ma.fields.String(**LAWN)


class ByLawn(Strict):
    """How even the ground is; it was read in the usual way."""

    lawn = ma.fields.String(required=True, **LAWN)


GROUND_ACCURACY: Final[dict[str, type[ma.Schema]]] = {
    "instrument": ByInstrumentOnLawn,
    "sigma": BySigmaOnLawn,
    "lidar": ByLidar,
    "lawn": ByLawn,
}
