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
    """A warning by its code, which its text goes by (`sentences/cautions`), and its source."""

    code: str
    source: str


COMMON: Final = "common practice, no source"

CALL_FIRST: Final = Caution(
    "call_before_you_dig",
    "state one-call laws; they differ by state",
)
LOCAL_RULES: Final = Caution(
    "local_rules",
    COMMON,
)
CAVE_IN: Final = Caution(
    "cave_in",
    "29 CFR 1926.651(j)(2), 1926.652(a)(1)",
)
TRENCH_BOTTOM: Final = Caution(
    "trench_bottom",
    "International Plumbing Code 306.2.2 and 306.2.3, as in Chicago's code, 18-29-306.2; a dry "
    "trench: ASTM D2321 (from memory)",
)
WAY_OUT: Final = Caution(
    "way_out",
    "29 CFR 1926.651(c)(2)",
)
PROTECTION: Final = Caution(
    "protective_system",
    "29 CFR 1926.652(a)(1)",
)
ENGINEER: Final = Caution(
    "engineer",
    "29 CFR 1926.652(b)",
)
FOUNDATION: Final = Caution(
    "foundation",
    "IRC R401.3",
)
NEIGHBOURS: Final = Caution(
    "neighbours",
    "town rules differ; ask yours",
)
SEPTIC: Final = Caution(
    "septic",
    COMMON,
)
OUTLETS: Final[dict[str, Caution]] = {
    "daylight": Caution(
        "outlet_daylight",
        COMMON,
    ),
    "pop_up": Caution(
        "outlet_pop_up",
        COMMON,
    ),
    "curb": Caution(
        "outlet_curb",
        COMMON,
    ),
    "dry_well": Caution(
        "outlet_dry_well",
        "town rules differ; ask yours",
    ),
    "tie_in": Caution(
        "outlet_tie_in",
        COMMON,
    ),
}


PUMP: Final = Caution(
    "pump",
    "check valve: local plumbing codes; relief: common practice, no source",
)
FROST: Final = Caution(
    "frost",
    COMMON,
)
HAUNCHING: Final = Caution(
    "haunching",
    "ASTM D2321 (from memory)",
)
BUOYANCY: Final = Caution(
    "buoyancy",
    "Recommended Standards for Wastewater Facilities (Ten States Standards), 33.3",
)


def water_cautions(*, pumped: bool) -> tuple[Caution, ...]:
    """Cautions for water in a pipe of which no more is known; `pumped`: a pump brings some."""
    return (*([PUMP] if pumped else []), NEIGHBOURS, LOCAL_RULES)


FLATTENS: Final = Caution(
    "grade_flattens",
    "Waring, Draining for Profit, 1867, ch. III",
)
CROSSES: Final = Caution(
    "crossing",
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
        TRENCH_BOTTOM,
        FOUNDATION,
        SEPTIC,
        NEIGHBOURS,
        OUTLETS[outlet_kind],
        *([FLATTENS] if flattens else []),
        LOCAL_RULES,
    )
