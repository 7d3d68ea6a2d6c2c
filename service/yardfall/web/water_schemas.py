"""What the water does in the pipe, as the calls answer it."""

from __future__ import annotations

from typing import Final

import marshmallow as ma

from yardfall.web.answer_fields import number, parts, words


class BasisAnswer(ma.Schema):
    """What the pipe does by one published roughness."""

    n = number()
    source = words()
    capacity_full = number()
    share_of_capacity = number(nullable=True)
    depth = number(nullable=True)
    velocity = number()


LARGEST_ROOF: Final = (
    "Roof area in all that this stretch could take beside its yards, pumps and other water, by "
    "cautious_capacity: the roofs that reach it made larger or smaller by one factor, each with "
    "its own rain rate and coefficient. Half of a wall counts as roof. Null where no roof reaches "
    "it or the rest of the water fills it."
)


class CarriedAnswer(ma.Schema):
    """One stretch. `capacity_full` to `velocity` are by the pipe's own roughness; `carries` is by
    the cautious one of `bases`. `depth` is null where the flow is over capacity."""

    flow = number()
    capacity_full = number()
    share_of_capacity = number(nullable=True)
    depth = number(nullable=True)
    velocity = number()
    velocity_full = number()
    self_cleaning = ma.fields.Boolean(required=True)
    self_cleaning_velocity = number()
    carries = ma.fields.Boolean(required=True)
    cautious_capacity = number()
    cautious_share = number(nullable=True)
    bases = parts(BasisAnswer)
    smallest_pipe = words(nullable=True)
    largest_roof = number(nullable=True, metadata={"description": LARGEST_ROOF})


class StretchAnswer(CarriedAnswer):
    from_ = number(data_key="from")
    to = number()
    percent = number()


class WaterAnswer(ma.Schema):
    """The water in a plan, stretch by stretch."""

    carries = ma.fields.Boolean(required=True)
    sentence = words()
    rain_alone = number()
    pumped_alone = number()
    stretches = parts(StretchAnswer)


class PumpAnswer(ma.Schema):
    """What the pump must do; heads in distance units, negative `head_left` is a shortage."""

    friction = number()
    head_needed = number()
    head_left = number()
    sentence = words()


class WellAnswer(ma.Schema):
    """A dry well sized for the storm; `hours_to_empty` null where the soil takes nothing."""

    storm_volume = number()
    storage = number()
    bottom_area = number()
    stone_volume = number()
    diameter = number()
    hours_to_empty = number(nullable=True)
    sentence = words()
    source = words()
