"""One site plan, read in a process of its own: `python site_plan_worker.py IN OUT PAGE`.

A picture or a PDF from outside may be made to hang its reader or to fill the memory. Before it
opens the file, this process takes from itself what it could do harm with; `geo.site_plan` starts
it, waits for a bounded time and reads the one line of JSON that it prints. It writes the picture
anew from its pixels, so that nothing else that the file held is kept.
"""

from __future__ import annotations

import contextlib
import io
import json
import sys
from pathlib import Path
from typing import Any, BinaryIO, Final

import pypdfium2
from PIL import Image, ImageOps, UnidentifiedImageError

MOST_SIDE_PX: Final = 4096
"""Longest side kept: an inch of ground is half a pixel on a lot of 200 ft."""
MOST_PIXELS: Final = 80_000_000
"""Largest picture decoded: a sheet of 24 by 36 in scanned at 300 dots an inch has 78 million."""
MOST_POINTS: Final = 14_400
"""Longest side of a PDF page in points, 200 in (ISO 32000-1, annex C, for one unit a point)."""
MOST_DOTS_PER_POINT: Final = 300 / 72
MOST_MEMORY_BYTES: Final = 1 << 30
MOST_CPU_S: Final = 20
MOST_OUTPUT_BYTES: Final = 64 << 20
JPEG_QUALITY: Final = 88
FEW_COLOURS: Final = 4096
"""A picture of more is a photo, of which no PNG is tried: it takes seconds and is never smaller."""


class RefusedError(Exception):
    """Said to the sender; `about` is what of the request it is about."""

    def __init__(self, sentence: str, about: str = "file") -> None:
        super().__init__(sentence)
        self.about = about


def main(source: Path, target: Path, page: int | None) -> dict[str, Any]:
    """Write the picture of a site plan to `target`; its facts, or why it is refused."""
    limit_this_process()
    try:
        with source.open("rb") as file:
            start = file.read(1024)
            file.seek(0)
            if b"%PDF-" in start:
                picture, facts = draw_page(source, 1 if page is None else page)
            else:
                if page is not None:
                    raise RefusedError("Only a PDF has pages; leave page out.", "page")
                picture, facts = decode(file), {"page": None, "pages": None}
        return facts | write(picture, target)
    except RefusedError as error:
        return {"refused": str(error), "about": error.about}
    except MemoryError:
        return {"refused": "The file needs more memory than a site plan does.", "about": "file"}
    except (OSError, ValueError, SyntaxError, EOFError):
        return {
            "refused": "The file cannot be read; it may be cut short or damaged.",
            "about": "file",
        }


def limit_this_process() -> None:
    """Bound memory, time and what may be written, as far as the system can.

    Linux can; macOS bounds no memory, and on Windows there is the waiting time alone.
    """
    try:
        import resource
    except ImportError:
        return
    for kind, most in (
        (resource.RLIMIT_AS, MOST_MEMORY_BYTES),
        (resource.RLIMIT_CPU, MOST_CPU_S),
        (resource.RLIMIT_FSIZE, MOST_OUTPUT_BYTES),
        (resource.RLIMIT_CORE, 0),
    ):
        with contextlib.suppress(ValueError, OSError):  # bounded more tightly already, or never
            resource.setrlimit(kind, (most, most))


def decode(file: BinaryIO) -> Image.Image:
    """A PNG or JPEG upright, at most MOST_SIDE_PX long, its size looked at before any pixel."""
    Image.MAX_IMAGE_PIXELS = None  # looked at below, with a sentence of our own
    try:
        picture = Image.open(file, formats=("PNG", "JPEG"))
    except UnidentifiedImageError as error:
        raise RefusedError(
            "Use a PNG, JPEG or PDF for the site plan: this file is none of them."
        ) from error
    if picture.width * picture.height > MOST_PIXELS:
        raise RefusedError(
            f"The picture is {picture.width:,} by {picture.height:,} pixels; at most "
            f"{MOST_PIXELS:,} in all are taken. Send it smaller."
        )
    picture.draft(None, (MOST_SIDE_PX, MOST_SIDE_PX))
    picture.load()
    return ImageOps.exif_transpose(on_white(shrunk(spread(picture))))


def spread(picture: Image.Image) -> Image.Image:
    """The picture in grey or in red, green and blue, with its transparency where it has any."""
    if picture.mode in ("L", "LA", "RGB", "RGBA"):
        return picture
    if picture.mode.startswith("I"):  # 16 bits of grey
        return picture.convert("I").point(lambda value: value * (1 / 256)).convert("L")
    if picture.mode == "1":
        return picture.convert("L")
    return picture.convert("RGBA" if picture.has_transparency_data else "RGB")


def shrunk(picture: Image.Image) -> Image.Image:
    """The picture with its longest side at most MOST_SIDE_PX, its shape kept."""
    picture.thumbnail((MOST_SIDE_PX, MOST_SIDE_PX), Image.Resampling.LANCZOS, reducing_gap=2.0)
    return picture


def on_white(picture: Image.Image) -> Image.Image:
    """The picture as it looks on paper."""
    if not picture.has_transparency_data:
        return picture
    over = picture.convert("RGBA")
    white = Image.new("RGB", over.size, "white")
    white.paste(over, mask=over.getchannel("A"))
    white.info = picture.info  # which way is up
    return white


def draw_page(path: Path, number: int) -> tuple[Image.Image, dict[str, Any]]:
    """One page of a PDF, from 1, drawn on white at 300 dots an inch or MOST_SIDE_PX."""
    try:
        document = pypdfium2.PdfDocument(path)
        count = len(document)
    except pypdfium2.PdfiumError as error:
        if "password" in str(error).lower() or "security" in str(error).lower():
            raise RefusedError(
                "The PDF is locked with a password. Save it without one, or send a picture of it."
            ) from error
        raise RefusedError("The PDF cannot be read; it may be cut short or damaged.") from error
    if not 1 <= number <= count:
        raise RefusedError(
            f"The PDF has {count} {'page' if count == 1 else 'pages'}; there is no page {number}.",
            "page",
        )
    try:
        page = document[number - 1]
        sides = page.get_size()
        if not (min(sides) >= 1 and max(sides) <= MOST_POINTS):
            raise RefusedError(f"Page {number} is no size that a sheet of paper has.")
        scale = min(MOST_SIDE_PX / max(sides), MOST_DOTS_PER_POINT)
        picture = page.render(scale=scale, may_draw_forms=False).to_pil()
    except pypdfium2.PdfiumError as error:
        raise RefusedError(
            f"Page {number} of the PDF cannot be drawn; it may be damaged."
        ) from error
    return shrunk(spread(picture)), {"page": number, "pages": count}


def write(picture: Image.Image, target: Path) -> dict[str, Any]:
    """Keep the pixels and nothing else: as PNG where that is smaller, as of drawings, or JPEG."""
    picture.info.clear()
    written = {"image/jpeg": encoded(picture, "JPEG", quality=JPEG_QUALITY)}
    if picture.getcolors(FEW_COLOURS) is not None:
        written["image/png"] = encoded(picture, "PNG", compress_level=9)
    media_type = min(written, key=lambda kind: len(written[kind]))
    target.write_bytes(written[media_type])
    return {"width": picture.width, "height": picture.height, "media_type": media_type}


def encoded(picture: Image.Image, kind: str, **options: int) -> bytes:
    """A picture as the bytes of a file."""
    memory = io.BytesIO()
    picture.save(memory, kind, **options)
    return memory.getvalue()


if __name__ == "__main__":
    given = sys.argv[3]
    told = main(Path(sys.argv[1]), Path(sys.argv[2]), int(given) if given else None)
    print(json.dumps(told))  # noqa: T201 - this is how it answers
