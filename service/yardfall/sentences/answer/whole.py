"""A line and its branches as one."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "main": "Main line: {sentence}",
    "branch": "Branch {name}: {sentence}",
    "brief_more_one": "{sentence} 1 more line of this drain does not work as it is.",
    "brief_more": "{sentence} {count} more lines of this drain do not work as they are.",
    "brief_short": "No: across a join it is {amount} short.",
    "brief_too_close": "Too close to call: the chance that all pipes work together is {chance}.",
    "brief_too_close_here": "Too close to call: the lines may not all work together.",
    "brief_yes_one": "Yes: the main line and its branch run, with {amount} of fall to spare.",
    "brief_yes_more": "Yes: the main line and its {count} branches run, with {amount} of fall to "
    "spare.",
    "brief_conditional_one": "Yes, on conditions: the main line and its branch run, with {amount} "
    "of fall to spare.",
    "brief_conditional_more": "Yes, on conditions: the main line and its {count} branches run, "
    "with {amount} of fall to spare.",
    "every_branch_joins": "Every branch joins.",
    "chance": "The chance that all pipes work together is {chance}.",
    "tightest": "It is tightest across a join, with {amount} to spare: between {upstream} and "
    "{downstream}.",
    "tightest_turned": "It is tightest across a join, with {amount} to spare: between {upstream} "
    "and {downstream}. What forces it down between them is at {turn}.",
    "tightest_short": "Across a join it is {amount} short: between {upstream} and {downstream}.",
    "tightest_short_turned": "Across a join it is {amount} short: between {upstream} and "
    "{downstream}. What forces it down between them is at {turn}.",
    "steps_down": "Its limits end the branch {down} higher than it should come in. Dig to the "
    "marks up to {down} before the join; from there turn it down by one more 45 degree elbow, and "
    "let up to {piece} of pipe slant down at 45 degrees into the wye, turned up to meet it. Cut "
    "the piece to fit (common practice, no source).",
    "branch_higher": "Branch {name} would have to come in {amount} higher.",
    # A place, for the sentences on the tightest one.
    "place": "{station} of the main line ({limit})",
    "place_of_branch": "{station} of {branch} ({limit})",
    "place.branch": "branch {name}",
    "place.branch_of_branch": "{outer}, branch {name}",
}
