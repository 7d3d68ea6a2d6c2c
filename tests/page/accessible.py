"""What a page for everyone keeps to: axe's rules, and how large a target is."""

from __future__ import annotations

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

VIOLATIONS = {"resultTypes": ["violations"]}
"""Axe tells of what passes in a word instead of at length, which takes it most of its time."""
RULES: dict[str, object] = VIOLATIONS | {
    "runOnly": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
}
AXE = Axe()
LEAST_TARGET_PX = 24
YARD_TARGET_PX = 44

SMALL_TARGETS = """least => [...document.querySelectorAll(
    'button:not(.figure-press), summary, select, nav a, input:not([type=radio], [type=checkbox]), '
    + 'label:has(input:is([type=radio], [type=checkbox]))'
)].filter(e => e.checkVisibility() && getComputedStyle(e).clipPath === 'none')
  .map(e => [e.outerHTML.slice(0, 90), e.getBoundingClientRect()])
  .filter(([, r]) => r.width && r.height && (r.width < least - .5 || r.height < least - .5))
  .map(([html, r]) => `${html} ${Math.round(r.width)}x${Math.round(r.height)}`)"""
"""Figures of the sentence are left out: targets within a sentence have the height of its line (WCAG
2.2, 2.5.8, "Inline"), and the sheet that they lead to opens by its own button."""
CONTRAST: dict[str, object] = VIOLATIONS | {
    "runOnly": {"type": "rule", "values": ["color-contrast"]}
}
"""All that changes in the dark is colours."""


def expect_clean(page: Page, options: dict[str, object] = RULES) -> None:
    """Axe, the accessibility engine, finds nothing wrong.

    Points of a line may stand closer together on the map than a target is wide; each has its
    equal in the table of points (WCAG 2.2, 2.5.8, exception "Equivalent"), so the map is left
    out of that one rule.
    """
    found = AXE.run(page, options=options).response["violations"]
    for rule in found:
        if rule["id"] == "target-size":
            rule["nodes"] = [node for node in rule["nodes"] if "leaflet" not in node["html"]]
    told = [
        f"{rule['id']}: {node['target']} {node['html'][:120]} {node['failureSummary']}"
        for rule in found
        for node in rule["nodes"]
    ]
    assert not told, "\n".join(told)
