"""Byte-flipped PDFs and pictures into the reading of site plans, as `fuzz_rasters.py` does rasters.

In the service each is read by a process of its own; here one process reads them all within the
same bound of memory, so that a leak would show, and a crash or a hang is told though the service
would outlive it. What a reader says must be one of its sentences, or the facts of a picture.

    python tests/bench/fuzz_site_plans.py --files 10000
"""

from __future__ import annotations

import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT / "bench"), str(ROOT / "sent")]

import paper  # noqa: E402 - from the tests' own folders
from fuzz_rasters import Kind, run  # noqa: E402

from yardfall.geo import site_plan_worker  # noqa: E402

SMALL = (72, 72)


def sound_files(_folder: Path) -> dict[str, bytes]:
    """One sound file of each kind, small, so that a flipped byte counts."""
    text = b"BT /F1 12 Tf 10 30 Td (north) Tj ET 0 0 m 50 50 l S "
    font = b"<< /Font << /F1 << /Type /Font /Subtype /Type1 /BaseFont /Helvetica >> >> >>"
    return {
        "pdf": paper.pdf(size=SMALL),
        "pdf with text": paper.pdf(2, SMALL, text, font),
        "pdf with an object": paper.pdf(size=SMALL, objects=(b"<< /Type /Catalog >>",)),
        "png": paper.picture("PNG", (60, 40)),
        "jpeg": paper.picture("JPEG", (60, 40)),
    }


def outcome(path: Path) -> str:
    """What the reader says of a file."""
    site_plan_worker.limit_this_process = lambda: None  # the child is bounded, and reads many
    told = site_plan_worker.main(path, path.with_suffix(".drawn"), None)
    if "refused" in told:
        return f"refused as {told['about']}"
    assert set(told) == {"width", "height", "media_type", "page", "pages"}, told
    assert max(told["width"], told["height"]) <= site_plan_worker.MOST_SIDE_PX
    return "drawn"


SITE_PLANS = Kind(sound_files, outcome, site_plan_worker.MOST_MEMORY_BYTES, 30.0)

if __name__ == "__main__":
    sys.exit(run(SITE_PLANS))
