"""The content security policy that each HTML paper carries and is served under."""

from __future__ import annotations

import base64
import hashlib
import re

NOTHING_ELSE = "default-src 'none'; base-uri 'none'; form-action 'none'; img-src data:"
_BLOCK = re.compile(r"<(script|style)>(.*?)</\1>", re.DOTALL)


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode("utf-8")).digest()
    return f"'sha256-{base64.b64encode(digest).decode('ascii')}'"


def style_policy(css: str) -> str:
    """Allows this one style sheet, and no script at all."""
    return f"{NOTHING_ELSE}; style-src {_hash(css)}"


def page_policy(html: str) -> str:
    """Allows exactly the scripts and style sheets that stand in a page of our own making."""
    found: dict[str, list[str]] = {"script": [], "style": []}
    for tag, text in _BLOCK.findall(html):
        found[tag].append(_hash(text))
    parts = [f"{tag}-src {' '.join(dict.fromkeys(texts))}" for tag, texts in found.items() if texts]
    return "; ".join([NOTHING_ELSE, *parts])
