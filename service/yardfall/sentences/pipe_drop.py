"""What is refused where only the drop of the pipe is known, and not the ground."""

from __future__ import annotations

from typing import Final

TEXTS: Final[dict[str, str]] = {
    "branches": "With the drop of the pipe alone the ground is not known, so no branch "
    "can be planned. Give the drop of the ground instead.",
    "crossings": "With the drop of the pipe alone the ground is not known, and what is "
    "crossed is told by its depth below it. Give the drop of the ground instead.",
    "accuracy": "With the drop of the pipe alone there is no accuracy of the ground to "
    "take. Leave this out.",
    "dry_well": "With the drop of the pipe alone the pipe ends in another drain. Leave "
    "the dry well out.",
    "hump": "With the drop of the pipe alone the ground is not known, so it has no hump. "
    "Leave this out, or give the drop of the ground.",
    "start": "With the drop of the pipe alone the ground is not known, so the start has "
    "no cover or depth. Give its invert, from any level that you take as 0.",
    "shallowest_cover": "With the drop of the pipe alone the ground is not known, so "
    "there is no cover. Leave this out.",
    "outlet_kind": "The drop of the pipe goes down to a drain that it ties into. Give "
    "tie_in, or the drop of the ground.",
    "outlet": "The invert at the start and the drop of the pipe give this already. Leave it out.",
    "shape": "With the drop of the pipe alone the ground is not known, so no line can be "
    "found that digs least. Give straight.",
    "profile": "This is the drop of the pipe and tells nothing of the ground. Give the "
    "drop of the ground.",
    "paper": "With the drop of the pipe alone there are no depths to dig by, so no paper "
    "can be made. Measure the ground first.",
    "check": "With the drop of the pipe alone there are no depths to check. Measure the "
    "ground first.",
    "compare": "With the drop of the pipe alone there is nothing to compare its digging "
    "by. Measure the ground first.",
}
