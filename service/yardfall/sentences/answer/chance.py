"""How sure a plan is, and what that stands on: how the ground was read, and how even it is."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    # A chance in words, put into the sentences that tell one.
    "about": "about {percent} %",
    "most": "more than 99 %",
    "least": "less than 1 %",
    "readings": "By these readings the chance that a pipe can be laid so that it drains is "
    "{chance}, with {tool} on {lawn}: a fall between two readings is good to about "
    "{fall} (standard error).",
    "cells": "By this raster the chance that a pipe can be laid so that it drains is {chance}, "
    "with {tool} on {lawn}: one cell is good to about {cell} (standard error), an error that the "
    "cells around it share in part.",
    "pinned": "By this raster and the readings over it the chance that a pipe can be laid so that "
    "it drains is {chance}, with {tool} on {lawn}: one cell is good to about {cell} (standard "
    "error), an error that the cells around it share in part and that the readings correct.",
    "common": "What all of them may be off by alike, {common}, cancels in a fall.",
    "lawn.straight": "ground that runs straight between readings",
    "lawn.graded": "a graded lawn",
    "lawn.ordinary": "an ordinary lawn",
    "lawn.rough": "a rough lawn",
    "lawn.any": "a lawn of unstated evenness",
    "lawn_assumed": "How even the ground is: an ordinary lawn, weighed against a graded and a "
    "rough one by what was read. The middle of 10 m (33 ft) usually lies so far off a "
    "straight line",
}
