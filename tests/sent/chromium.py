"""The browser that tests start."""

from __future__ import annotations

import os
import shutil
from typing import Final

ARGUMENTS: Final = ["--no-sandbox", "--disable-gpu", "--disable-background-networking"]


def executable() -> str | None:
    """The one named by YARDFALL_BROWSER, the system's, or None: Playwright's own.

    Chromium made to run without a window opens the page in half of the other's processor time.
    """
    named = os.environ.get("YARDFALL_BROWSER")
    return named or shutil.which("chromium-headless-shell") or shutil.which("chromium")
