"""JSON merge patches, as RFC 7396 applies them."""

from __future__ import annotations

import copy
from typing import Any


def patched(target: Any, patch: Any) -> Any:
    """A JSON merge patch (RFC 7396, section 2) applied to a copy."""
    if not isinstance(patch, dict):
        return copy.deepcopy(patch)
    found = copy.deepcopy(target) if isinstance(target, dict) else {}
    for name, value in patch.items():
        if value is None:
            found.pop(name, None)
        else:
            found[name] = patched(found.get(name), value)
    return found
