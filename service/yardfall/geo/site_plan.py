"""A site plan's picture: read by a process of its own, which a hostile file can't make harmful."""

from __future__ import annotations

import json
import logging
import os
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from yardfall.core.errors import FileRefusedError, InputError, UnavailableError

READER: Final = Path(__file__).with_name("site_plan_worker.py")
MOST_SECONDS: Final = 30.0
AT_ONCE: Final = 2
"""Readers at a time, each with up to 1 GiB."""
MOST_WAITING_S: Final = 5.0
"""How long an upload waits for its turn: it holds one of the service's few threads."""
DAMAGED: Final = (
    "The file cannot be read as a picture or a PDF: it is damaged, or takes more memory and time "
    "than a site plan does."
)
log = logging.getLogger("yardfall")
_turns = threading.BoundedSemaphore(AT_ONCE)


@dataclass(frozen=True)
class SheetFacts:
    """The picture kept: its sides in pixels, its kind, and the page drawn of how many of a PDF."""

    width: int
    height: int
    media_type: str
    page: int | None
    pages: int | None


def draw_sheet(source: Path, target: Path, page: int | None) -> SheetFacts:
    """Write the picture of a PNG, a JPEG or one page of a PDF to `target`, upright and bounded.

    Raises FileRefusedError where the file is none of these, damaged, locked, too large a picture
    or too long to draw; InputError at `/page` for a page that is not there; UnavailableError where
    others have been read for MOST_WAITING_S.
    """
    command = [sys.executable, "-P", str(READER), str(source), str(target), str(page or "")]
    with _turn():
        try:
            done = subprocess.run(  # noqa: S603 - our own module, on paths of our own making
                command, capture_output=True, timeout=MOST_SECONDS, check=False, env=_surroundings()
            )
        except subprocess.TimeoutExpired as error:
            raise FileRefusedError(
                f"The file takes longer than {MOST_SECONDS:.0f} seconds to draw. Send a simpler "
                "one, or a picture of it."
            ) from error
    told = _told(done)
    if "refused" in told:
        if told["about"] == "page":
            raise InputError.at("/page", told["refused"])
        raise FileRefusedError(told["refused"])
    return SheetFacts(**told)


@contextmanager
def _turn() -> Iterator[None]:
    if not _turns.acquire(timeout=MOST_WAITING_S):
        raise UnavailableError("Other site plans are being read; send yours again in a moment.")
    try:
        yield
    finally:
        _turns.release()


def _told(done: subprocess.CompletedProcess[bytes]) -> dict[str, Any]:
    """What the reader said; one that died of its file has said nothing."""
    if done.returncode == 0:
        return dict(json.loads(done.stdout))
    log.warning("a site plan's reader ended with %s: %s", done.returncode, done.stderr[-500:])
    return {"refused": DAMAGED, "about": "file"}


def _surroundings() -> dict[str, str]:
    """The environment without the planner's own settings, which may hold a password."""
    return {name: value for name, value in os.environ.items() if not name.startswith("YARDFALL")}
