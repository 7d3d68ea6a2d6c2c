"""A line and its branches as one."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "main": "Main line: {sentence}",
    "branch": "Branch {name}: {sentence}",
    "every_branch_joins": "Every branch joins.",
    "chance": "The chance that all pipes work together is {chance}.",
    "tightest": "The tightest place lies across a join, {amount} to spare: {upstream} against "
    "{downstream}.",
    "tightest_turned": "The tightest place lies across a join, {amount} to spare: {upstream} "
    "against {downstream}, forced down by {turn}.",
    "tightest_short": "The tightest place lies across a join, {amount} short: {upstream} against "
    "{downstream}.",
    "tightest_short_turned": "The tightest place lies across a join, {amount} short: {upstream} "
    "against {downstream}, forced down by {turn}.",
    "branch_higher": "Branch {name} would have to come in {amount} higher.",
    # A place, for the sentences on the tightest one.
    "place": "{limit} at {station} of the main line",
    "place_of_branch": "{limit} at {station} of {branch}",
    "place.branch": "branch {name}",
    "place.branch_of_branch": "{outer}, branch {name}",
}
