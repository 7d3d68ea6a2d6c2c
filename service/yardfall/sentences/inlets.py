"""How far the water stays below an inlet."""

from __future__ import annotations

from typing import Final

TEXTS: Final = {
    "inlet_below_opening": "When everything runs at once, the water stays {amount} below the "
    "opening at the {what} ({label}).",
    "inlet_below_ground": "When everything runs at once, the water stays {amount} below the ground "
    "at the {what} ({label}).",
}
