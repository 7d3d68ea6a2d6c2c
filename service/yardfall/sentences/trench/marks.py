"""What the marks of a dig sheet could not keep."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "flat_dig": "No marks from the ground keep the minimum grade everywhere: dug to them, the "
    "trench falls up to {short} too little at {where}.",
    "flat_line": "No marks from the string keep the minimum grade everywhere: dug to them, the "
    "trench falls up to {short} too little at {where}.",
    "flat_rod": "No marks of the rod keep the minimum grade everywhere: dug to them, the trench "
    "falls up to {short} too little at {where}.",
    "past_dig": "Marks from the ground cannot keep cover and depth everywhere: dug to them, the "
    "trench is up to {past} outside its limits at {where}.",
    "past_line": "Marks from the string cannot keep cover and depth everywhere: dug to them, the "
    "trench is up to {past} outside its limits at {where}.",
    "past_rod": "Marks of the rod cannot keep cover and depth everywhere: dug to them, the trench "
    "is up to {past} outside its limits at {where}.",
    "stretch": "{from_} to {to}",
    "and_more": "{where} and {count} more",
}
