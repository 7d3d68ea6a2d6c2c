"""What a user of this project must install is free to use: told by the packages' own metadata.

Works offline. Security notices need the network: `pip-audit`, see DEVELOPERS.md.
"""

from __future__ import annotations

import re
from importlib.metadata import PackageNotFoundError, distribution

from packaging.requirements import Requirement

FREE = re.compile(
    r"\b(MIT|BSD|0BSD|Apache|ISC|PSF|Python Software Foundation|MPL|Mozilla|HPND|Zlib|Unlicense"
    r"|CC0|Public Domain|ZPL|Zope|LGPL|Lesser General Public)",
    re.IGNORECASE,
)
"""Permissive, or bound to the file or library itself: nothing that reaches this project's code."""
SAID_ELSEWHERE = {"xstatic-leaflet": "(same as Leaflet)"}
"""Leaflet's licence is BSD-2-Clause (from memory; the package brings none)."""


def licence(name: str) -> str:
    """Every word of a package's metadata about its licence, but its text."""
    about = distribution(name).metadata
    told = [about.get("License-Expression", ""), (about.get("License") or "")[:80]]
    told += [c for c in about.get_all("Classifier") or () if c.startswith("License ::")]
    return " | ".join(text for text in told if text)


def needed(name: str, extras: set[str] = frozenset()) -> set[str]:
    """A package and all that it needs here, the extras of development left out."""
    found, waiting = set(), [(name, frozenset(extras))]
    while waiting:
        package, asked = waiting.pop()
        for text in distribution(package).requires or ():
            need = Requirement(text)
            markers = [{"extra": extra} for extra in (*asked, "")]
            here = need.marker is None or any(need.marker.evaluate(m) for m in markers)
            if here and need.name.lower() not in found:
                found.add(need.name.lower())
                waiting.append((need.name, frozenset(need.extras)))
    return found


def test_everything_needed_is_free_to_use() -> None:
    wrong, checked = {}, 0
    for name in sorted(needed("yardfall", {"postgres", "parquet"})):
        try:
            told = licence(name)
        except PackageNotFoundError:  # for another system
            continue
        checked += 1
        if not FREE.search(told) and SAID_ELSEWHERE.get(name) != told:
            wrong[name] = told
    assert not wrong, wrong
    assert checked > 30, "the packages' own list was not read"


def test_a_licence_that_is_not_free_would_be_found() -> None:
    for text in ("GPL-3.0-only", "Proprietary", "AGPL-3.0", ""):
        assert not FREE.search(text), text
