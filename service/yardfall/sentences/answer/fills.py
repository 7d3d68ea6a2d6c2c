"""Soil to be laid on the ground, a sentence for each shape of it."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "start": "Lay {depth} of soil from {full_from} to {full_to}, thinning out to {to_at}: about "
    "{volume} on a strip {width} wide.",
    "start_peak": "Lay {depth} of soil at {full_from}, thinning out to {to_at}: about {volume} on "
    "a strip {width} wide.",
    "stretch": "Lay {depth} of soil from {full_from} to {full_to}, thinning out to {from_at} and "
    "{to_at}: about {volume} on a strip {width} wide.",
    "stretch_peak": "Lay {depth} of soil at {full_from}, thinning out to {from_at} and {to_at}: "
    "about {volume} on a strip {width} wide.",
}
