"""What must be said beside every answer: this work can hurt someone.

The thresholds of 29 CFR 1926 bind employers; they are the right ones for anyone. Local codes
and licensed practice rule over all of this.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from yardfall.core.units import FOOT_M

WAY_OUT_M: Final = 4 * FOOT_M
PROTECTION_M: Final = 5 * FOOT_M
ENGINEER_M: Final = 20 * FOOT_M


@dataclass(frozen=True)
class Caution:
    """A warning with a stable code and its source."""

    code: str
    text: str
    source: str


COMMON: Final = "common practice, no source"

CALL_FIRST: Final = Caution(
    "call_before_you_dig",
    "Call the utility marking service before digging, usually 2 to 3 working days ahead. Dig by "
    "hand 18 to 24 in (45 to 60 cm) either side of a mark. Private lines (irrigation, lighting, "
    "gas to a grill, septic) are usually not marked.",
    "state one-call laws; they differ by state",
)
LOCAL_RULES: Final = Caution(
    "local_rules",
    "This is a plan from your measurements, not a permit or a survey. Local codes, and a licensed "
    "professional where one is required, rule over it.",
    COMMON,
)
CAVE_IN: Final = Caution(
    "cave_in",
    "A trench wall can fall without warning. Keep spoil at least 2 ft (0.6 m) back from the "
    "edge, and stay out where the wall cracks, bulges or drips.",
    "29 CFR 1926.651(j)(2), 1926.652(a)(1)",
)
WAY_OUT: Final = Caution(
    "way_out",
    "The trench reaches 4 ft (1.2 m) or more: keep a ladder or ramp within 25 ft (7.6 m) of "
    "anyone in it.",
    "29 CFR 1926.651(c)(2)",
)
PROTECTION: Final = Caution(
    "protective_system",
    "The trench reaches 5 ft (1.5 m) or more: nobody goes in without sloped sides, shoring or a "
    "trench box.",
    "29 CFR 1926.652(a)(1)",
)
ENGINEER: Final = Caution(
    "engineer",
    "The trench is deeper than 20 ft (6 m): a registered engineer must design its protection.",
    "29 CFR 1926.652(b)",
)
FOUNDATION: Final = Caution(
    "foundation",
    "Do not dig below or close beside a foundation, and keep the pipe out of the loose fill "
    "along the wall. Ground should fall at least 6 in within 10 ft of the house.",
    "IRC R401.3",
)
NEIGHBOURS: Final = Caution(
    "neighbours",
    "Let no water out where it runs onto a neighbour, over a sidewalk or into the sanitary "
    "sewer. Towns commonly ask 5 or 10 ft (1.5 or 3 m) from the lot line.",
    "town rules differ; ask yours",
)
SEPTIC: Final = Caution(
    "septic",
    "Keep clear of septic tanks and fields and of wells; ask the health department how far.",
    COMMON,
)
OUTLETS: Final[dict[str, Caution]] = {
    "daylight": Caution(
        "outlet_daylight",
        "Cut the end to the slope, put stone where the water lands, and fit an animal guard that "
        "opens by hand. Keep the invert above any ditch water.",
        COMMON,
    ),
    "pop_up": Caution(
        "outlet_pop_up",
        "Water below the lid stays in the pipe and can freeze: put a weep hole over stone at the "
        "elbow. Lids clog and get mown; the lid must lie below the lowest opening at the house.",
        COMMON,
    ),
    "curb": Caution(
        "outlet_curb",
        "An outlet through the curb needs the town's permit. Measure the gutter line first, and "
        "use rigid pipe under the walk.",
        COMMON,
    ),
    "dry_well": Caution(
        "outlet_dry_well",
        "A dry well is commonly kept 10 ft from buildings, 25 ft from septic, 50 ft from a well "
        "and 2 ft above the water table, and needs an overflow. Test the soil first.",
        "town rules differ; ask yours",
    ),
    "tie_in": Caution(
        "outlet_tie_in",
        "Tie in only to a storm drain you are allowed to use, never to the sanitary sewer.",
        COMMON,
    ),
}


PUMP: Final = Caution(
    "pump",
    "A sump pump needs a check valve, and its line an open relief where it meets the buried pipe, "
    "so that a frozen or blocked outlet does not stall it. Never lead it into a footing drain or "
    "the sanitary sewer.",
    "check valve: local plumbing codes; relief: common practice, no source",
)
WATER_CAUTIONS: Final = (PUMP, NEIGHBOURS, LOCAL_RULES)
FLATTENS: Final = Caution(
    "grade_flattens",
    "The grade flattens downstream: silt that the steep reach carries drops where the flat one "
    "begins. Put a cleanout or a silt basin there.",
    "Waring, Draining for Profit, 1867, ch. III",
)
CROSSES: Final = Caution(
    "crossing",
    "The pipe passes something buried. Have it marked, expose it by hand before any machine comes "
    "near, and measure its true depth: the plan holds only for the depth you gave.",
    "state one-call laws; they differ by state",
)


def cautions_for(
    outlet_kind: str,
    deepest_m: float,
    *,
    flattens: bool = False,
    crossings: bool = False,
) -> tuple[Caution, ...]:
    """Cautions for an outlet kind, the trench's greatest depth, and what the line does."""
    by_depth = [
        caution
        for limit_m, caution in (
            (WAY_OUT_M, WAY_OUT),
            (PROTECTION_M, PROTECTION),
            (ENGINEER_M, ENGINEER),
        )
        if deepest_m >= limit_m
    ]
    return (
        CALL_FIRST,
        *([CROSSES] if crossings else []),
        CAVE_IN,
        *by_depth,
        FOUNDATION,
        SEPTIC,
        NEIGHBOURS,
        OUTLETS[outlet_kind],
        *([FLATTENS] if flattens else []),
        LOCAL_RULES,
    )
