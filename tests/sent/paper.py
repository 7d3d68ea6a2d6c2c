"""Site plans to send: pictures by Pillow, and PDF files written out by hand (ISO 32000-1, 7.5)."""

from __future__ import annotations

import io
import struct
import zlib

from PIL import Image, ImageDraw

LETTER = (612, 792)


def picture(kind: str = "PNG", size: tuple[int, int] = (600, 400), **options) -> bytes:
    """A white sheet with a red square of 60 pixels in its upper left corner."""
    sheet = Image.new(options.pop("mode", "RGB"), size, "white")
    ImageDraw.Draw(sheet).rectangle((0, 0, 59, 59), fill="red" if sheet.mode == "RGB" else 0)
    return saved(sheet, kind, **options)


def saved(sheet: Image.Image, kind: str = "PNG", **options) -> bytes:
    memory = io.BytesIO()
    sheet.save(memory, kind, **options)
    return memory.getvalue()


def claimed_png(width: int, height: int) -> bytes:
    """A PNG whose header claims a size, with a few bytes of pixels behind it."""

    def chunk(name: bytes, content: bytes) -> bytes:
        check = zlib.crc32(name + content)
        return struct.pack(">I", len(content)) + name + content + struct.pack(">I", check)

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    pixels = zlib.compress(bytes(1000))
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", pixels) + chunk(b"IEND", b"")
    )


def red_square(size: tuple[float, float]) -> bytes:
    """Page content: a red square, a tenth of the page wide, in the upper left corner."""
    side = size[0] / 10
    return f"1 0 0 rg 0 {size[1] - side} {side} {side} re f".encode()


def pdf(
    pages: int = 1,
    size: tuple[float, float] = LETTER,
    content: bytes | None = None,
    resources: bytes = b"<< >>",
    objects: tuple[bytes, ...] = (),
    trailer: bytes = b"",
) -> bytes:
    """A PDF of `pages` pages alike; `objects` are numbered from 4 on, the pages after them."""
    stream = red_square(size) if content is None else content
    first = 4 + len(objects)
    kids = b" ".join(b"%d 0 R" % (first + i) for i in range(pages))
    box = b"[0 0 %f %f]" % size
    page = b"<< /Type /Page /Parent 2 0 R /MediaBox %s /Contents 3 0 R /Resources %s >>" % (
        box,
        resources,
    )
    bodies = [
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [%s] /Count %d >>" % (kids, pages),
        b"<< /Length %d >> stream\n%s\nendstream" % (len(stream), stream),
        *objects,
        *[page] * pages,
    ]
    out, places = bytearray(b"%PDF-1.7\n"), []
    for number, body in enumerate(bodies, 1):
        places.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (number, body)
    table = len(out)
    out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(bodies) + 1)
    out += b"".join(b"%010d 00000 n \n" % place for place in places)
    out += b"trailer << /Size %d /Root 1 0 R %s >>\n" % (len(bodies) + 1, trailer)
    return bytes(out) + b"startxref\n%d\n%%%%EOF\n" % table


def locked_pdf() -> bytes:
    """A PDF behind a password that nobody has: its owner and user keys are of no password."""
    key = b"<%s>" % (b"5a" * 32)
    lock = b"<< /Filter /Standard /V 1 /R 2 /O %s /U %s /P -4 >>" % (key, key)
    return pdf(trailer=b"/Encrypt %s /ID [<00> <00>]" % lock)


def endless_pdf() -> bytes:
    """A page that draws a form that draws ten forms, and so on: 10^9 squares from 2 kB."""
    depth, first = 9, 4
    forms = []
    for level in range(depth):
        last = level == depth - 1
        stream = b"1 0 0 rg 0 0 9 9 re f" if last else b"/F Do " * 10
        inner = b"<< >>" if last else b"<< /XObject << /F %d 0 R >> >>" % (first + level + 1)
        forms.append(
            b"<< /Type /XObject /Subtype /Form /BBox [0 0 600 700] /Resources %s /Length %d >> "
            b"stream\n%s\nendstream" % (inner, len(stream), stream)
        )
    top = b"<< /XObject << /F %d 0 R >> >>" % first
    return pdf(content=b"/F Do " * 10, resources=top, objects=tuple(forms))


def huge_image_pdf(side: int = 60_000) -> bytes:
    """A page with a picture said to be `side` pixels square, of which a few bytes are there."""
    packed = zlib.compress(bytes(100_000))
    image = (
        b"<< /Type /XObject /Subtype /Image /Width %d /Height %d /ColorSpace /DeviceRGB "
        b"/BitsPerComponent 8 /Filter /FlateDecode /Length %d >> stream\n%s\nendstream"
        % (side, side, len(packed), packed)
    )
    return pdf(
        content=b"612 0 0 792 0 0 cm /I Do",
        resources=b"<< /XObject << /I 4 0 R >> >>",
        objects=(image,),
    )
