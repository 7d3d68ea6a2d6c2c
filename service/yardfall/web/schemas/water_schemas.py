"""What the water does in the pipe, as the calls answer it."""

from __future__ import annotations

from typing import Final

import marshmallow as ma

from yardfall.web.openapi.answer_fields import number, numbers, part, parts, words


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
    """The water in one stretch."""

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


class TriedStorm(ma.Schema):
    """A storm that was tried, and the pit that it alone would ask for."""

    duration = number()
    rain_depth = number()
    storm_volume = number()
    storage = number()
    bottom_area = number()
    governs = ma.fields.Boolean(required=True)


class WellAnswer(ma.Schema):
    """A dry well sized for the worst of its storms; hours are null where the soil takes nothing."""

    storms = parts(TriedStorm)
    safety_factor = number()
    soak_rate = number()
    hours_to_half = number(nullable=True)

    storm_volume = number()
    storage = number()
    bottom_area = number()
    stone_volume = number()
    diameter = number()
    hours_to_empty = number(nullable=True)
    sentence = words()
    basis = words()
    source = words()


class InletAnswer(ma.Schema):
    """The water at an inlet when everything runs at once, and with no flow (`still_level`).

    Negative `spare`: it comes out there. `serves`: the smallest larger pipe that keeps it in.
    """

    what = words()
    at = number()
    label = words()
    opening = number()
    opening_is = words()
    water_level = number()
    still_level = number()
    entry = number()
    spare = number()
    drowned = ma.fields.Boolean(required=True)
    serves = words(nullable=True)
    sentence = words()


class FloodedPlace(ma.Schema):
    """A place that the water at the outlet stands above, because of it.

    `line` names the branches that lead to its line, none for the main line, and elevations count
    from that line's datum. `kind`: opening (stated in `head.openings`), inlet (the ground where
    water comes in), start (the ground at the start of a line). `at_house`: an opening, a start, or
    an inlet of a roof or a pump.
    """

    line = ma.fields.List(ma.fields.String(), required=True)
    what = words()
    kind = words()
    at = number()
    label = words()
    elevation = number()
    water_level = number()
    over = number()
    at_house = ma.fields.Boolean(required=True)
    sentence = words()


class WaterLine(ma.Schema):
    """The water in the pipe, straight between these stations, from where it backs up to on."""

    at = numbers()
    level = numbers()


class OutletWater(ma.Schema):
    """The highest water at the outlet, as stated, and what it does up the line.

    With all inflows running at once where `running`, else in still water. Where `over_outlet` is
    not positive it changes nothing. `places` go from the deepest under water on.
    """

    level = number()
    over_outlet = number()
    running = ma.fields.Boolean(required=True)
    backs_up_to = number(nullable=True)
    label = words(nullable=True)
    full_length = number()
    line = part(WaterLine)
    stations_under = numbers()
    places = parts(FloodedPlace)
    floods_house = ma.fields.Boolean(
        required=True,
        metadata={"description": "Water could come out at the house because of it."},
    )
    sentence = words()
